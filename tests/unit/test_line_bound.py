"""The bound along one direction: against an integer programme, rectangles, exact fits."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving import upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_directions import direction_bound, held_in_all
from bedplan.paving.courses import best_courses

INCH = 0.0254
CROOKED = Polygon([(0, 0), (1.9, 0.2), (1.7, 1.0), (1.2, 0.9), (1.3, 1.7), (0.3, 1.5)])
POTTED = CROOKED.difference(shapely.Point(0.8, 0.7).buffer(0.15, quad_segs=2))
APART = MultiPolygon([box(0, 0, 1.13, 0.9), Polygon([(2, 0), (3.3, 0.4), (2.6, 1.7)])])
ROUND_A_BED = box(0, 0, 2.1, 1.9).difference(affinity.rotate(box(0.7, 0.6, 1.3, 1.3), 11.0))
REGIONS = {"crooked": CROOKED, "potted": POTTED, "apart": APART, "round a bed": ROUND_A_BED}


def most_on_a_grid(region, size, joint, parts):
    """The most units with centres on a grid, whole numbers, by an independent solver.

    No two centres of a window one module wide and high can both be taken; windows that begin at
    a grid point forbid every pair that is too near.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    places = erode(region, rectangle_kernel(*size))
    module = np.array(size) + joint
    low = np.array(places.bounds[:2])
    n = np.floor((np.array(places.bounds[2:]) - low) / module * parts + 1e-9).astype(int) + 1
    at = np.stack(np.meshgrid(*map(np.arange, n), indexing="ij"), -1).reshape(-1, 2)
    at = at[shapely.intersects_xy(places, *(low + at * module / parts).T)]
    back = (parts - 1) * np.array([(0, 0), (1, 0), (0, 1), (1, 1)])
    starts = np.unique((at[:, None] - back).reshape(-1, 2), axis=0)
    windows = [np.all((at >= start) & (at < start + parts), axis=1) for start in starts]
    windows = np.unique(windows, axis=0)
    answer = milp(
        -np.ones(len(at)),
        constraints=LinearConstraint(windows.astype(float), ub=1.0),
        integrality=np.ones(len(at)),
        bounds=Bounds(0, 1),
        options={"time_limit": 20.0},
    )
    assert answer.status == 0
    return round(-answer.fun)


@pytest.mark.parametrize("size", [(0.31, 0.29), (0.4, 0.2)], ids=["nearly square", "long"])
@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_no_units_on_a_grid_beat_the_bound(region, size):
    bound = line_bound(region, *size, 0.01)
    assert most_on_a_grid(region, size, 0.01, 6) <= bound
    assert bound <= 1.35 * best_courses(region, *size, 0.01).count


@pytest.mark.parametrize("turn_deg", [0.0, 7.3, 45.0, 89.99])
@pytest.mark.parametrize(
    ("units", "size", "joint"),
    [
        ((10, 3), (16 * INCH, 16 * INCH), 3 / 8 * INCH),
        ((7, 5), (7.625 * INCH, 3.625 * INCH), 3 / 8 * INCH),
        ((30, 12), (8 * INCH, 4 * INCH), 0.0),
        ((11, 1), (0.333, 0.111), 0.0007),
    ],
    ids=["slabs", "bricks", "dry bricks", "one course"],
)
def test_the_bound_is_the_count_in_a_walk_exactly_so_many_units_wide(units, size, joint, turn_deg):
    sides = [n * side + (n - 1) * joint for n, side in zip(units, size, strict=True)]
    walk = affinity.translate(
        affinity.rotate(box(0, 0, *sides), turn_deg, origin=(0, 0)), 31.7, -12.9
    )
    assert line_bound(walk, *size, joint, turn_deg) == math.prod(units)


@pytest.mark.parametrize("length", [1.0, 1.999, 2.35, 3.7])
@pytest.mark.parametrize("width", [0.45, 0.9, 1.79, 2.2])
def test_in_a_rectangle_the_bound_is_the_whole_numbers_multiplied(length, width):
    # first principles: a walk n + part units long and m + part wide holds n m upright units
    most = math.floor(length / 0.4) * math.floor(width / 0.3)
    assert line_bound(box(0, 0, length, width), 0.4, 0.3, 0.0) == most
    assert best_courses(box(0, 0, length, width), 0.4, 0.3, 0.0).count == most


def test_a_walk_round_a_bed_is_bounded_leg_by_leg():
    # By hand: 9 rows of 11 slabs in the whole rectangle (11.0 by 9.8 slabs); beside the bed,
    # 1.0 m wide on either hand, 5 of the rows hold 3 + 3.
    walk = box(0, 0, 3.3, 2.95).difference(box(1.0, 0.7, 2.3, 2.2))
    assert line_bound(walk, 0.3, 0.3, 0.0) == best_courses(walk, 0.3, 0.3, 0.0).count == 74
    assert upper_bound(walk, 0.3, 0.3, 0.0) > 74


def test_a_course_broken_by_a_post_is_bounded_stretch_by_stretch():
    # 0.52 m and 0.43 m beside the post: 5 + 4 tenths, not the 10 of the whole metre
    walk = box(0, 0, 1.0, 0.1).difference(box(0.52, 0, 0.57, 0.1))
    assert line_bound(walk, 0.1, 0.1, 0.0) == best_courses(walk, 0.1, 0.1, 0.0).count == 9


@pytest.mark.parametrize("angle", [0.0, 17.0, 63.0])
@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_the_bound_is_the_same_with_along_and_across_exchanged(region, angle):
    turned = affinity.rotate(region, -angle, origin=(0, 0))
    swapped = shapely.transform(turned, lambda points: points[:, ::-1])
    assert line_bound(region, 0.21, 0.13, 0.01, angle) == line_bound(swapped, 0.13, 0.21, 0.01)


def test_a_known_count_ends_the_search_and_lowers_nothing():
    exact = line_bound(CROOKED, 0.2, 0.15, 0.005)
    assert line_bound(CROOKED, 0.2, 0.15, 0.005, enough=10_000) >= exact
    assert line_bound(CROOKED, 0.2, 0.15, 0.005, enough=exact) == exact


def test_ground_with_no_room_holds_nothing():
    assert line_bound(box(0, 0, 0.3, 2.0), 0.4, 0.4, 0.0) == 0
    assert line_bound(Polygon(), 0.4, 0.4, 0.0) == 0
    assert direction_bound(Polygon(), 0.4, 0.4, 0.0) == 0


@pytest.mark.parametrize(
    ("unit", "joint", "direction"),
    [
        ((0.0, 0.4), 0.01, 0.0),
        ((0.4, math.nan), 0.01, 0.0),
        ((0.4, 0.4), -0.01, 0.0),
        ((0.4, 0.4), 0.0, math.inf),
    ],
)
def test_impossible_units_joints_and_directions_are_refused(unit, joint, direction):
    with pytest.raises(GeometryError):
        line_bound(box(0, 0, 1, 1), *unit, joint, direction)


@pytest.mark.parametrize("size", [(1.0, 1.0), (1.0, 0.3), (0.3, 0.9)])
@pytest.mark.parametrize("most_deg", [0.0, 0.3, 2.0, 8.0])
def test_a_rectangle_held_in_all_turns_lies_in_each_and_touches_the_last(size, most_deg):
    held = held_in_all(size, most_deg)
    outer, inner = (box(-a / 2, -b / 2, a / 2, b / 2) for a, b in (size, held))
    for part in np.linspace(-1.0, 1.0, 21):
        assert affinity.rotate(outer, part * most_deg).buffer(1e-9).covers(inner)
    at_last = affinity.rotate(outer, most_deg)
    for more in ((1e-6, 0.0), (0.0, 1e-6)):
        a, b = np.array(held) + more
        assert not at_last.covers(box(-a / 2, -b / 2, a / 2, b / 2))


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_no_courses_in_any_direction_beat_the_direction_bound(region):
    size = (0.31, 0.21)
    bound = direction_bound(region, *size, 0.01, ranges=60)
    counts = [best_courses(region, *size, 0.01, angle).count for angle in range(0, 180, 5)]
    assert max(counts) <= bound
    assert direction_bound(region, *size, 0.01, ranges=150) <= bound


def test_more_ranges_bring_the_direction_bound_down_to_the_truth():
    # The unit square of 2 by 2 units holds four in line with it, fewer at any other angle.
    assert direction_bound(box(0, 0, 1.0 - FIT_M, 1.0), 0.5, 0.5, 0.0) == 4
