"""The bound on units along and across one direction: exact cases, and what it must reach."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.paving import best_courses, courses_along, pack_rectangle, upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_mixed import mixed_bound
from bedplan.paving.bound_points import kind_of, points_over
from bedplan.paving.bound_weights import WORTH, cells_of, covering, repaired

CROOKED = Polygon([(0, 0), (1.9, 0.2), (1.7, 1.0), (1.2, 0.9), (1.3, 1.7), (0.3, 1.5)])
POTTED = CROOKED.difference(shapely.Point(0.8, 0.7).buffer(0.15, quad_segs=2))
APART = MultiPolygon([box(0, 0, 1.13, 0.9), Polygon([(2, 0), (3.3, 0.4), (2.6, 1.7)])])
REGIONS = {"crooked": CROOKED, "potted": POTTED, "apart": APART}


@pytest.mark.parametrize("angle", [0.0, 31.0])
@pytest.mark.parametrize(
    ("sides", "size"), [((5, 5), (3, 2)), ((8, 8), (5, 3)), ((13, 11), (5, 3)), ((9, 7), (4, 3))]
)
def test_in_a_rectangle_it_lies_between_the_best_packing_and_the_area(sides, size, angle):
    best = pack_rectangle(*sides, *size)
    assert best.proven
    walk = affinity.rotate(box(0, 0, *sides), angle, origin=(0, 0))
    bound = mixed_bound(walk, *size, 0.0, angle)
    assert best.count <= bound <= upper_bound(walk, *size, 0.0)
    assert bound <= best.count + 1


@pytest.mark.parametrize(("units", "joint"), [((10, 3), 0.0095), ((7, 5), 0.0), ((11, 1), 0.0007)])
def test_a_walk_exactly_so_many_units_wide_has_no_room_beside_them(units, joint):
    size = (0.4, 0.3)
    sides = [n * side + (n - 1) * joint for n, side in zip(units, size, strict=True)]
    walk = affinity.rotate(box(0, 0, *sides), 7.3, origin=(0, 0))
    assert mixed_bound(walk, *size, joint, 7.3, both_ways=False) == math.prod(units)


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
@pytest.mark.parametrize("size", [(0.31, 0.31), (0.3, 0.15), (0.27, 0.18)])
def test_it_is_no_higher_than_other_bounds_and_no_lower_than_courses(region, size):
    alike = mixed_bound(region, *size, 0.01, both_ways=False, time_limit_s=1.0)
    mixed = mixed_bound(region, *size, 0.01, time_limit_s=1.0)
    along, across = best_courses(region, *size, 0.01), best_courses(region, *size[::-1], 0.01)
    assert along.count <= alike <= line_bound(region, *size, 0.01)
    assert max(along.count, across.count) <= mixed <= upper_bound(region, *size, 0.01)
    assert alike <= mixed


def test_a_known_count_ends_the_search_and_lowers_nothing():
    exact = mixed_bound(CROOKED, 0.25, 0.25, 0.005)
    assert mixed_bound(CROOKED, 0.25, 0.25, 0.005, enough=10_000) >= exact
    assert mixed_bound(CROOKED, 0.25, 0.25, 0.005, enough=exact) == exact
    assert mixed_bound(CROOKED, 0.2, 0.15, 0.005, time_limit_s=0.0) == upper_bound(
        CROOKED, 0.2, 0.15, 0.005
    )


def test_ground_with_no_room_holds_nothing():
    assert mixed_bound(Polygon(), 0.4, 0.4, 0.0) == 0
    assert mixed_bound(box(0, 0, 0.3, 2.0), 0.4, 0.4, 0.0) == 0
    # wide enough for a disc as wide as the unit is short, not for the unit either way round
    assert mixed_bound(box(0, 0, 0.5, 0.5), 0.6, 0.2, 0.0) == 0
    # one way round alone is left
    assert mixed_bound(box(0, 0, 0.3, 0.6), 0.6, 0.2, 0.0) == 1


@pytest.mark.parametrize(
    ("unit", "joint", "direction"),
    [
        ((0.0, 0.4), 0.01, 0.0),
        ((0.4, math.nan), 0.01, 0.0),
        ((0.4, 0.4), -0.01, 0.0),
        ((0.4, 0.4), 0.0, math.inf),
        ((0.4, 0.4), math.inf, 0.0),
    ],
)
def test_impossible_units_joints_and_directions_are_refused(unit, joint, direction):
    with pytest.raises(GeometryError):
        mixed_bound(box(0, 0, 1, 1), *unit, joint, direction)


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_cells_know_what_a_unit_anywhere_covers(region):
    # against a plain sum over all points, at places taken at random and on the edge
    from bedplan.geometry.erosion import erode, rectangle_kernel

    places = erode(region, rectangle_kernel(0.3, 0.2))
    kind = kind_of(places, np.array([0.31, 0.21]))
    points = points_over((kind,), 4, 16)
    rng = np.random.default_rng(7)
    weights = rng.integers(0, WORTH, len(points)) * (rng.random(len(points)) < 0.3)
    cells = cells_of(kind, points, weights)
    corners = shapely.get_coordinates(places)
    low, high = np.array(places.bounds).reshape(2, 2)
    tried = rng.uniform(low, high, (3000, 2))
    tried = np.vstack([corners, tried[shapely.intersects_xy(places, *tried.T)]])
    assert len(tried) > 100
    for at in tried:
        plain = int(weights[np.all(np.abs(points - at) <= 0.5 * kind.box, axis=1)].sum())
        assert plain == int(weights[covering(kind, points, at)].sum())
        within = (
            (cells.west <= at[0])
            & (at[0] <= cells.east)
            & (cells.south <= at[1])
            & (at[1] <= cells.north)
        )
        assert np.any(within)
        assert cells.covered[within].min() <= plain


def test_weights_are_mended_wherever_they_fall_short():
    kind = kind_of(box(0, 0, 1.0, 0.7), np.array([0.3, 0.2]))
    points = points_over((kind,), 3, 0)
    nothing = np.zeros(len(points), dtype=np.int64)
    total = repaired((kind,), points, nothing)
    # 4 by 4 units are the fewest boxes over 1.0 by 0.7 of ground for centres
    assert total is not None
    assert total >= 16 * WORTH
    ample = np.full(len(points), WORTH)
    assert repaired((kind,), points, ample) == len(points) * WORTH


@pytest.mark.parametrize("side", [0.2, 0.22, 0.25])
def test_shares_of_boxes_bound_squares_lower_than_whole_boxes(side):
    courses = courses_along(POTTED, side, side, 0.01, [0.0]).count
    bound = mixed_bound(POTTED, side, side, 0.01, time_limit_s=20.0)
    assert courses <= bound < line_bound(POTTED, side, side, 0.01)
