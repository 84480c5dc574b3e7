"""Margins between units and the sides of their ground, worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

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


def of_side(walk, laying, start, end):
    """The margin along one side, from start to end."""
    return next(each for each in margins(walk, laying) if (each.start, each.end) == (start, end))


def in_place(units, faces=((1.0, 1.0),), which=None):
    """Units set down by hand, lying along x."""
    bond = replace(stack(*faces[0]), faces=faces)
    placed = tuple(Placement(x, y, 0.0) for x, y in units)
    return Laying(bond, 0.0, 0.0, units[0], placed, tuple(which or [0] * len(units)), proven=True)


COURT = shapely.box(0, 0, 5, 4)
BELOW = ((0.0, 0.0), (5.0, 0.0))


def test_a_course_behind_the_first_is_not_faced():
    laying = in_place([(1.0, 0.7), (2.0, 0.7), (1.0, 1.7), (2.0, 1.7)])
    below = of_side(COURT, laying, *BELOW)
    assert (below.least_m, below.greatest_m) == (pytest.approx(0.2), pytest.approx(0.2))


def test_a_unit_glimpsed_through_a_joint_is_not_faced_but_one_seen_by_half_is():
    # the joint is 0.2 wide, a fifth of the unit behind it; the last unit stands out by 0.6
    laying = in_place([(1.0, 0.7), (2.2, 0.7), (1.6, 1.8)])
    assert of_side(COURT, laying, *BELOW).greatest_m == pytest.approx(0.2)
    laying = in_place([(1.0, 0.7), (2.2, 0.7), (2.8, 1.8)])
    assert of_side(COURT, laying, *BELOW).greatest_m == pytest.approx(1.3)


def test_a_unit_behind_a_bed_is_not_faced():
    walk = COURT.difference(shapely.box(1.2, 0.6, 4.0, 1.0))
    laying = in_place([(0.6, 0.8), (2.5, 2.5)])
    assert of_side(walk, laying, *BELOW).greatest_m == pytest.approx(0.3)


def test_a_long_unit_hidden_by_two_short_ones_is_not_faced():
    # the nearer of the two is on the right, so what they hide is not met from left to right
    laying = in_place([(2.5, 0.6), (1.5, 0.7), (2.0, 2.0)], ((1.0, 1.0), (2.0, 1.0)), [0, 0, 1])
    below = of_side(COURT, laying, *BELOW)
    assert (below.least_m, below.greatest_m) == (pytest.approx(0.1), pytest.approx(0.2))


def test_a_side_with_a_corner_of_another_shape_on_it_is_one_side():
    walk = shapely.Polygon([(0, 0), (2, 0), (5, 0), (5, 4), (0, 4)])
    laying = in_place([(0.7, 0.7), (4.0, 0.9)])
    below = of_side(walk, laying, *BELOW)
    assert (below.least_m, below.greatest_m) == (pytest.approx(0.2), pytest.approx(0.4))
    assert len(margins(walk, laying)) == 4


def test_a_side_shorter_than_a_unit_has_no_margin():
    # the jog in the right side is 0.5 long
    walk = shapely.Polygon([(0, 0), (5, 0), (5, 2), (4.5, 2), (4.5, 4), (0, 4)])
    found = by_side(margins(walk, in_place([(3.9, 3.2), (4.2, 1.0), (1.0, 1.0)])))
    assert len(found) == 5
    assert all(math.dist(*side) > 1.0 for side in found)


def test_a_side_runs_one_way_or_the_other_within_half_a_turn():
    laying = in_place([(2.0, 2.0)])
    assert of_side(COURT, laying, (5.0, 0.0), (5.0, 4.0)).direction_deg == pytest.approx(90.0)
    assert of_side(COURT, laying, (5.0, 4.0), (0.0, 4.0)).direction_deg == pytest.approx(0.0)
    leaning = shapely.Polygon([(0, 0), (6, 0), (3, 3), (0, 3)])
    found = of_side(leaning, laying, (6.0, 0.0), (3.0, 3.0))
    assert found.direction_deg == pytest.approx(135.0)
