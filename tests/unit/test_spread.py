"""Fewer units than fit: how they are shared and spread, by hand and by law."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.layout_file import parse_layout
from bedplan.paving import best_shift, herringbone, stack
from bedplan.paving.spread import shares, spread
from bedplan.plan import make_plan

WALK = shapely.box(0.0, 0.0, 4.0, 0.5)


@pytest.mark.parametrize(
    ("limit", "areas", "counts", "expected"),
    [
        (10, [6.0, 3.0, 1.0], [50, 20, 8], [6, 3, 1]),
        (10, [6.0, 3.0, 1.0], [4, 20, 8], [4, 5, 1]),  # a full walk passes its rest on
        (7, [1.0, 1.0], [5, 5], [4, 3]),
        (99, [1.0, 2.0], [3, 4], [3, 4]),  # no more than there are
        (0, [1.0], [3], [0]),
        (3, [1.0, 1.0], [0, 9], [0, 3]),
    ],
)
def test_shares(limit, areas, counts, expected):
    assert shares(limit, areas, counts) == expected


@given(
    st.integers(0, 200),
    st.lists(st.tuples(st.floats(0.01, 50.0), st.integers(0, 60)), min_size=1, max_size=6),
)
def test_shares_add_up_and_never_exceed_a_walk(limit, walks):
    areas, counts = [area for area, _ in walks], [count for _, count in walks]
    given_out = shares(limit, areas, counts)
    assert sum(given_out) == min(limit, sum(counts))
    assert all(0 <= share <= count for share, count in zip(given_out, counts, strict=True))


@pytest.mark.parametrize("limit", [2, 3, 4, 7])
def test_one_course_is_spread_with_equal_gaps_from_end_to_end(limit):
    full = best_shift(WALK, stack(0.4, 0.4), 0.0)
    few = spread(WALK, full, limit)
    x = np.array(few.units)[:, 0]
    assert few.count == limit
    assert np.diff(x) == pytest.approx((x[-1] - x[0]) / (limit - 1))
    assert (x[0], x[-1]) == (pytest.approx(full.units[0].x_m), pytest.approx(full.units[-1].x_m))


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 70), st.floats(1.0, 4.0), st.floats(0.0, 90.0))
def test_spread_units_lie_inside_and_a_joint_apart(limit, wide, turn):
    yard = shapely.affinity.rotate(shapely.box(0.0, 0.0, 4.0, wide), turn)
    yard = yard.difference(shapely.Point(yard.centroid).buffer(0.4))
    full = best_shift(yard, stack(0.4, 0.3), 0.02, turn)
    few = spread(yard, full, limit)
    assert few.count == min(limit, full.count)
    outlines = few.outlines()
    assert all(yard.buffer(5e-5).covers(outline) for outline in outlines)
    for i, outline in enumerate(outlines):
        assert all(outline.distance(other) >= 0.02 - 1e-4 for other in outlines[i + 1 :])


def laid(wide, high, limit, bond=None):
    """Centres of a spread over a rectangle of so many units of 0.4 m, course by course."""
    yard = shapely.box(0.0, 0.0, 0.4 * wide, 0.4 * high)
    full = best_shift(yard, bond or stack(0.4, 0.4), 0.0)
    return np.array(spread(yard, full, limit).units)[:, :2] / 0.4 - 0.5, full


def test_single_units_of_a_grid_lie_in_the_middle_of_their_courses():
    at, _ = laid(2.5, 5, 3)
    assert at == pytest.approx(np.array([[0.75, 0], [0.75, 2], [0.75, 4]]))


def test_courses_left_over_are_shared_out_before_and_after():
    at, _ = laid(1, 9, 4)
    assert at == pytest.approx(np.array([[0, 1], [0, 3], [0, 5], [0, 7]]))


def test_of_several_grids_the_widest_set_is_taken():
    # six in one course are 1.2 units apart, three courses of two 1 unit, two courses of three 2
    at, _ = laid(7, 3, 6)
    assert at == pytest.approx(np.array([[x, y] for y in (0, 2) for x in (0, 3, 6)]))


def test_one_course_of_a_grid_is_the_longest():
    yard = shapely.union_all([shapely.box(0, 0, 0.8, 0.4), shapely.box(0, 0.4, 2.4, 0.8)])
    few = spread(yard, best_shift(yard, stack(0.4, 0.4), 0.0), 3)
    at = np.array(few.units)[:, :2]
    assert at == pytest.approx(np.array([[0.2, 0.6], [1.2, 0.6], [2.2, 0.6]]))


def test_a_grid_that_sets_units_close_gives_way_to_even_places():
    # a grid of ten in five by five has neighbours side by side
    at, full = laid(5, 5, 10)
    apart = np.hypot(*(at[:, None] - at).transpose(2, 0, 1)) + 9 * np.eye(10)
    assert full.count == 25
    assert apart.min() >= np.sqrt(2) - 1e-9


def test_a_single_unit_of_a_mixed_bond_is_the_middle_one():
    at, full = laid(9, 6, 1, herringbone(0.4, 0.2))
    places = np.array(full.units)[:, :2] / 0.4 - 0.5
    nearest = np.hypot(*(places - places.mean(axis=0)).T).min()
    assert np.hypot(*(at[0] - places.mean(axis=0))) == pytest.approx(nearest)


@pytest.mark.parametrize("limit", range(1, 20))
def test_units_of_a_mixed_bond_are_never_moved(limit):
    yard = shapely.box(0.0, 0.0, 2.5, 1.5)
    full = best_shift(yard, herringbone(0.4, 0.2), 0.003)
    assert set(spread(yard, full, limit).units) <= set(full.units)


def test_a_limit_is_for_all_paths_together(layout_text):
    layout = parse_layout(layout_text)
    walks = make_plan(layout).walks
    counts = [walk.count for walk in walks]
    limited = replace(layout, pavers={"slab": replace(layout.pavers["slab"], limit=9)})
    plan = make_plan(limited)
    assert sum(walk.count for walk in plan.walks) == 9
    assert all(0 < walk.count < full for walk, full in zip(plan.walks, counts, strict=True))
    bought = [line for line in plan.order.lines if line.group == "Pavers"]
    assert [line.quantity for line in bought] == [9]


@pytest.fixture
def layout_text():
    return """
title = "Two walks"
unit = "m"
[enclosure]
corners = { A = [0, 0], B = [8, 0], C = [8, 5], D = [0, 5] }
[[path]]
name = "long"
polygon = [[0, 0], [8, 0], [8, 1], [0, 1]]
pavers = "slab"
joint = "5 mm"
[[path]]
name = "short"
polygon = [[0, 2], [4, 2], [4, 3], [0, 3]]
pavers = "slab"
joint = "5 mm"
[paver.slab]
size = [0.4, 0.4]
thickness = "45 mm"
price = 5
"""
