"""Planes, cut and fill, and the finish that is best laid."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from gardens import fence as fence_spec
from shapely.geometry import Polygon, box

from bedplan.errors import GeometryError
from bedplan.ground import (
    Plane,
    balanced,
    best_fit,
    clear_of,
    contour,
    earthwork,
    fall_to_side,
    falling,
    finish_plane,
    least_fall,
    level,
    patch_of,
    sum_of,
    surface_of,
    through_points,
    toward_side_deg,
    work_on,
)
from bedplan.ground.earthwork import positive_part
from bedplan.model.ground import Fall, Grade
from bedplan.site.enclosure import build_enclosure

YARD = box(0, 0, 8, 6)
SLOPE = [(0, 0, 0.0), (8, 0, 0.8), (8, 6, 0.8), (0, 6, 0.0)]
HILL = [*((x, y, 0.0) for x in (0, 8) for y in (0, 6)), (4, 3, 1.0)]


def test_a_wedge_is_cut_and_filled_by_halves():
    work = earthwork(surface_of(SLOPE, YARD), level(0.2), YARD)
    # the ground rises 0.1 to the metre along x, so level 0.2 meets it at x = 2
    assert work.fill_m3 == pytest.approx(6 * 2 * 0.2 / 2)
    assert work.cut_m3 == pytest.approx(6 * 6 * 0.6 / 2)
    assert (work.fill_area_m2, work.cut_area_m2) == pytest.approx((12, 36))
    assert (work.greatest_cut_m, work.greatest_fill_m) == pytest.approx((0.6, 0.2))
    assert work.greatest_cut_at[0] == pytest.approx(8)
    assert work.greatest_fill_at[0] == pytest.approx(0)
    assert work.surplus_m3 == pytest.approx(48 * 0.2)


def test_a_pyramid_cut_at_half_its_height():
    # four spots at the corners and one at the middle: a pyramid of height 1 on 48 m²
    ground = surface_of(HILL, YARD)
    whole = earthwork(ground, level(0.0), YARD)
    assert whole.cut_m3 == pytest.approx(48 / 3)
    assert (whole.fill_m3, whole.fill_area_m2) == (0, 0)
    top = earthwork(ground, level(0.5), YARD)
    assert top.cut_m3 == pytest.approx(48 / 3 / 8)
    assert top.cut_area_m2 == pytest.approx(12)
    assert (top.greatest_cut_m, top.greatest_cut_at) == (pytest.approx(0.5), (4, 3))


def test_ground_flush_with_the_plane_is_neither():
    work = earthwork(surface_of([], YARD), level(0.0), YARD)
    assert (work.cut_m3, work.fill_m3, work.cut_area_m2, work.fill_area_m2) == (0, 0, 0, 0)
    assert work.greatest_cut_at is None
    assert work.greatest_fill_at is None


def test_a_crooked_outline_with_a_hole_and_two_parts():
    l_shape = Polygon(
        [(0, 0), (5, 0), (5, 2), (2, 2), (2, 5), (0, 5)], [box(0.5, 0.5, 1, 4).exterior.coords]
    )
    both = shapely.union_all([l_shape, box(6, 3, 7, 4)])
    work = earthwork(surface_of(SLOPE, YARD), level(0.0), both)
    # the ground is a plane through height 0: volume is area by height at the centre of area
    assert work.cut_m3 == pytest.approx(both.area * 0.1 * both.centroid.x)
    assert work.cut_area_m2 == pytest.approx(both.area)


def test_a_sliver_of_an_outline_leads_nowhere_outside_it():
    # an overlay may leave two corners a few millionths of a nanometre apart
    tiny = -2.4569513867811004e-15
    corners = [(-1.525566587624021, 0.0079879209716662), (0, 0), (-1.286468494266074e-17, tiny)]
    outline = Polygon([*corners, (-1.5256084126626441, tiny)])
    ground = surface_of([(x, y, -0.1 * x) for x in (-4, 4) for y in (-4, 4)], box(-4, -4, 4, 4))
    work = earthwork(ground, level(0.0), outline)
    assert outline.distance(shapely.Point(work.greatest_cut_at)) < 1e-9
    assert work.greatest_cut_m == pytest.approx(0.15256084126626441)


def test_several_works_together():
    ground = surface_of(HILL, YARD)
    works = [earthwork(ground, level(0.3), box(x, 0, x + 4, 6)) for x in (0, 4)]
    whole, total = earthwork(ground, level(0.3), YARD), sum_of(works)
    assert (total.cut_m3, total.fill_m3) == pytest.approx((whole.cut_m3, whole.fill_m3))
    assert total.greatest_cut_m == pytest.approx(0.7)
    assert total.greatest_cut_at == pytest.approx((4, 3))
    assert sum_of([]).cut_m3 == 0


@pytest.mark.parametrize(
    ("values", "volume", "area"),
    [
        ((1, 1, 1), 1, 1),
        ((3, 0, 0), 1, 1),
        ((-1, -2, 0), 0, 0),
        ((0, 0, 0), 0, 0),
        ((1, -1, 0), 1 / 6, 1 / 2),  # half the triangle, corner height 1
        ((1, -1, -1), 1 / 12, 1 / 4),
        ((1, 1, -1), 5 / 12, 3 / 4),  # mean 1/3 and the pyramid of -1/12 left out
    ],
)
def test_the_positive_part_over_one_triangle(values, volume, area):
    for turn in range(3):
        got = positive_part(np.array([1.0]), np.roll(np.array([values], dtype=float), turn, 1))
        assert got == pytest.approx((volume, area))


def test_outlines_that_cannot_be_worked():
    ground = surface_of(SLOPE, YARD)
    with pytest.raises(GeometryError, match="beyond the ground"):
        patch_of(ground, box(0, 0, 500, 1))
    with pytest.raises(GeometryError, match="Self-intersection"):
        patch_of(ground, Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]))
    with pytest.raises(GeometryError, match="valid area"):
        patch_of(ground, shapely.LineString([(0, 0), (1, 1)]))
    empty = patch_of(ground, Polygon())
    assert (empty.area_m2, empty.mean_m) == (0, 0)
    assert work_on(empty, level(1.0)).fill_m3 == 0
    for grading in (balanced, clear_of):
        with pytest.raises(GeometryError, match="no ground"):
            grading(empty, level(0))
    with pytest.raises(GeometryError, match="no ground"):
        best_fit(empty)


def test_a_plane_tells_its_fall():
    plane = falling((1, 1), 2.0, toward_deg=0.0, slope=0.02)
    assert plane.height_at((6, 4)) == pytest.approx(1.9)
    assert plane.slope == pytest.approx(0.02)
    assert plane.fall_deg == pytest.approx(0.0)
    assert falling((0, 0), 0, 250.0, 0.1).fall_deg == pytest.approx(250.0)
    assert level(3.0).fall_deg is None
    assert plane.raised(0.5).height_at((1, 1)) == 2.5


def test_a_plane_through_points():
    plane = through_points([(0, 0, 1), (2, 0, 1.5), (0, 3, 1.3)])
    assert plane.rise == pytest.approx((0.25, 0.1))
    assert plane.height_at((4, 4)) == pytest.approx(1 + 1 + 0.4)
    # of four points not in one plane, the misses of least squares alternate round a square
    near = through_points([(0, 0, 0.1), (1, 0, -0.1), (1, 1, 0.1), (0, 1, -0.1)])
    assert (near.slope, near.height_m) == pytest.approx((0, 0))
    for points in ([], [(0, 0, 1), (1, 0, 1)], [(0, 0, 1), (1, 1, 1), (2, 2, 5)]):
        with pytest.raises(GeometryError, match="no plane"):
            through_points(points)


@pytest.mark.parametrize("backwards", [False, True])
def test_towards_a_side_is_square_out_of_the_fence(backwards):
    ring = [(0, 0), (8, 0), (8, 6), (0, 6)]
    enclosure = build_enclosure(fence_spec(ring[::-1] if backwards else ring))
    south = next(side for side in enclosure.sides if side.start[1] == side.end[1] == 0)
    assert toward_side_deg(south) == pytest.approx(270)
    assert toward_side_deg(south.reversed()) == pytest.approx(270)
    plane = falling((0, 0), 0, 270 + 60, 0.02)
    assert fall_to_side(plane, south) == pytest.approx(0.01)
    north = next(side for side in enclosure.sides if side.start[1] == side.end[1] == 6)
    assert fall_to_side(plane, north) == pytest.approx(-0.01)


def test_a_balanced_finish_cuts_what_it_fills():
    patch = patch_of(surface_of(HILL, YARD), YARD)
    plane = balanced(patch, falling((0, 0), 7.0, 30.0, 0.02))
    work = work_on(patch, plane)
    assert work.cut_m3 == pytest.approx(work.fill_m3)
    assert plane.slope == pytest.approx(0.02)
    rolled = work_on(patch, balanced(patch, plane, bank_per_fill=1 / 0.9))
    assert rolled.cut_m3 * 0.9 == pytest.approx(rolled.fill_m3, rel=1e-6)
    assert rolled.cut_m3 > work.cut_m3


def test_a_finish_above_all_ground():
    patch = patch_of(surface_of(HILL, YARD), YARD)
    work = work_on(patch, clear_of(patch, falling((0, 0), 0.0, 90.0, 0.02)))
    assert work.cut_m3 == pytest.approx(0, abs=1e-12)
    assert earthwork(surface_of(HILL, YARD), clear_of(patch, level(9), 0.1), YARD).fill_m3 > 0
    assert clear_of(patch, level(9), 0.1).height_m == pytest.approx(1.1)


def test_best_fit_of_a_plane_is_the_plane():
    fit = best_fit(patch_of(surface_of(SLOPE, YARD), box(1, 1, 3, 5)))
    assert fit.rise == pytest.approx((0.1, 0.0))
    assert fit.height_at((2, 2)) == pytest.approx(0.2)


def test_the_fall_that_digs_least_follows_the_ground():
    patch = patch_of(surface_of(SLOPE, YARD), YARD)
    plane = least_fall(patch, 0.02)
    assert plane.fall_deg == pytest.approx(180.0, abs=0.01)
    every = [
        work_on(patch, balanced(patch, falling((0, 0), 0, turn, 0.02))).cut_m3
        for turn in range(360)
    ]
    assert work_on(patch, plane).cut_m3 <= min(every) + 1e-9
    assert least_fall(patch, 0.0).height_m == pytest.approx(0.4)


def test_a_grade_is_read():
    patch = patch_of(surface_of(SLOPE, YARD), YARD)
    assert finish_plane(patch, Grade()).height_m == pytest.approx(0.4)
    assert finish_plane(patch, Grade("above")).height_m == pytest.approx(0.8)
    given = finish_plane(patch, Grade(1.5, fall=Fall("AB", 0.02)), at=(1, 2), toward_deg=270.0)
    assert given.height_at((1, 2)) == 1.5
    assert given.fall_toward(270.0) == pytest.approx(0.02)
    assert finish_plane(patch, Grade(1.5)).slope == 0
    middle = finish_plane(patch, Grade(1.0, fall=Fall(0.0, 0.1)), toward_deg=0.0)
    assert middle.height_at((4, 3)) == pytest.approx(1.0)


def test_a_contour_goes_round_a_hill():
    patch = patch_of(surface_of(HILL, YARD), YARD)
    ring = contour(patch, level(0.5))
    assert ring.geom_type == "LineString"
    assert ring.is_closed
    assert Polygon(ring).equals_exact(box(2, 1.5, 6, 4.5), 1e-6) or Polygon(ring).area == (
        pytest.approx(12)
    )
    assert contour(patch, level(1.5)).is_empty
    straight = contour(patch_of(surface_of(SLOPE, YARD), YARD), falling((0, 0), 0.25, 90, 0.0))
    assert straight.length == pytest.approx(6)


@pytest.mark.parametrize("turn", [13.7, 250.1])
def test_the_fall_that_digs_least_is_found_between_the_directions_tried(turn):
    # on a round patch of even ground no direction but the ground's own digs less
    slope = falling((0, 0), 0, turn, 0.1)
    ground = surface_of([(x, y, slope.height_at((x, y))) for x in (0, 8) for y in (0, 6)], YARD)
    patch = patch_of(ground, shapely.Point(4, 3).buffer(2.5, quad_segs=90))
    assert least_fall(patch, 0.02).fall_deg == pytest.approx(turn, abs=0.1)


def test_a_contour_is_one_line_whatever_the_rounding():
    rng = np.random.default_rng(3)
    spots = [
        (*place, math.hypot(place[0] - 4, place[1] - 3))
        for place in rng.uniform((0, 0), (8, 6), (200, 2)).tolist()
    ]
    ring = contour(patch_of(surface_of(spots, YARD), YARD), level(2.0))
    assert ring.geom_type == "LineString"
    assert Polygon(ring).area == pytest.approx(math.pi * 4, rel=0.02)


def test_planes_are_plain_records():
    plane = Plane((0.0, 0.0), 1.0, (0.1, 0.0))
    assert replace(plane, height_m=2.0) == plane.raised(1.0)
    assert plane.slope_deg == pytest.approx(math.degrees(math.atan(0.1)))
