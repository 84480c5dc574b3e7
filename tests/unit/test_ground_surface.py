"""Triangles between spot heights, the ground beyond them, and spots that cannot be right."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from scipy.spatial import Delaunay
from shapely.geometry import Polygon, box

from bedplan.errors import LayoutError
from bedplan.ground import doubtful_spots, spot_faults, surface_of
from bedplan.ground.triangles import delaunay, flat_quads

YARD = box(0, 0, 8, 6)


def turned(points, angle, x=0.0, y=0.0):
    c, s = math.cos(angle), math.sin(angle)
    return [(c * a - s * b + x, s * a + c * b + y, *more) for a, b, *more in points]


@pytest.mark.parametrize("seed", range(5))
def test_triangles_are_those_of_an_independent_library(seed):
    places = np.random.default_rng(seed).random((60, 2)) * 20
    triangles, ring = delaunay([tuple(place) for place in places.tolist()])
    independent = Delaunay(places)
    assert {tuple(sorted(triangle)) for triangle in triangles} == {
        tuple(sorted(simplex)) for simplex in independent.simplices.tolist()
    }
    assert set(ring) == set(independent.convex_hull.ravel().tolist())


@pytest.mark.parametrize("angle", [0.0, 0.3, 1.234, math.pi / 2])
@pytest.mark.parametrize("away", [0.0, 5e5])
def test_a_grid_is_tiled_whichever_way_it_lies_and_however_far_its_axes(angle, away):
    grid = turned([(1.524 * i, 1.524 * j) for i in range(9) for j in range(7)], angle, away, away)
    triangles, ring = delaunay(grid)
    corners = np.array(grid)[np.array(triangles)]
    areas = shapely.area(shapely.polygons(corners))
    assert areas.sum() == pytest.approx(48 * 1.524**2, rel=1e-9)
    if not away:  # so far out, four spots are no longer on one circle to the last digit
        assert len(triangles) == 96
        assert len(flat_quads(grid, triangles)) == 48
        assert len(ring) == 28


def test_of_five_spots_on_a_circle_no_triangle_is_split_twice():
    circle = [(math.cos(turn), math.sin(turn), turn) for turn in (0.1, 1.2, 2.5, 3.9, 5.2)]
    places = [(x, y) for x, y, _ in circle]
    assert len(flat_quads(places, delaunay(places)[0])) == 1
    ground = surface_of(circle, box(-1, -1, 1, 1))
    areas = shapely.area(shapely.polygons(ground.triangles[: ground.measured]))
    assert areas.sum() == pytest.approx(Polygon(places).area)


def test_points_of_one_line_have_a_ring_out_and_back():
    assert delaunay([]) == ([], [])
    assert delaunay([(1, 1)]) == ([], [0])
    assert delaunay(turned([(i, 0) for i in range(4)], 0.7)) == ([], [0, 1, 2, 3, 2, 1])


def test_no_spot_is_level_ground_at_nought():
    ground = surface_of([], YARD)
    assert ground.heights_at([(0, 0), (8, 6)]).tolist() == [0, 0]
    assert ground.measured == 0
    assert ground.extrapolated.area == pytest.approx(48)


def test_one_spot_is_level_ground_at_its_height():
    ground = surface_of([(3, 2, 1.25)], YARD)
    assert ground.heights_at([(0, 0), (8, 6), (3, 2), (3, 5)]) == pytest.approx([1.25] * 4)


@pytest.mark.parametrize("angle", [0.0, 0.4, 2.0])
def test_two_spots_slope_between_and_are_level_across(angle):
    spots = turned([(1, 1, 0.0), (5, 1, 2.0)], angle)
    asked = turned([(3, 1), (3, 5), (2, -1), (0, 2), (7, 0)], angle)
    ground = surface_of(spots, Polygon(turned([(0, -2), (8, -2), (8, 6), (0, 6)], angle)))
    assert ground.heights_at(asked) == pytest.approx([1.0, 1.0, 0.5, 0.0, 2.0])
    assert ground.extrapolated.area == pytest.approx(64)


def test_spots_in_line_are_a_profile_carried_across():
    ground = surface_of([(4, 3, 1.0), (0, 3, 0.0), (6, 3, 0.0)], YARD)
    assert ground.heights_at([(2, 0), (2, 6), (5, 1), (8, 0)]) == pytest.approx([0.5, 0.5, 0.5, 0])


def test_a_grid_cell_is_the_mean_of_both_ways_to_split_it():
    # a saddle: one diagonal at 1, the other at 0; the middle stands between them
    ground = surface_of([(0, 0, 1), (8, 0, 0), (8, 6, 1), (0, 6, 0)], YARD)
    assert ground.measured == 4
    assert ground.heights_at([(4, 3), (4, 0), (2, 1.5)]) == pytest.approx([0.5, 0.5, 0.75])


def test_beyond_the_spots_the_ground_keeps_the_height_of_their_edge():
    spots = [(2, 2, 1.0), (6, 2, 2.0), (4, 5, 3.0)]
    ground = surface_of(spots, YARD)
    hull = Polygon([spot[:2] for spot in spots])
    for place in [(0, 0), (4, 0), (8, 0), (8, 6), (0, 6), (1, 4), (4, 6), (7.5, 3.7)]:
        nearest = shapely.get_coordinates(shapely.shortest_line(hull, shapely.Point(place)))[0]
        assert ground.heights_at([place]) == pytest.approx(ground.heights_at([nearest]), abs=1e-9)
    assert ground.extrapolated.area == pytest.approx(48 - 6)
    assert ground.extrapolated.covers(shapely.Point(0, 0))
    assert not ground.extrapolated.covers(shapely.Point(4, 3))


def test_a_triangle_across_a_notch_of_the_fence_is_told():
    # the notch stands for a house: spots left and right of it say nothing of the ground there
    u_shape = Polygon([(0, 0), (12, 0), (12, 10), (9, 10), (9, 3), (3, 3), (3, 10), (0, 10)])
    corners = [(0, 0), (12, 0), (12, 10), (0, 10)]
    ground = surface_of([(x, y, 0.1 * x) for x, y in corners], u_shape)
    assert ground.extrapolated.area == pytest.approx(u_shape.area)
    more = [(3, 3), (9, 3), (9, 10), (3, 10), (6, 0)]
    better = surface_of([(x, y, 0.1 * x) for x, y in [*corners, *more]], u_shape)
    assert better.extrapolated.area < 0.02 * u_shape.area
    assert better.heights_at([(6, 1)]) == pytest.approx([0.6])


def test_spots_alike_count_once():
    twice = surface_of([(0, 0, 1), (8, 0, 2), (0, 0, 1), (4, 6, 0), (8, 0, 2)], YARD)
    assert twice.measured == 1


def test_every_fault_comes_at_once_with_its_number():
    spots = [(1, 1, 0.5), (1, 1, 0.8), (90, 3, 0), (2, math.nan, 0)]
    with pytest.raises(LayoutError) as raised:
        surface_of(spots, YARD)
    assert sorted(fault.key for fault in raised.value.faults) == [
        "ground.spots[2]",
        "ground.spots[3]",
        "ground.spots[4]",
    ]
    told = " ".join(fault.got for fault in raised.value.faults)
    assert "where spot 1 does" in told
    assert "outside the fence" in told
    assert "not all numbers" in told


def test_a_spot_just_outside_the_gate_is_welcome():
    spots = [(-0.99, 3, 0.0), (8.7, 6.7, 0.2), (8, 0, 0.1)]
    assert not spot_faults(spots, YARD)
    assert surface_of(spots, YARD).extrapolated.area < YARD.area
    assert spot_faults([(-1.01, 3, 0.0)], YARD)


SLOPE = [(x, y, 0.08 * x - 0.03 * y) for x in range(0, 9, 2) for y in range(0, 7, 2)]


def test_an_honest_slope_raises_no_doubt():
    assert doubtful_spots(SLOPE) == ()
    bumpy = [(x, y, z + 0.05 * math.sin(7 * x + 3 * y)) for x, y, z in SLOPE]
    assert doubtful_spots(bumpy) == ()


def test_a_finger_off_the_plane_raises_no_doubt_even_on_a_perfect_slope():
    nearly = [(x, y, z + 0.1 * (x == y == 4)) for x, y, z in SLOPE]
    assert doubtful_spots(nearly) == ()
    (doubt,) = doubtful_spots([(x, y, z + 0.2 * (x == y == 4)) for x, y, z in SLOPE])
    assert SLOPE[doubt.number][:2] == (4, 4)
    assert doubt.expected_m == pytest.approx(SLOPE[doubt.number][2])


def test_a_terrace_raises_no_doubt():
    assert doubtful_spots([(x, y, 0.9 * (x > 4)) for x, y, _ in SLOPE]) == ()


@pytest.mark.parametrize("wrong", [0, 7, 12, 19])
def test_a_height_in_the_wrong_unit_is_doubted(wrong):
    spots = [(x, y, 0.5 + z) for x, y, z in SLOPE]
    x, y, z = spots[wrong]
    spots[wrong] = (x, y, z * 3.28)
    (doubt,) = doubtful_spots(spots)
    assert doubt.number == wrong
    assert doubt.expected_m == pytest.approx(z, abs=1e-9)
    assert "off the plane" in doubt.reason


def test_a_spike_is_doubted_even_among_few_spots():
    (doubt,) = doubtful_spots([(0, 0, 0), (4, 0, 0.1), (4, 4, 0.1), (0, 4, 0), (2, 2, 9.0)])
    assert doubt.number == 4
    assert doubt.expected_m == pytest.approx(0.05)
    assert "45" in doubt.reason
    assert doubtful_spots([(0, 0, 0)]) == ()
