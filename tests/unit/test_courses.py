"""Free courses against rows tried one by one, exact fits, broken ground, and looks."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving import best_shift, running, stack
from bedplan.paving.courses import best_courses, courses_along, placed_along, shared_out

INCH = 0.0254
CROOKED = Polygon([(0, 0), (3.1, 0.2), (2.8, 1.3), (1.7, 1.1), (1.9, 2.6), (0.3, 2.2)])
POTTED = CROOKED.difference(shapely.Point(1.1, 1.0).buffer(0.21, quad_segs=2))
APART = MultiPolygon([box(0, 0, 1.13, 0.9), Polygon([(2, 0), (3.3, 0.4), (2.6, 1.7)])])
ROUND_A_BED = box(0, 0, 3.3, 2.7).difference(affinity.rotate(box(1.1, 0.9, 2.1, 1.6), 11.0))
REGIONS = {"crooked": CROOKED, "potted": POTTED, "apart": APART, "round a bed": ROUND_A_BED}


def row_count(places, height, step, loose):
    """How many centres fit on a line, by shapely's own cut, all stretches wider by `loose`."""
    west, _, east, _ = places.bounds
    cut = shapely.get_parts(
        places.intersection(LineString([(west - 1, height), (east + 1, height)]))
    )
    count, free = 0, -math.inf
    for left, right in sorted((part.bounds[0] - loose, part.bounds[2] + loose) for part in cut):
        start = max(left, free)
        while start <= right + 1e-9:
            count, start = count + 1, start + step
            free = start
    return count


def most_by_grid(places, step, rise, grid, loose=0.0):
    """The most units with every course on a grid of heights, by dynamic programming."""
    low, high = places.bounds[1] - grid, places.bounds[3] + grid
    heights = np.arange(low, high, grid)
    counts = [row_count(places, height, step, loose) for height in heights]
    apart = math.ceil(rise / grid - 1e-6)
    best = []
    for i, count in enumerate(counts):
        best.append(max(best[i - 1] if i else 0, count + (best[i - apart] if i >= apart else 0)))
    return best[-1]


@pytest.mark.parametrize(
    "size", [(0.3, 0.3), (0.31, 0.17), (0.17, 0.44)], ids=["square", "long", "tall"]
)
@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_rows_tried_at_every_height_hold_no_more_and_hardly_fewer(region, size):
    # Any courses can be moved to heights on a grid if places reach one grid step farther all
    # round and courses may come a step nearer: that count is no less than the truth, and rows
    # on the grid as they are hold no more. Both come from shapely's cuts, not from our slabs.
    grid, joint = 0.004, 0.01
    places = erode(region, rectangle_kernel(size[0] - 2 * FIT_M, size[1] - 2 * FIT_M))
    count = best_courses(region, *size, joint).count
    step, rise = size[0] + joint, size[1] + joint
    grown = places.buffer(grid, join_style="mitre")
    assert most_by_grid(places, step, rise, grid) <= count
    assert count <= most_by_grid(grown, step - grid, rise - grid, grid)
    assert count - most_by_grid(places, step, rise, grid) <= 2


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_units_lie_inside_and_a_joint_apart(region):
    laying = best_courses(region, 0.31, 0.17, 0.008, 23.0, greatest_m=0.03)
    units = laying.outlines()
    assert laying.count == best_courses(region, 0.31, 0.17, 0.008, 23.0).count > 10
    assert np.all(shapely.covers(region.buffer(2 * FIT_M), units))
    gaps = shapely.distance(units[:, None], units[None])
    assert gaps[~np.eye(len(units), dtype=bool)].min() >= 0.008 - 1e-9


@pytest.mark.parametrize("turn_deg", [0.0, 7.3, 33.333, 45.0, 89.99])
@pytest.mark.parametrize(
    ("units", "size", "joint"),
    [
        ((10, 3), (16 * INCH, 16 * INCH), 3 / 8 * INCH),
        ((7, 5), (7.625 * INCH, 3.625 * INCH), 3 / 8 * INCH),
        ((30, 12), (8 * INCH, 4 * INCH), 0.0),
        ((9, 4), (0.4, 0.6), 0.003),
        ((11, 1), (0.333, 0.111), 0.0007),
    ],
    ids=["slabs", "bricks", "dry bricks", "metric", "one course"],
)
def test_a_walk_exactly_so_many_units_wide_holds_them(units, size, joint, turn_deg):
    sides = [n * side + (n - 1) * joint for n, side in zip(units, size, strict=True)]
    walk = affinity.translate(
        affinity.rotate(box(0, 0, *sides), turn_deg, origin=(0, 0)), 31.7, -12.9
    )
    laying = best_courses(walk, *size, joint, turn_deg)
    assert (laying.count, laying.proven) == (math.prod(units), True)
    assert np.all(shapely.covers(walk.buffer(2 * FIT_M), laying.outlines()))


def test_a_walk_a_hair_too_narrow_loses_a_course():
    full = box(0, 0, 10 * 0.4 + 9 * 0.005, 4 * 0.3 + 3 * 0.005)
    less = box(0, 0, full.bounds[2], full.bounds[3] - 1e-4)
    assert best_courses(full, 0.4, 0.3, 0.005).count == 40
    assert best_courses(less, 0.4, 0.3, 0.005).count == 30


def test_courses_part_where_a_bed_stands_between():
    # Two walks 0.45 high joined by a strip too narrow for a unit: no lattice of rise 0.4 meets
    # both from edge to edge, courses do.
    ground = shapely.union_all([box(0, 0, 4, 0.4), box(0, 0.4, 0.2, 0.63), box(0, 0.63, 4, 1.03)])
    assert best_courses(ground, 0.4, 0.4, 0.0).count == 20
    assert best_shift(ground, stack(0.4, 0.4), 0.0).count == 10


def test_a_course_is_slid_to_pass_a_post_on_each_side():
    # 1.3 m and 1.7 m left and right of a post: 3 + 4 slabs of 0.4 m, each with 0.1 m to spare.
    # On the left a row starts at 0 to 0.1 m, on the right at 1.75 to 1.85 m, which is 0.15 to
    # 0.25 m past whole slabs: no one row of touching slabs does both.
    walk = box(0, 0, 3.45, 0.4).difference(box(1.3, 0, 1.75, 0.4))
    assert best_courses(walk, 0.4, 0.4, 0.0).count == 7
    assert best_shift(walk, running(0.4, 0.4), 0.0).count == 6


def test_units_across_a_post_keep_the_joint():
    # The post is narrower than the joint: were stretches packed apart, 2 + 2 would be taken.
    walk = box(0, 0, 1.75, 0.4).difference(box(0.82, 0, 0.83, 0.4))
    assert best_courses(walk, 0.4, 0.4, 0.02).count == 4
    assert best_courses(walk, 0.4, 0.4, 0.12).count == 3


def test_margins_are_even_and_slack_goes_into_joints_up_to_the_greatest():
    walk = box(0, 0, 2.0, 1.0)
    tight = shapely.total_bounds(best_courses(walk, 0.4, 0.3, 0.01).outlines())
    assert tight == pytest.approx([0.185, 0.04, 1.815, 0.96], abs=2e-5)
    opened = best_courses(walk, 0.4, 0.3, 0.01, greatest_m=0.03)
    assert shapely.total_bounds(opened.outlines()) == pytest.approx(
        [0.155, 0.02, 1.845, 0.98], abs=2e-5
    )
    wide = best_courses(walk, 0.4, 0.3, 0.01, greatest_m=0.5)
    assert shapely.total_bounds(wide.outlines()) == pytest.approx([0, 0, 2, 1], abs=2e-5)
    assert opened.count == wide.count == 12


def test_slack_is_shared_alike_until_a_place_is_caught():
    places = shared_out(np.array([0.0, 0.0, 0.0]), np.array([2.0, 0.5, 2.0]), 0.4, 0.3)
    assert places == pytest.approx([0.0, 0.5, 1.5])
    assert placed_along(np.array([0.0, 2.0]), np.array([1.0, 2.0]), 0.4, 0.0) == pytest.approx(
        [0.1, 0.5, 0.9, 2.0]
    )


def test_units_are_listed_course_by_course_from_left_to_right():
    laying = best_courses(CROOKED, 0.3, 0.2, 0.01)
    table = np.array(laying.units)
    assert np.all(
        (np.diff(table[:, 1]) > 0.2) | ((np.diff(table[:, 1]) == 0) & (np.diff(table[:, 0]) > 0.3))
    )
    assert laying.bond.name == "courses"
    assert laying.shift_m == laying.units[0][:2]
    assert laying.paved_area_m2 == pytest.approx(0.06 * laying.count)


def test_units_may_lie_across_the_courses():
    # 0.5 m of room: bricks on end (0.45 long) in one course of 13; lengthwise 2 courses of 6.
    walk = box(0, 0, 2.99, 0.5)
    laying = courses_along(walk, 0.45, 0.23, 0.0, [0.0])
    assert laying.count == 13
    assert math.prod(best_courses(walk, 0.45, 0.23, 0.0).bond.faces[0]) == 0.45 * 0.23
    assert {unit.turn_deg for unit in laying.units} == {90.0}
    assert np.all(shapely.covers(walk.buffer(2 * FIT_M), laying.outlines()))


def test_the_best_direction_is_found():
    walk = affinity.rotate(box(0, 0, 4.03, 1.22), 31.0)
    laying = courses_along(walk, 0.4, 0.4, 0.002)
    assert (laying.count, laying.proven) == (30, True)
    assert laying.direction_deg % 90.0 == pytest.approx(31.0)


def test_ground_with_no_room_holds_nothing():
    assert best_courses(box(0, 0, 0.3, 2.0), 0.4, 0.4, 0.0).units == ()
    assert best_courses(Polygon(), 0.4, 0.4, 0.0).count == 0
    assert courses_along(Polygon(), 0.4, 0.4, 0.0).count == 0
    assert courses_along(box(0, 0, 1, 1), 0.4, 0.4, 0.0).proven


@pytest.mark.parametrize(
    ("unit", "joint", "direction"),
    [
        ((0.0, 0.4), 0.01, 0.0),
        ((0.4, math.nan), 0.01, 0.0),
        ((0.4, 0.4), -0.01, 0.0),
        ((0.4, 0.4), math.inf, 0.0),
        ((0.4, 0.4), 0.0, math.nan),
    ],
)
def test_impossible_units_joints_and_directions_are_refused(unit, joint, direction):
    with pytest.raises(GeometryError):
        best_courses(box(0, 0, 1, 1), *unit, joint, direction)


def test_a_region_that_crosses_itself_or_no_direction_is_refused():
    with pytest.raises(GeometryError):
        best_courses(Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), 0.4, 0.4, 0.0)
    with pytest.raises(GeometryError):
        courses_along(box(0, 0, 1, 1), 0.4, 0.4, 0.0, [])
