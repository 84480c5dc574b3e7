"""Lines, corners, insets and overlays against figures worked out by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from gardens import regular
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.geometry.lines import (
    Line,
    direction_deg,
    interior_angle_deg,
    mitre_point,
    saw_setting_deg,
    through,
    unit_vector,
)
from bedplan.geometry.polygons import (
    EMPTY,
    as_area,
    circle,
    common,
    inset,
    minus,
    overlap_m2,
    parts,
    ring_polygon,
    union,
)
from bedplan.geometry.tolerance import ANGLE_DEG, AREA_M2, FIT_M, GRID_M, SNAP_M

L_SHAPE = Polygon([(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)])


# ---- lines ---------------------------------------------------------------------------------


def test_stations_and_offsets_on_a_3_4_5_line():
    line = through((1, 1), (4, 5))
    assert line.along == pytest.approx((0.6, 0.8))
    assert line.point(5) == pytest.approx((4, 5))
    assert line.station((4, 5)) == pytest.approx(5)
    assert line.left_of((1 - 0.8, 1 + 0.6)) == pytest.approx(1)
    assert line.left_of((1 + 0.8, 1 - 0.6)) == pytest.approx(-1)
    assert line.shifted(2).left_of(line.at) == pytest.approx(-2)


@pytest.mark.parametrize(
    ("other", "where"),
    [
        (Line((0, 3), (1, 0)), (2.5, 3)),
        (Line((5, 0), (0, 1)), (5, 19 / 3)),
        (Line((9, 9), (0.6, 0.8)), None),
        (Line((9, 9), (-0.6, -0.8)), None),
    ],
)
def test_where_lines_meet(other, where):
    met = through((1, 1), (4, 5)).meet(other)
    assert met == (None if where is None else pytest.approx(where))


@pytest.mark.parametrize(
    ("end", "angle"),
    [((1, 0), 0), ((1, 1), 45), ((0, 2), 90), ((-1, 0), 180), ((0, -1), 270), ((1, -1), 315)],
)
def test_directions(end, angle):
    assert direction_deg((0, 0), end) == pytest.approx(angle)
    length = math.hypot(*end)
    assert unit_vector(angle) == pytest.approx((end[0] / length, end[1] / length))


@pytest.mark.parametrize(
    ("after", "angle"),
    [
        ((1, 1), 90),
        ((0, 1), 45),
        ((2, 1), 135),
        ((2, 0), 180),
        ((1, -1), 270),
        ((2, -1), 225),
        ((0, -1), 315),
    ],
)
def test_interior_angles_of_a_counter_clockwise_ring(after, angle):
    assert interior_angle_deg((0, 0), (1, 0), after) == pytest.approx(angle)


@pytest.mark.parametrize("count", [3, 4, 5, 7, 12])
def test_mitre_points_of_a_regular_ring_lie_on_the_inner_ring(count):
    # apothem shrinks by the inset, so the corners come in by inset / cos(π/n)
    corners = regular(count, 2.0)
    sides = [through(corners[i - 1], corners[i]) for i in range(count)]
    for i in range(count):
        inner = mitre_point(sides[i], sides[(i + 1) % count], 0.1)
        assert math.hypot(*inner) == pytest.approx(2.0 - 0.1 / math.cos(math.pi / count))


def test_mitre_point_of_a_straight_corner_is_square_to_it():
    assert mitre_point(through((0, 0), (1, 0)), through((1, 0), (2, 0)), 0.5) == (1, 0.5)


@pytest.mark.parametrize(
    ("cut", "setting"),
    [(90, 0), (45, 45), (135, 45), (60, 30), (112.5, 22.5), (225, 45), (-45, 45)],
)
def test_what_a_saw_reads(cut, setting):
    assert saw_setting_deg(cut) == pytest.approx(setting)


# ---- areas ---------------------------------------------------------------------------------


def test_parts_drop_slivers_lines_and_points_and_come_largest_first():
    mixed = shapely.GeometryCollection(
        [
            LineString([(0, 0), (9, 9)]),
            shapely.Point(5, 5),
            box(0, 0, 1, 1),
            MultiPolygon([box(3, 0, 5, 2), box(9, 9, 9.0001, 9.0001)]),
        ]
    )
    assert [part.area for part in parts(mixed)] == [4, 1]
    assert parts(EMPTY) == []
    assert as_area(LineString([(0, 0), (1, 1)])).is_empty
    assert as_area(mixed).geom_type == "MultiPolygon"
    assert as_area(box(0, 0, 1, 1)).geom_type == "Polygon"


def test_union_of_touching_beds_is_one_area():
    joined = union([box(0, 0, 1, 1), box(1, 0, 2, 1)])
    assert joined.geom_type == "Polygon"
    assert joined.area == pytest.approx(2)
    assert union([]).is_empty


def test_edges_a_hair_apart_leave_nothing_between():
    # shapely issue 1871: near-coincident edges must not make slivers
    noisy = box(1 + 1e-10, 0, 2, 1)
    assert union([box(0, 0, 1, 1), noisy]).geom_type == "Polygon"
    assert overlap_m2(box(0, 0, 1 + 1e-10, 1), noisy) == 0


def test_minus_and_common():
    assert minus(box(0, 0, 2, 2), box(1, 0, 2, 1), box(1, 1, 2, 2)).area == pytest.approx(2)
    assert minus(box(0, 0, 1, 1), box(-1, -1, 2, 2)).is_empty
    assert minus(box(0, 0, 2, 2)).area == 4
    assert common(box(0, 0, 2, 2), box(1, 1, 3, 3)).area == pytest.approx(1)
    assert common(box(0, 0, 1, 1), box(1, 0, 2, 1)).is_empty
    assert overlap_m2(box(0, 0, 1, 1), box(0.5, 0.5, 2, 2)) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("shape", "distance", "area"),
    [
        (box(0, 0, 4, 3), 0.5, 6),
        (box(0, 0, 4, 3), 1.5, 0),
        (box(0, 0, 4, 3), 2, 0),
        # the L loses d times its girth, regains d² at five outward corners and loses it at one
        (L_SHAPE, 0.25, 6 - 0.25 * 14 + 0.0625 * 5 - 0.0625),
        (box(0, 0, 4, 4) - box(1, 1, 3, 3), 0.25, 3.5**2 - 2.5**2),
    ],
)
def test_insets_keep_corners_sharp(shape, distance, area):
    assert inset(shape, distance).area == pytest.approx(area, abs=1e-9)


def test_inset_may_fall_in_two():
    dumbbell = union([box(0, 0, 2, 2), box(3, 0, 5, 2), box(2, 0.9, 3, 1.1)])
    assert [part.area for part in parts(inset(dumbbell, 0.2))] == pytest.approx([1.6**2] * 2)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (1, 0)],
        [],
        [(0, 0), (1, 1), (1, 0), (0, 1)],
        [(0, 0), (1, 0), (2, 0)],
        [(0, 0), (1e-4, 0), (0, 1e-4)],
        [(0, 0), (2, 0), (2, 2), (1, 0), (0, 2)],
    ],
)
def test_rings_that_enclose_nothing_or_cross(points):
    with pytest.raises(GeometryError, match="the bed"):
        ring_polygon(points, "the bed")


def test_rings_come_counter_clockwise():
    clockwise = [(0, 0), (0, 1), (1, 1), (1, 0)]
    assert ring_polygon(clockwise, "x").exterior.is_ccw
    assert ring_polygon(clockwise[::-1], "x").exterior.is_ccw


@pytest.mark.parametrize("radius", [0.05, 0.6096, 3, 25])
def test_circles_have_the_true_area_and_stay_by_the_arc(radius):
    shape = circle((1, -2), radius)
    assert shape.area == pytest.approx(math.pi * radius**2, rel=1e-9)
    assert shape.centroid.coords[0] == pytest.approx((1, -2))
    reach = [math.dist((1, -2), corner) for corner in shape.exterior.coords]
    facet = shapely.Point(1, -2).distance(shape.exterior)
    assert max(reach) - radius <= 2.5e-4
    assert radius - facet <= 2.5e-4


def test_tolerances_lie_between_rounding_and_a_tape():
    rounding_m, tape_m = 1e-14, 0.0254 / 32
    assert rounding_m < GRID_M < FIT_M < SNAP_M < tape_m
    assert AREA_M2 <= 0.001**2
    assert 1e-9 < ANGLE_DEG < math.degrees(tape_m / 30)
