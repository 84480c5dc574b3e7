"""Beds by every way of asking for one, their faults, and what happens at the fence."""

from __future__ import annotations

import math

import pytest
import shapely
from gardens import bed, fence, garden, pine, rectangle
from shapely.geometry import Polygon

from bedplan.model.layout import (
    AlongSides,
    Around,
    BedSpec,
    Circle,
    Outline,
    Plant,
    Rectangle,
    SidePoint,
)
from bedplan.site import find_faults, resolve
from bedplan.site.beds import facet_count

YARD = rectangle(8, 6)


def placed(shape, spec=YARD, plants=(), **more):
    layout = garden(spec, [BedSpec("b", shape, **more)], plants=plants)
    return resolve(layout).beds[0].outline


def faults_of(*shapes, spec=YARD, plants=()):
    beds = [BedSpec(f"b{i}", shape) for i, shape in enumerate(shapes)]
    return find_faults(garden(spec, beds, plants=plants))


def same(outline, *corners):
    return outline.symmetric_difference(Polygon(corners)).area < 1e-9


# ---- along sides ---------------------------------------------------------------------------


def test_a_border_follows_its_side_over_its_whole_length():
    assert same(placed(AlongSides(("BC",), 0.8)), (8, 0), (8, 6), (7.2, 6), (7.2, 0))


def test_start_and_end_are_counted_the_way_the_side_is_named():
    assert same(placed(AlongSides(("BC",), 1, 1, 2)), (8, 1), (8, 4), (7, 4), (7, 1))
    assert same(placed(AlongSides(("CB",), 1, 1, 2)), (8, 2), (8, 5), (7, 5), (7, 2))


def test_two_sides_are_mitred_at_their_corner():
    assert same(
        placed(AlongSides(("BC", "CD"), 1)), (8, 0), (8, 6), (0, 6), (0, 5), (7, 5), (7, 0)
    )


def test_three_sides():
    assert placed(AlongSides(("AB", "BC", "CD"), 1)).area == pytest.approx(8 + 8 + 4)


def test_a_border_round_a_reflex_corner():
    spec = fence([(0, 0), (8, 0), (8, 6), (4, 6), (4, 3), (0, 3)])
    outline = placed(AlongSides(("DE", "EF"), 1), spec)
    # the inward corner of the fence is an outward corner of the border
    assert same(outline, (4, 6), (4, 3), (0, 3), (0, 2), (5, 2), (5, 6))


def test_a_border_runs_on_to_a_slanting_neighbour():
    spec = fence([(0, 0), (8, 0), (9, 6), (0, 6)])
    outline = placed(AlongSides(("CD",), 1), spec)
    # its short end lies along BC: 1 m in, the side has gone 1/6 m inward
    assert same(outline, (9, 6), (0, 6), (0, 5), (9 - 1 / 6, 5))


@pytest.mark.parametrize("corner_deg", [134, 136, 150, 170, 179])
def test_a_border_takes_no_long_wedge_at_a_flat_corner(corner_deg):
    turn = math.radians(180 - corner_deg)
    spec = fence([(0, 0), (4, 0), (4 + 4 * math.cos(turn), 4 * math.sin(turn)), (0, 6)])
    outline = placed(AlongSides(("BC",), 0.75), spec)
    on_ab = outline.intersection(shapely.LineString([(0, 0), (4, 0)])).length
    assert on_ab <= 0.75 * 1.42
    assert (on_ab > 0.1) is (corner_deg < 135)


def test_a_border_all_round_leaves_the_middle():
    outline = placed(AlongSides(("AB", "BC", "CD", "DA"), 1))
    assert outline.area == pytest.approx(48 - 6 * 4)
    assert len(outline.interiors) == 1


@pytest.mark.parametrize(
    ("shape", "says"),
    [
        (AlongSides(("AB", "CD"), 1), "does not start where"),
        (AlongSides(("AX",), 1), "no side is called 'AX'"),
        (AlongSides(("AB",), 1, 5, 3), "leave nothing"),
        (AlongSides(("AB", "BC"), 1, 8.5, 0), "leave nothing"),
        (AlongSides(("AB", "BC", "CD", "DA"), 3.1), "fills the whole enclosure"),
        (AlongSides(("AB",), 7), "crosses the fence"),
        (AlongSides(("AB", "BC", "CD"), 3.5), "crosses or touches itself|crosses the fence"),
    ],
)
def test_borders_that_cannot_be(shape, says):
    (fault,) = faults_of(shape)
    assert any(word in fault.got or word in fault.wanted for word in says.split("|"))


# ---- rectangles, circles, polygons ---------------------------------------------------------


@pytest.mark.parametrize(
    ("square_to", "size"),
    [(0.0, (3, 1)), (90.0, (1, 3)), ("AB", (3, 1)), ("BC", (1, 3)), ("CB", (1, 3)), (180, (3, 1))],
)
def test_a_rectangles_length_runs_as_it_is_told(square_to, size):
    west, south, east, north = placed(Rectangle((4, 3), (3, 1), square_to)).bounds
    assert (east - west, north - south) == pytest.approx(size)
    assert ((west + east) / 2, (south + north) / 2) == pytest.approx((4, 3))


def test_a_rectangle_tied_to_a_slanting_side():
    spec = fence([(0, 0), (4, 3), (1, 7), (-3, 4)])
    outline = placed(Rectangle(SidePoint("AB", 2.5, 1.0), (2, 1), "AB"), spec)
    # centre 2.5 along a 3-4-5 side and 1 in; half sizes 1 and 0.5 along the same axes
    assert outline.centroid.coords[0] == pytest.approx((2.0 - 0.6, 1.5 + 0.8))
    assert outline.distance(shapely.LineString([(0, 0), (4, 3)])) == pytest.approx(0.5)


def test_circles_stay_round_unless_the_board_is_stiff():
    round_bed = BedSpec("r", Circle((4, 3), 1))
    stiff = BedSpec("s", Circle((4, 3), 1), "pine")
    free = resolve(garden(YARD, [round_bed])).beds[0]
    boarded = resolve(garden(YARD, [stiff])).beds[0]
    bending = resolve(garden(YARD, [stiff], board=pine(bends=True))).beds[0]
    assert free.outline.area == pytest.approx(math.pi)
    assert (free.curved_m, bending.curved_m, boarded.curved_m) == (1, 1, 0)
    assert bending.outline.area == pytest.approx(math.pi)
    assert len(boarded.outline.exterior.coords) - 1 == facet_count(1)


@pytest.mark.parametrize(
    ("radius", "sagitta"), [(0.3, 0.0127), (1, 0.0127), (2, 0.001), (0.01, 0.0127)]
)
def test_facets_keep_within_their_sagitta(radius, sagitta):
    count = facet_count(radius, sagitta)
    off = radius * (1 - math.cos(math.pi / count))
    assert off <= sagitta + 1e-9
    if count > 6:
        assert radius * (1 - math.cos(math.pi / (count - 1))) > sagitta


def test_polygon_beds_mix_tied_and_free_corners():
    outline = placed(Outline((SidePoint("AB", 1), (3, 2), SidePoint("DA", 5, 1))))
    assert same(outline, (1, 0), (3, 2), (1, 1))


def test_a_crossed_polygon_says_so():
    (fault,) = faults_of(Outline(((1, 1), (3, 3), (3, 1), (1, 3))))
    assert fault.path == ("bed", 0, "polygon")
    assert "crosses or touches itself" in fault.got


# ---- around plants -------------------------------------------------------------------------

PLANTS = (Plant("a", (3, 3), stem_m=0.2), Plant("b", (5, 3.5)))


def test_around_one_plant_is_a_square():
    outline = placed(Around(("a",), 0.5, "AB"), plants=PLANTS)
    assert outline.bounds == pytest.approx((2.4, 2.4, 3.6, 3.6))


def test_around_two_plants_keeps_the_clearance_on_every_side():
    outline = placed(Around(("a", "b"), 0.5, "AB"), plants=PLANTS)
    assert outline.bounds == pytest.approx((2.4, 2.4, 5.5, 4.0))


@pytest.mark.parametrize("square_to", [None, 0.0, 33.0, "BC"])
def test_around_holds_every_ring(square_to):
    outline = placed(Around(("a", "b"), 0.5, square_to), plants=PLANTS)
    for plant, reach in zip(PLANTS, (0.6, 0.5), strict=True):
        assert outline.exterior.distance(shapely.Point(plant.at)) >= reach - 5e-4
    assert outline.minimum_rotated_rectangle.area == pytest.approx(outline.area)


def test_the_least_rectangle_round_two_plants_lies_along_them():
    free = placed(Around(("a", "b"), 0.5, None), plants=PLANTS)
    turned = placed(Around(("a", "b"), 0.5, math.degrees(math.atan2(0.5, 2))), plants=PLANTS)
    square = placed(Around(("a", "b"), 0.5, "AB"), plants=PLANTS)
    assert free.area <= turned.area * 1.001
    assert free.area < square.area


def test_around_a_plant_there_is_not():
    (fault,) = faults_of(Around(("elm",), 0.5), plants=PLANTS)
    assert "no plant is called 'elm'" in fault.got


# ---- at the fence, and each other ----------------------------------------------------------


@pytest.mark.parametrize(("over", "faulty"), [(0.00005, False), (0.0005, True)])
def test_a_bed_may_pass_the_fence_by_less_than_a_tape_shows(over, faulty):
    shape = Outline(((6, 2), (8 + over, 2), (8 + over, 4), (6, 4)))
    assert bool(faults_of(shape)) is faulty
    if not faulty:
        outline = placed(shape)
        assert outline.bounds[2] == pytest.approx(8, abs=1e-9)


def test_a_bed_wholly_outside():
    (fault,) = faults_of(Rectangle((20, 20), (1, 1)))
    assert "lies outside the fence" in fault.got


def test_how_far_a_bed_crosses_is_told():
    (fault,) = faults_of(Rectangle((8, 3), (1, 1)))
    assert "1' 7-11/16\" (500 mm)" in fault.got


@pytest.mark.parametrize(
    ("gap", "faulty"), [(0.01, False), (0, False), (-0.00005, False), (-0.01, True)]
)
def test_beds_may_touch_and_not_overlap(gap, faulty):
    first, second = Rectangle((2, 3), (2, 2)), Rectangle((4 + gap, 3), (2, 2))
    faults = faults_of(first, second)
    assert bool(faults) is faulty
    if faulty:
        assert faults[0].path == ("bed", 1)
        assert "'b0' and 'b1' overlap" in faults[0].got


def test_ground_two_beds_overlap_by_a_hair_is_counted_once():
    # 0.05 mm over 2 m: a square centimetre that a tolerance lets pass
    shapes = [Rectangle((2, 3), (2, 2)), Rectangle((3.99995, 3), (2, 2))]
    site = resolve(garden(YARD, [BedSpec(f"b{i}", s, "pine") for i, s in enumerate(shapes)]))
    outlines = [each.outline for each in site.beds]
    assert outlines[0].area == pytest.approx(4, abs=1e-9)
    assert outlines[1].area == pytest.approx(4 - 1e-4, abs=1e-9)
    grounds = [*outlines, *(path.area for path in site.paths), site.spare]
    assert sum(ground.area for ground in grounds) == pytest.approx(48, abs=1e-9)


def test_all_faults_come_at_once():
    faults = faults_of(
        Rectangle((20, 20), (1, 1)),
        Rectangle((4, 3), (2, 2)),
        Rectangle((5, 3), (2, 2)),
        AlongSides(("XY",), 1),
    )
    assert {fault.path[1] for fault in faults} == {0, 2, 3}


def test_a_garden_without_beds():
    site = resolve(garden(YARD, []))
    assert site.beds == ()
    assert site.paths[0].area.area == pytest.approx(48)


def test_the_one_bed_being_faulty_is_a_fault_and_no_crash():
    assert len(find_faults(garden(YARD, [bed("x", [(20, 20), (21, 20), (21, 21)])]))) == 1
