"""Margins between units and the sides of their ground, worked out by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import affinity

from bedplan.paving import best_shift, stack
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.margins import margins


def by_side(found):
    return {(margin.start, margin.end): margin for margin in found}


def test_slack_of_a_rectangle_is_shared_evenly():
    # 3 units of 0.3 in 1.0 leave 0.1 along; 1 of 0.3 in 0.5 leaves 0.2 across
    walk = shapely.box(0.0, 0.0, 1.0, 0.5)
    found = by_side(margins(walk, best_shift(walk, stack(0.3, 0.3), 0.0)))
    assert found[(0.0, 0.0), (1.0, 0.0)].least_m == pytest.approx(0.1, abs=1e-4)
    assert found[(1.0, 0.0), (1.0, 0.5)].least_m == pytest.approx(0.05, abs=1e-4)
    assert len(found) == 4


def test_a_turned_rectangle_has_the_same_margins():
    walk = affinity.rotate(shapely.box(0.0, 0.0, 1.0, 0.5), 33.0, origin=(5, 2))
    found = margins(walk, best_shift(walk, stack(0.3, 0.3), 0.0, 33.0))
    assert sorted(margin.least_m for margin in found) == pytest.approx(
        [0.05, 0.05, 0.1, 0.1], abs=1e-4
    )


def test_a_crooked_side_has_a_least_and_a_greatest_margin():
    # the right side leans out by 0.2 over 1.0: 1.1 at the lower unit's foot, 1.3 at the top
    walk = shapely.Polygon([(0, 0), (1.1, 0), (1.3, 1.0), (0, 1.0)])
    units = tuple(Placement(0.5, y, 0.0) for y in (0.25, 0.75))
    laying = Laying(stack(1.0, 0.5), 0.0, 0.0, (0.5, 0.25), units, (0, 0), proven=True)
    leaning = next(m for m in margins(walk, laying) if m.start == (1.1, 0.0))
    # gaps are measured square to the side: from its foot at (1.1, 0) that line meets the lower
    # unit at (1.0, 0.02); the upper unit is nearest at its own lower corner, (1.0, 0.5)
    assert leaning.least_m == pytest.approx(math.hypot(0.1, 0.02), abs=1e-6)
    assert leaning.greatest_m == pytest.approx(0.2 / math.hypot(0.2, 1.0), abs=1e-6)


def test_a_bed_in_the_walk_has_margins_too():
    walk = shapely.box(0, 0, 3, 3).difference(shapely.box(1, 1, 2, 2))
    units = (Placement(1.5, 0.5, 0.0), Placement(0.5, 1.5, 0.0))
    laying = Laying(stack(0.8, 0.8), 0.0, 0.0, (0.5, 0.5), units, (0, 0), proven=True)
    found = by_side(margins(walk, laying))
    below = next(m for (start, end), m in found.items() if {start, end} == {(1, 1), (2, 1)})
    assert below.least_m == pytest.approx(0.1)


def test_no_units_have_no_margins():
    walk = shapely.box(0, 0, 0.2, 0.2)
    assert margins(walk, best_shift(walk, stack(0.3, 0.3), 0.0)) == ()
