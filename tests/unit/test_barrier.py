"""Strips, pieces, pins and openings of a weed barrier, by hand calculation."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.takeoff.barrier import lay_strips
from bedplan.takeoff.barrier_offsets import edge_directions
from bedplan.takeoff.barrier_pins import lap_lines, openings, pin_count, pins

RING = Polygon([(0, 0), (10, 0), (10, 6), (0, 6)], [[(2, 1), (2, 5), (8, 5), (8, 1)]])


@pytest.mark.parametrize(
    ("roll", "lap", "turn_up", "message"),
    [
        (0.0, 0.0, 0.0, "has no width"),
        (-1.0, 0.1, 0.0, "has no width"),
        (math.nan, 0.1, 0.0, "has no width"),
        (1.0, -0.1, 0.0, "is not a width"),
        (1.0, 1.0, 0.0, "leaves nothing"),
        (1.0, 0.1, -0.1, "is not a height"),
    ],
)
def test_widths_that_cannot_be_laid_are_refused(roll, lap, turn_up, message):
    with pytest.raises(GeometryError, match=message):
        lay_strips(box(0, 0, 4, 3), roll_width_m=roll, lap_m=lap, turn_up_m=turn_up)


def test_a_roll_shorter_than_its_end_lap_and_no_direction_are_refused():
    with pytest.raises(GeometryError, match="used up by a lap"):
        lay_strips(box(0, 0, 4, 3), roll_width_m=1.0, lap_m=0.2, longest_m=0.2)
    with pytest.raises(GeometryError, match="no direction"):
        lay_strips(box(0, 0, 4, 3), roll_width_m=1.0, lap_m=0.2, directions_deg=[])


def test_no_ground_needs_no_fabric():
    laying = lay_strips(Polygon(), roll_width_m=1.0, lap_m=0.1, turn_up_m=0.1)
    assert (laying.strips, laying.total_length_m, laying.net_area_m2) == ((), 0.0, 0.0)
    assert pin_count(laying, 1.0) == 0
    assert openings(laying, [(0, 0)]) == ()


@pytest.mark.parametrize(
    ("width", "strips"),
    [
        (0.5, 1),
        (1.0, 1),
        (1.001, 2),
        (1.8, 2),
        (1.81, 3),
        (2.6, 3),
        (9.0, 11),
        (9.01, 12),
    ],
)
def test_strips_over_a_rectangle_are_width_less_lap_over_pitch(width, strips):
    # ceil((W - 0.2) / (1 - 0.2)), W = 1.8 and 2.6 and 9.0 being exact fits
    laying = lay_strips(box(0, 0, 20, width), roll_width_m=1.0, lap_m=0.2, directions_deg=[0])
    assert len(laying.strips) == strips
    assert laying.total_length_m == pytest.approx(20.0 * strips, abs=1e-9)
    assert laying.fabric_area_m2 == pytest.approx(20.0 * strips, abs=1e-9)


def test_turn_up_widens_and_lengthens_every_strip():
    flat = lay_strips(box(0, 0, 20, 2.6), roll_width_m=1.0, lap_m=0.2, directions_deg=[0])
    turned_up = lay_strips(
        box(0, 0, 20, 2.6), roll_width_m=1.0, lap_m=0.2, turn_up_m=0.1, directions_deg=[0]
    )
    assert (len(flat.strips), len(turned_up.strips)) == (3, 4)
    assert turned_up.total_length_m == pytest.approx(4 * 20.2)
    assert turned_up.net_area_m2 == pytest.approx(52.0)


def test_strips_run_the_short_way_where_that_buys_less():
    # along 20.2 m: ceil(2.6 / 0.8) = 4 strips, 80.8 m; across: 25 strips of 2.8 m, 70 m
    laying = lay_strips(box(0, 0, 20.2, 2.8), roll_width_m=1.0, lap_m=0.2)
    assert laying.direction_deg == pytest.approx(90.0)
    assert laying.total_length_m == pytest.approx(70.0)


@pytest.mark.parametrize("way", [20.0, 200.0, -160.0, -1e-17, 180.0, 540.0])
def test_a_direction_names_a_line_not_a_sense(way):
    # not symmetric about its middle: laid the wrong way round, the strips would miss it
    wedge = Polygon([(0, 0), (9, 0), (2, 5)])
    laying = lay_strips(wedge, roll_width_m=1.0, lap_m=0.1, directions_deg=[way])
    assert laying.direction_deg == pytest.approx(way % 180.0 % 180.0, abs=1e-9)
    assert 0.0 <= laying.direction_deg < 180.0
    fabric = shapely.union_all([strip.outline for strip in laying.strips], grid_size=1e-9)
    assert shapely.difference(wedge, fabric, grid_size=1e-9).area < 1e-6


def test_an_edge_that_runs_a_hair_below_the_axis_is_covered():
    hexagon = Polygon(
        [(1, 0), (0.5, 0.866), (-0.5, 0.866), (-1, 1.2e-16), (-2, -3.46), (2, -3.46 - 4e-16)]
    )
    assert max(edge_directions(hexagon)) < 180.0
    laying = lay_strips(hexagon, roll_width_m=1.0, lap_m=0.0)
    fabric = shapely.union_all([strip.outline for strip in laying.strips], grid_size=1e-9)
    assert shapely.difference(hexagon, fabric, grid_size=1e-9).area < 1e-6


def test_strips_are_numbered_across_and_carry_their_place():
    laying = lay_strips(box(0, 0, 6, 1.8), roll_width_m=1.0, lap_m=0.2, directions_deg=[0])
    assert [strip.number for strip in laying.strips] == [1, 2]
    assert laying.strips[0].outline.normalize().equals_exact(box(0, 0, 6, 1).normalize(), 1e-6)
    assert laying.strips[1].start == pytest.approx((0.0, 1.3), abs=1e-9)
    assert laying.strips[1].end == pytest.approx((6.0, 1.3))


def test_strips_are_cut_where_a_bed_stands_across_the_whole_strip():
    # 1 m walks round a bed 6 × 4 m, bare roll of 1 m: along x two strips of 10 m and four rows
    # of two pieces of 2 m; along y two walks of two strips of 6 m and six rows of two of 1 m
    along_x = lay_strips(RING, roll_width_m=1.0, lap_m=0.0, directions_deg=[0])
    along_y = lay_strips(RING, roll_width_m=1.0, lap_m=0.0, directions_deg=[90])
    assert sorted(s.length_m for s in along_x.strips) == pytest.approx([2.0] * 8 + [10.0] * 2)
    assert sorted(s.length_m for s in along_y.strips) == pytest.approx([1.0] * 12 + [6.0] * 4)
    assert lay_strips(RING, roll_width_m=1.0, lap_m=0.0).direction_deg == 0.0  # fewer pieces


def test_separate_walks_in_one_band_are_cut_apart():
    walks = MultiPolygon([box(0, 0, 3, 0.9), box(7, 0, 9, 0.9)])
    laying = lay_strips(walks, roll_width_m=1.0, lap_m=0.1, directions_deg=[0])
    assert [s.length_m for s in laying.strips] == pytest.approx([3.0, 2.0])


def test_walks_side_by_side_share_a_strip_without_counting_twice():
    walks = MultiPolygon([box(0, 0, 3, 0.4), box(2, 0.5, 5, 0.9)])
    laying = lay_strips(walks, roll_width_m=1.0, lap_m=0.1, directions_deg=[0])
    assert [s.length_m for s in laying.strips] == pytest.approx([5.0])


@pytest.mark.parametrize("turn", [0.0, 180.0])
def test_a_walk_that_fits_in_a_lap_goes_to_the_strip_where_it_costs_least(turn):
    # The yard, 3 pitches of 0.7 and a lap of 0.3 wide, holds the strips at 0, 0.7 and 1.4: 18 m.
    # The sill fits in the lap from 0.7 to 1.0; the strip above runs past it for the step anyway,
    # 2 m, while the strip below would need 1 m more. Turned about, above and below change places.
    yard, sill, step = box(0, 0, 6, 2.4), box(10, 0.75, 11, 0.95), box(10, 1.02, 12, 1.38)
    walks = affinity.rotate(MultiPolygon([yard, sill, step]), turn)
    laying = lay_strips(walks, roll_width_m=1.0, lap_m=0.3, directions_deg=[0])
    assert laying.total_length_m == pytest.approx(20.0)
    assert laying.complete


def test_two_walks_that_fit_in_a_lap_leave_the_least_unproven():
    walks = MultiPolygon([box(0, 0, 6, 2.4), box(10, 0.75, 11, 0.95), box(12, 0.75, 13, 0.95)])
    assert not lay_strips(walks, roll_width_m=1.0, lap_m=0.3, directions_deg=[0]).complete


def test_long_strips_are_pieced_from_whole_rolls_and_a_rest():
    laying = lay_strips(
        box(0, 0, 25, 0.8), roll_width_m=1.0, lap_m=0.2, longest_m=10.0, directions_deg=[0]
    )
    # 10 + 10 + rest, two end laps of 0.2: 25 + 0.4 in all
    assert laying.strips[0].pieces_m == pytest.approx((10.0, 10.0, 5.4))
    assert laying.total_length_m == pytest.approx(25.4)
    assert laying.pieces_m == laying.strips[0].pieces_m


@pytest.mark.parametrize(("length", "count"), [(10.0, 1), (10.001, 2), (19.8, 2), (19.801, 3)])
def test_end_laps_only_where_a_roll_is_too_short(length, count):
    laying = lay_strips(
        box(0, 0, length, 0.8), roll_width_m=1.0, lap_m=0.2, longest_m=10.0, directions_deg=[0]
    )
    assert len(laying.strips[0].pieces_m) == count
    assert max(laying.pieces_m) <= 10.0 + 1e-9


def test_default_directions_are_the_edges_and_square_to_them():
    triangle = Polygon([(0, 0), (8, 0), (0, 3)])
    assert edge_directions(triangle) == pytest.approx(
        (180 - math.degrees(math.atan2(3, 8)), 90 - math.degrees(math.atan2(3, 8)), 0.0, 90.0)
    )
    assert len(edge_directions(Polygon([(math.cos(a), math.sin(a)) for a in range(6)]))) == 8


def test_pins_stand_round_the_ground_and_along_every_lap():
    laying = lay_strips(box(0, 0, 6, 1.8), roll_width_m=1.0, lap_m=0.2, directions_deg=[0])
    # outline 15.6 m at no more than 2 m: 8; lap of 6 m along y = 0.9: 4, ends included
    points = pins(laying, 2.0)
    assert len(points) == pin_count(laying, 2.0) == 12
    assert sorted(x for x, _ in points[-4:]) == pytest.approx([0, 2, 4, 6], abs=1e-9)
    assert [y for _, y in points[-4:]] == pytest.approx([0.9] * 4)
    assert pin_count(laying, 100.0) == 1 + 2
    with pytest.raises(GeometryError, match="cannot be set out"):
        pins(laying, 0.0)


def test_lap_lines_stop_at_beds_and_end_laps_are_pinned_across():
    laying = lay_strips(RING, roll_width_m=3.2, lap_m=0.4, directions_deg=[0])
    assert sorted(line.length for line in lap_lines(laying)) == pytest.approx([2.0, 2.0])
    pieced = lay_strips(
        box(0, 0, 12, 1), roll_width_m=1.0, lap_m=0.2, longest_m=10.0, directions_deg=[0]
    )
    (across,) = lap_lines(pieced)
    assert across.length == pytest.approx(1.0)
    assert across.centroid.x == pytest.approx(9.9)


def test_only_plants_in_the_ground_open_the_fabric():
    laying = lay_strips(RING, roll_width_m=1.0, lap_m=0.1)
    assert openings(laying, [(1, 1), (5, 3), (9.5, 0.5), (11, 0)]) == ((1, 1), (9.5, 0.5))
