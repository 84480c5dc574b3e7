"""Earthwork, falls and swell as textbooks and agencies print them, against ours.

The row of the table of check values each figure comes from stands beside it, with document,
section and year. Rows known from memory alone are marked ``from memory``.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from gardens import FOOT, INCH, YARD3
from shapely.geometry import Polygon, box

from bedplan.ground import (
    Plane,
    Room,
    earthwork,
    falling,
    level,
    patch_of,
    share_spoil,
    surface_of,
    through_points,
)
from bedplan.model.ground import SOILS, Soil

FOOT3 = FOOT**3


def cutting(stations_ft, cuts_ft, base_ft, side):
    """Return the earth of a cutting [ft^3]: bottom level at 0, sides of `side` : 1, ground level
    across and straight between stations."""
    wide = 0.5 * base_ft + side * max(cuts_ft) + 10
    spots = [
        (x * FOOT, y * FOOT, cut * FOOT)
        for x, cut in zip(stations_ft, cuts_ft, strict=True)
        for y in (-wide, wide)
    ]
    end = stations_ft[-1]
    ground = surface_of(spots, box(0, -wide * FOOT, end * FOOT, wide * FOOT))
    half = 0.5 * base_ft
    bottom = earthwork(ground, level(0.0), box(0, -half * FOOT, end * FOOT, half * FOOT))
    bank = Plane((0.0, half * FOOT), 0.0, (0.0, 1.0 / side))
    slope = earthwork(ground, bank, box(0, half * FOOT, end * FOOT, wide * FOOT))
    return (bottom.cut_m3 + 2 * slope.cut_m3) / FOOT3


def test_a_railway_cutting_by_average_end_areas():
    # S11: G. L. Vose, Handbook of Railroad Construction, art. 108, p. 83, 1857 (year from
    # memory): base 20 ft, sides 1.5 : 1, cuts 0, 5, 10, 15, 0 ft every 50 ft: 56,250 ft3 by
    # average end areas. Each end area is what one foot of such a cutting holds.
    cuts = [0, 5, 10, 15, 0]
    ends = [cutting([0, 1], [cut, cut], 20, 1.5) for cut in cuts]
    by_end_areas = sum(50 * (a + b) / 2 for a, b in pairwise(ends))
    assert by_end_areas == pytest.approx(56250, rel=1e-9)
    # the true solid holds less by the prismoidal correction, length × side × (difference)²/6
    # (first principles); our figure is that of the solid itself
    correction = sum(50 * 1.5 * (a - b) ** 2 / 6 for a, b in pairwise(cuts))
    exact = cutting([0, 50, 100, 150, 200], cuts, 20, 1.5)
    assert exact == pytest.approx(56250 - correction, rel=1e-9)
    # and the prismoidal formula with middle sections says the same
    middles = [
        cutting([0, 1], [cut, cut], 20, 1.5) for cut in ((a + b) / 2 for a, b in pairwise(cuts))
    ]
    prismoids = sum(
        50 * (a + 4 * m + b) / 6 for (a, b), m in zip(pairwise(ends), middles, strict=True)
    )
    assert exact == pytest.approx(prismoids, rel=1e-9)


@pytest.mark.parametrize(("cut_ft", "yards"), [(3, 261), (5, 491), (8, 919)])
def test_a_table_of_earth_to_the_hundred_feet(cut_ft, yards):
    # S13b: Vose, the same, art. 106 table, p. 83: sides 1 1/2 : 1, base 19 ft (inferred)
    assert cutting([0, 100], [cut_ft, cut_ft], 19, 1.5) / 27 == pytest.approx(yards, abs=1)


def test_the_short_cut_from_end_areas_to_cubic_yards():
    # S14: US Navy Equipment Operator, NAVEDTRA 14080/14081, earthwork equations:
    # V = 1.85 (A1 + A2) per 100 ft, exactly 100/54. Of sections whose area runs straight from
    # one end to the other the rule is exact: a trench of even width and level bottom.
    first, last, wide = 3.0, 7.0, 4.0
    spots = [(x * FOOT, 0.0, z * FOOT) for x, z in ((0, first), (100, last))]
    trench = box(0, 0, 100 * FOOT, wide * FOOT)
    yards = earthwork(surface_of(spots, trench), level(0.0), trench).cut_m3 / YARD3
    ratio = yards / (wide * (first + last))
    assert ratio == pytest.approx(1.85185, abs=1e-5)
    assert ratio == pytest.approx(1.85, rel=0.0011)


def test_a_borrow_pit_on_a_grid():
    # S15: method of P. R. Wolf and C. D. Ghilani, Elementary Surveying, V = A/4 Σ n h (from
    # memory); z = 10 + 0.02 x + 0.01 y over 20 m x 20 m in 5 m cells, cut to 10: 120 m3
    spots = [(x, y, 10 + 0.02 * x + 0.01 * y) for x in range(0, 21, 5) for y in range(0, 21, 5)]
    pit = box(0, 0, 20, 20)
    assert earthwork(surface_of(spots, pit), level(10.0), pit).cut_m3 == pytest.approx(120.0)


@pytest.mark.parametrize("seed", range(4))
def test_the_corner_weights_of_a_grid_hold_for_any_heights(seed):
    # University of Melbourne, Plane Surveying, Volumes From Spot Heights - Grid Levelling,
    # Rectangular Base Method: V = s²/4 Σ N h, N being the cells a corner belongs to, each cell
    # taken at the mean of its four corners (read in a stored copy)
    cuts = np.random.default_rng(seed).uniform(0.5, 3.0, (5, 4))
    spots = [(6.0 * i, 6.0 * j, 50 + cuts[i, j]) for i in range(5) for j in range(4)]
    weights = np.outer([1, 2, 2, 2, 1], [1, 2, 2, 1])
    assert set(weights.ravel().tolist()) == {1, 2, 4}
    pit = box(0, 0, 24, 18)
    assert earthwork(surface_of(spots, pit), level(50.0), pit).cut_m3 == pytest.approx(
        36 / 4 * float((weights * cuts).sum())
    )


def test_borrow_for_a_parking_lot():
    # worked answer read in a stored copy (expertsmind.com, question 30170481): one 50 ft cell
    # with corners at 87.6, 87.6, 87.6 and 88.6 ft, raised to 90 ft, takes 199 yd3
    corners = [(0, 0, 87.6), (50, 0, 87.6), (50, 50, 87.6), (0, 50, 88.6)]
    lot = box(0, 0, 50 * FOOT, 50 * FOOT)
    ground = surface_of([(x * FOOT, y * FOOT, z * FOOT) for x, y, z in corners], lot)
    assert earthwork(ground, level(90 * FOOT), lot).fill_m3 / YARD3 == pytest.approx(199, abs=0.5)


def test_the_area_of_a_triangle():
    # S16: FAO Irrigation Water Management, Training Manual 1, 1.1.1 example, 1985: base 3,
    # height 2: 3
    triangle = Polygon([(0, 0), (3, 0), (1, 2)])
    assert patch_of(surface_of([], triangle), triangle).area_m2 == pytest.approx(3)


@pytest.mark.parametrize(
    ("drop", "run", "percent"),
    [
        (10, 100, 10),
        (1, 20, 5),
        (1, 12, 8.333),
        (1, 10, 10),
        (1, 48, 2.083),
        (0.15, 100, 0.15),
        (0.25, 12, 2.0833),
    ],
)
def test_slopes_in_percent(drop, run, percent):
    # S17: Peace Corps, Soils, Crops and Fertilizer Use, chapter 2: 10 m in 100 m is 10 %
    # S18: US Access Board, outdoor summary, table 3 and 1016.7, 2014 (year from memory):
    # 1:20, 1:12, 1:10 and 1:48 are 5, 8.333, 10 and 2.083 %
    # T07: US DoD UFC 3-270-04, 12.6, 2001: a drain falls at least 0.15 ft in 100 ft, 0.15 %
    # A30: 1/4 in to the foot (BIA TN 14, from memory), 2.0833 %
    plane = through_points([(0, 0, drop), (run, 0, 0), (0, 1, drop)])
    assert 100 * plane.slope == pytest.approx(percent, abs=0.0005)
    assert plane.fall_toward(0.0) == pytest.approx(plane.slope)


def test_a_slope_of_a_hundred_percent_is_half_a_right_angle():
    # S17: the same: 100 % is 45°
    assert through_points([(0, 0, 1), (1, 0, 0), (0, 1, 1)]).slope_deg == pytest.approx(45)


def test_the_least_fall_of_paving_over_ten_feet():
    # A17: Interlocking Concrete Pavement Institute (now CMHA), Construction Tolerances and
    # Recommendations, slope attribute: 2 % over 10 ft is 2.4 in
    plane = falling((0.0, 0.0), 0.0, toward_deg=30.0, slope=0.02)
    foot = (10 * FOOT * math.cos(math.pi / 6), 10 * FOOT * math.sin(math.pi / 6))
    assert -plane.height_at(foot) / INCH == pytest.approx(2.4)


def test_clay_swells_and_is_carted():
    # T01: building-construction estimating textbook, Example 9-2 (title unknown; probably
    # Dagostino and Peterson), ch. 9: 1000 bank yd3 at 30 % swell, trucks of 7 yd3: 1300; 186
    spoil = share_spoil(1000 * YARD3, 0.0, Soil("clay", loose=1.30, compacted=0.9))
    assert spoil.cart_m3 / YARD3 == pytest.approx(1300)
    assert spoil.loads(7 * YARD3) == 186


@pytest.mark.parametrize(
    ("soil", "loose", "compacted"),
    [("sand", 111, 95), ("loam", 125, 90), ("clay", 143, 90), ("blasted rock", 150, 130)],
)
def test_army_volume_factors(soil, loose, compacted):
    # T03, T04: US Army FM 5-434, table 1-1, 2000 (from memory): of 100 bank yd3
    away = share_spoil(100 * YARD3, 0.0, SOILS[soil])
    assert away.loose_m3 / YARD3 == pytest.approx(loose)
    rolled = share_spoil(100 * YARD3, compacted * YARD3, SOILS[soil], [Room("bed", 5.0)])
    assert rolled.rolled_m3 / YARD3 == pytest.approx(100)
    assert (rolled.loose_m3, rolled.wanting_m3) == pytest.approx((0, 0), abs=1e-9)
