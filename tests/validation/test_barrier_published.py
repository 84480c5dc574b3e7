"""Weed barrier against published laps and exact arithmetic (rows F01, F03, F05, F06)."""

from __future__ import annotations

from itertools import pairwise

import pytest
from shapely.geometry import box

from bedplan.takeoff.barrier import lay_strips

FOOT_M = 0.3048  # International Yard and Pound agreement, 1959
INCH_M = 0.0254


def bed_of_10_by_20_ft(lap_in: float):
    return lay_strips(
        box(0, 0, 20 * FOOT_M, 10 * FOOT_M), roll_width_m=3 * FOOT_M, lap_m=lap_in * INCH_M
    )


def test_ten_foot_bed_with_the_sewn_lap():
    # F05, exact arithmetic: ceil((10 - 0.5) / (3 - 0.5)) = 4 strips of 20 ft, 240 ft2, ratio 1.2.
    # Lap: F01, USDA NRCS Construction Specification 95, Geotextile, "5 Placement", Method 1: 6 in.
    laying = bed_of_10_by_20_ft(6)
    assert [strip.length_m / FOOT_M for strip in laying.strips] == pytest.approx([20.0] * 4)
    assert laying.fabric_area_m2 / FOOT_M**2 == pytest.approx(240.0)
    assert laying.fabric_area_m2 / laying.net_area_m2 == pytest.approx(1.2)


def test_ten_foot_bed_with_the_pinned_lap():
    # F06, exact arithmetic: ceil((10 - 1) / (3 - 1)) = 5 strips (ceil(4.5)).
    # Lap: F03, construction specification filed with the Colorado Division of Reclamation,
    # Mining and Safety, 7.4.2.3: 12 in.
    laying = bed_of_10_by_20_ft(12)
    assert [strip.length_m / FOOT_M for strip in laying.strips] == pytest.approx([20.0] * 5)


@pytest.mark.parametrize("lap_in", [6, 12])
def test_neighbours_share_the_specified_lap(lap_in):
    strips = bed_of_10_by_20_ft(lap_in).strips
    for one, other in pairwise(strips):
        shared = one.outline.intersection(other.outline).area / (20 * FOOT_M)
        assert shared >= lap_in * INCH_M - 1e-9
