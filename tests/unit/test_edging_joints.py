"""Corners, ends, splices and shared boards against lengths worked out by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from gardens import INCH, bed, edged, fence, garden, pine, rectangle, regular

from bedplan.edging import edge_beds
from bedplan.errors import LayoutError, StockError
from bedplan.model.layout import AlongSides, BedSpec, Circle, Outline
from bedplan.model.materials import StockItem
from bedplan.site import resolve

T = 0.02
RECTANGLE = [(0, 0), (3, 0), (3, 1), (0, 1)]
SQUARE = [(0, 0), (2, 0), (2, 2), (0, 2)]


def lengths(made):
    return sorted((piece.long_m for piece in made.pieces), reverse=True)


def joints(made):
    return sorted({end.joint for piece in made.pieces for end in piece.ends})


# ---- kinds of corner -----------------------------------------------------------------------


def test_butt_corners_run_the_long_boards_through():
    _, made = edged(RECTANGLE, pine(thickness_m=T))
    assert lengths(made) == pytest.approx([3, 3, 1 - 2 * T, 1 - 2 * T])
    assert joints(made) == ["stop", "through"]
    long = next(piece for piece in made.pieces if piece.long_m > 2)
    assert [end.joint for end in long.ends] == ["through", "through"]


@pytest.mark.parametrize(
    ("points", "through"), [(RECTANGLE, "pinwheel"), (SQUARE, "pinwheel"), (SQUARE, "long")]
)
def test_pinwheel_corners_run_each_board_through_once(points, through):
    _, made = edged(points, pine(thickness_m=T, through=through))
    sides = [math.dist(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    assert [piece.long_m for piece in made.pieces] == pytest.approx([s - T for s in sides])
    assert all({end.joint for end in piece.ends} == {"through", "stop"} for piece in made.pieces)


@pytest.mark.parametrize("angle", [0, 3.3, 17, 45, 61.7, 90, 123.4, 200])
def test_rounding_does_not_choose_the_through_board_of_a_square(angle):
    a = math.radians(angle)
    turned = [
        (x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)) for x, y in SQUARE
    ]
    _, made = edged(turned, pine(thickness_m=T))
    assert lengths(made) == pytest.approx([2 - T] * 4)


def test_mitred_corners_keep_the_long_point_on_the_outside():
    _, made = edged(RECTANGLE, pine(thickness_m=T, corner="mitre"))
    assert lengths(made) == pytest.approx([3, 3, 1, 1])
    assert sorted((piece.short_m for piece in made.pieces), reverse=True) == pytest.approx(
        [3 - 2 * T, 3 - 2 * T, 1 - 2 * T, 1 - 2 * T]
    )
    assert all(end.saw_deg == pytest.approx(45) for piece in made.pieces for end in piece.ends)


def test_the_long_point_of_an_inward_mitre_is_on_the_inside():
    # an L: one end of each is cut inward, the other outward, so a 45° lozenge comes off stock
    shape = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]
    _, made = edged(shape, pine(thickness_m=T, corner="mitre"))
    # from an outward corner to the inward one: faces 3 and 2, the inner one set off by T
    assert [made.pieces[i].long_m for i in (2, 3)] == pytest.approx([3 + T, 2 + T])
    assert [made.pieces[i].short_m for i in (2, 3)] == pytest.approx([3, 2])
    assert all(end.saw_deg == pytest.approx(45) for i in (2, 3) for end in made.pieces[i].ends)


def test_an_inward_butt_corner_runs_through_to_the_other_boards_inner_face():
    shape = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]
    _, made = edged(shape, pine(thickness_m=T))
    by_side = [piece.long_m for piece in made.pieces]
    # 0: 4 through both; 1: 1 stops both; 2: 3 runs through both, past the corner by T;
    # 3: 2 stops at the inward corner, runs through outside; 4: 1 stops twice; 5: 3 stops, runs
    assert by_side == pytest.approx([4, 1 - 2 * T, 3 + T, 2, 1 - 2 * T, 3 - T])


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8, 9, 12])
def test_saw_settings_of_a_regular_ring(count):
    _, made = edged(regular(count, 1.0, 11.0), pine(thickness_m=T, corner="mitre"))
    assert [end.saw_deg for piece in made.pieces for end in piece.ends] == pytest.approx(
        [180 / count] * (2 * count)
    )


@pytest.mark.parametrize(("count", "joint"), [(8, "through"), (9, "mitre")])
def test_corners_flatter_than_45_degrees_are_mitred_whatever_is_asked(count, joint):
    _, made = edged(regular(count, 1.0), pine(thickness_m=T))
    assert joint in joints(made)
    assert ("mitre" in joints(made)) is (joint == "mitre")


def test_butt_ends_at_a_slanting_corner():
    # a corner of 60°: the stopped board is cut along the other's face, 30° off square
    _, made = edged([(0, 0), (4, 0), (2, 2 * math.sqrt(3))], pine(thickness_m=T))
    assert all(end.saw_deg == pytest.approx(30) for piece in made.pieces for end in piece.ends)
    # both faces of a board lose or gain T / tan 60° at each end
    assert [piece.long_m for piece in made.pieces] == pytest.approx(
        [4 - T / math.sin(math.radians(60))] * 3
    )


def test_points_on_a_straight_side_make_no_corner():
    points = [(0, 0), (1, 0), (2, 0.00005), (3, 0), (3, 1), (0, 1)]
    _, made = edged(points, pine(thickness_m=T))
    assert len(made.pieces) == 4


# ---- the fence and neighbours --------------------------------------------------------------


def site_of(*beds, spec=None, board=None):
    layout = garden(spec or rectangle(8, 6), beds, board=board or pine(thickness_m=T))
    site = resolve(layout)
    return site, edge_beds(site, layout.boards)


def test_a_border_has_no_board_on_the_fence():
    _, (made,) = site_of(BedSpec("b", AlongSides(("BC",), 1.0, 1.0, 1.0), "pine"))
    assert [run.length_m for run in made.runs] == pytest.approx([1, 4, 1])
    assert lengths(made) == pytest.approx([4, 1 - T, 1 - T])
    assert made.planting.area == pytest.approx((1 - T) * (4 - 2 * T))


def test_against_fence_puts_boards_there_too():
    _, (made,) = site_of(BedSpec("b", AlongSides(("BC",), 1.0, 1.0, 1.0), "pine", True))
    assert made.length_m == pytest.approx(10)
    assert made.planting.area == pytest.approx((1 - 2 * T) * (4 - 2 * T))


def test_a_board_dies_into_a_slanting_fence():
    spec = fence([(0, 0), (8, 0), (9, 6), (0, 6)])
    _, (made,) = site_of(BedSpec("b", AlongSides(("CD",), 1.0), "pine"), spec=spec)
    (piece,) = made.pieces
    # x of the fence at y = 5 is 8 + 5/6; the board's inner face, at y = 5 + T, reaches T/6 farther
    assert piece.short_m == pytest.approx(8 + 5 / 6)
    assert piece.long_m == pytest.approx(8 + 5 / 6 + T / 6)
    assert sorted(end.saw_deg for end in piece.ends) == pytest.approx(
        [0, math.degrees(math.atan(1 / 6))]
    )
    assert {end.joint for end in piece.ends} == {"fence"}


def boxes(x, width, low, high):
    return [(x, low), (x + width, low), (x + width, high), (x, high)]


@pytest.mark.parametrize(
    ("low", "high", "free"),
    [(1, 3, 6 - 2), (1.5, 2.5, 4 - 1), (0.5, 3, 7 - 2), (0.5, 4, 9 - 2), (3, 5, 6), (2, 4, 6 - 1)],
)
def test_touching_beds_share_the_board_between_them(low, high, free):
    first = bed("first", boxes(1, 2, 1, 3))
    second = bed("second", boxes(3, 1, low, high))
    _, (one, two) = site_of(first, second)
    assert one.length_m == pytest.approx(8)
    assert two.length_m == pytest.approx(free)
    _, (two, one) = site_of(second, first)
    assert one.length_m + two.length_m == pytest.approx(8 + free)


def test_only_an_edged_neighbour_gives_a_board():
    first = bed("first", boxes(1, 2, 1, 3), edging=None)
    _, (_, two) = site_of(first, bed("second", boxes(3, 1, 1, 3)))
    assert two.length_m == pytest.approx(6)


def test_beds_within_a_hair_share_their_board():
    first = bed("first", boxes(1, 2, 1, 3))
    _, (_, two) = site_of(first, bed("second", boxes(3.00005, 1, 1, 3)))
    assert two.length_m == pytest.approx(4)
    _, (_, two) = site_of(first, bed("second", boxes(3.0005, 1, 1, 3)))
    assert two.length_m == pytest.approx(6)


def test_boards_of_beds_that_touch_do_not_overlap():
    _, made = site_of(
        bed("a", boxes(1, 2, 1, 3)), bed("b", boxes(3, 1, 0.5, 4)), bed("c", boxes(1, 2, 3, 4))
    )
    outlines = [piece.outline for each in made for piece in each.pieces]
    assert shapely.union_all(outlines).area == pytest.approx(sum(o.area for o in outlines))


def test_pieces_are_called_by_bed_and_run():
    _, made = site_of(bed("a", boxes(1, 2, 1, 3)), bed("b", boxes(4, 2, 1, 3)))
    assert [piece.label for piece in made[1].pieces] == ["2.1", "2.2", "2.3", "2.4"]
    assert {piece.bed for piece in made[1].pieces} == {"b"}


# ---- splices -------------------------------------------------------------------------------


def spliced(length, stock, **more):
    board = pine(thickness_m=T, stock=tuple(StockItem(s, 1.0) for s in stock), **more)
    _, made = edged([(0, 0), (length, 0), (length, 1), (0, 1)], board)
    return made, [piece for piece in made.pieces if piece.run == 1]


@pytest.mark.parametrize(
    ("length", "stock", "parts"),
    [(3.0, [3.0], 1), (3.0, [2.4, 1.8], 2), (6.0, [3.0], 2), (6.001, [3.0], 3), (7.3, [2.4], 4)],
)
def test_long_runs_are_spliced_into_as_few_pieces_as_the_stock_allows(length, stock, parts):
    made, run = spliced(length, stock)
    assert len(run) == parts
    assert sum(piece.long_m for piece in run) == pytest.approx(length)
    assert max(piece.long_m for piece in run) <= max(stock) + 1e-9
    assert [e.joint for p in run for e in p.ends].count("splice") == 2 * (parts - 1)
    letters = [piece.label.removeprefix("1.1") for piece in run]
    assert letters == ([""] if parts == 1 else list("abcd"[:parts]))
    assert len(made.splices) == (parts - 1) * 2  # the run across from it as well


def test_noise_of_an_overlay_makes_no_splice():
    # a run a few nanometres over the stock length is that length: the cut plan says so too
    _, run = spliced(1.8288 + 1.5e-8, [1.8288])
    assert len(run) == 1
    _, run = spliced(1.8288 + 1e-6, [1.8288])
    assert len(run) == 2


def test_end_trims_shorten_what_a_board_gives():
    _, run = spliced(3.0, [3.0], end_trim_m=0.01)
    assert len(run) == 2


def test_leftovers_count_when_nothing_is_on_sale():
    _, run = spliced(3.0, [], on_hand_m=(3.2, 3.2, 3.2, 3.2))
    assert len(run) == 1


@pytest.mark.parametrize(
    ("length", "stock", "clear"),
    [(6.5, 3.0, 0.3048), (1.1, 0.5, 0.45), (2.3, 0.5, 0.48), (5.0, 0.6, 0.59), (2.0, 1.9, 0.3)],
)
def test_splices_keep_clear_of_corners_where_they_can(length, stock, clear):
    _, run = spliced(length, [stock], splice_clear_m=clear)
    assert len(run) == math.ceil(length / stock)
    assert min(run[0].long_m, run[-1].long_m) >= clear - 1e-9
    assert max(piece.long_m for piece in run) <= stock + 1e-9


def test_a_board_in_no_length_at_all():
    with pytest.raises(StockError, match="no length on sale"):
        edged(RECTANGLE, pine(stock=()))
    with pytest.raises(StockError, match="no length on sale"):
        edged(RECTANGLE, pine(stock=(StockItem(0.1),), end_trim_m=0.05))


# ---- round beds ----------------------------------------------------------------------------


def round_bed(radius, **more):
    board = pine(bends=True, thickness_m=T, **more)
    layout = garden(rectangle(8, 6), [BedSpec("r", Circle((4, 3), radius), "pine")], board=board)
    site = resolve(layout)
    return site.beds[0], edge_beds(site, layout.boards)[0]


@pytest.mark.parametrize(
    ("stock", "parts", "joint"), [(7.0, 1, "closed"), (4.0, 2, "splice"), (2.0, 4, "splice")]
)
def test_a_bending_board_follows_the_circle(stock, parts, joint):
    placed, made = round_bed(1.0, stock=(StockItem(stock, 1.0),))
    assert [piece.long_m for piece in made.pieces] == pytest.approx([2 * math.pi / parts] * parts)
    assert {end.joint for piece in made.pieces for end in piece.ends} == {joint}
    assert made.planting.area == pytest.approx(math.pi * (1 - T) ** 2, rel=1e-9)
    ring = shapely.union_all([piece.outline for piece in made.pieces])
    assert ring.area == pytest.approx(placed.outline.area - made.planting.area, abs=1e-7)
    assert sum(p.outline.area for p in made.pieces) == pytest.approx(ring.area, abs=1e-7)
    assert len(made.splices) == (0 if parts == 1 else parts)


def test_a_stiff_board_follows_it_in_facets():
    board = pine(thickness_m=T)
    layout = garden(rectangle(8, 6), [BedSpec("r", Circle((4, 3), 1.0), "pine")], board=board)
    (made,) = edge_beds(resolve(layout), layout.boards)
    sides = len(made.pieces)
    assert lengths(made) == pytest.approx([2 * math.sin(math.pi / sides)] * sides)
    assert made.pieces[0].ends[0].saw_deg == pytest.approx(180 / sides)


# ---- no room -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (3, 0), (3, 2 * T - 0.001), (0, 2 * T - 0.001)],
        [(0, 0), (3, 0), (3, T / 2), (0, T / 2)],
        # two beds joined by a neck narrower than its two boards
        [
            (0, 0),
            (1, 0),
            (1, 0.48),
            (2, 0.48),
            (2, 0),
            (3, 0),
            (3, 1),
            (2, 1),
            (2, 0.51),
            (1, 0.51),
            (1, 1),
            (0, 1),
        ],
    ],
)
def test_a_bed_with_no_room_for_its_boards_is_a_fault(points):
    with pytest.raises(LayoutError, match="too small somewhere for boards") as caught:
        edged(points, pine(thickness_m=T))
    assert caught.value.faults[0].path == ("bed", 0)


def test_a_ring_smaller_than_its_board():
    with pytest.raises(LayoutError, match="'r' is too small"):
        round_bed(T / 2)


def test_every_bed_without_room_is_told():
    beds = [bed(name, boxes(x, 0.03, 1, 2)) for name, x in (("a", 1), ("b", 3))]
    with pytest.raises(LayoutError) as caught:
        site_of(*beds, bed("c", boxes(5, 1, 1, 2)))
    assert [fault.path for fault in caught.value.faults] == [("bed", 0), ("bed", 1)]


def test_beds_without_edging_keep_all_their_ground():
    _, (made,) = site_of(BedSpec("b", Outline(((1, 1), (2, 1), (2, 2), (1, 2)))))
    assert made.pieces == ()
    assert made.length_m == 0
    assert made.planting.area == pytest.approx(1)


def test_inches_stay_inches():
    # 5/8 in boards round 10 × 4 ft: 120 in and 46-3/4 in, as a tape reads them
    box = [(x * INCH, y * INCH) for x, y in ((0, 0), (120, 0), (120, 48), (0, 48))]
    _, made = edged(box, pine(thickness_m=0.625 * INCH))
    assert [x / INCH for x in lengths(made)] == pytest.approx([120, 120, 46.75, 46.75])
