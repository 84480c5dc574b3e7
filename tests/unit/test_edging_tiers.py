"""Tiers, stake corners, splices and labels against lengths worked out by hand."""

from __future__ import annotations

import math

import pytest
from gardens import INCH, bed, edged, fence, garden, pine, rectangle, regular

from bedplan.edging import edge_beds
from bedplan.edging.job import tier_count
from bedplan.edging.pieces import letters
from bedplan.edging.splices import SpliceRules, splice_stations
from bedplan.errors import LayoutError
from bedplan.model.layout import AlongSides, BedSpec, Circle
from bedplan.model.materials import Stake, StockItem
from bedplan.site import resolve

T = 0.02
BOX = [(0, 0), (3, 0), (3, 1), (0, 1)]
PEG = Stake("peg", 0.05, 0.6)


def tier(made, number):
    return [piece for piece in made.pieces if piece.tier == number]


def joints(pieces):
    return [tuple(end.joint for end in piece.ends) for piece in pieces]


# ---- tiers ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "tiers", "height"),
    [
        ({}, 1, 0.14),
        ({"tiers": 3}, 3, 0.42),
        ({"height_m": 0.14}, 1, 0.14),
        # a hair over a whole number of boards is that number, as a tape reads it
        ({"height_m": 0.28005}, 2, 0.28005),
        ({"height_m": 0.29}, 3, 0.29),
        ({"height_m": 0.05}, 1, 0.05),
    ],
)
def test_boards_are_stacked_to_the_height_asked(more, tiers, height):
    _, made = edged(BOX, pine(thickness_m=T), **more)
    assert (made.tiers, made.height_m) == (tiers, pytest.approx(height))
    assert tier_count(bed("b", BOX, **more), pine()) == tiers
    assert {piece.tier for piece in made.pieces} == set(range(1, tiers + 1))
    # the length of edging is that of the outline, however high it is
    assert made.length_m == pytest.approx(8)


def test_eleven_inches_are_two_boards_of_five_and_a_half():
    _, made = edged(BOX, pine(height_m=5.5 * INCH), height_m=11 * INCH)
    assert made.tiers == 2


def test_butt_corners_lap_the_other_way_in_every_second_tier():
    _, made = edged(BOX, pine(thickness_m=T), tiers=3)
    for number, lengths in ((1, (3, 1 - 2 * T)), (2, (3 - 2 * T, 1)), (3, (3, 1 - 2 * T))):
        found = [piece.long_m for piece in tier(made, number)]
        assert found == pytest.approx([*lengths, *lengths])
    assert joints(tier(made, 1)) == [("through",) * 2, ("stop",) * 2] * 2
    assert joints(tier(made, 2)) == [("stop",) * 2, ("through",) * 2] * 2


def test_a_pinwheel_turns_the_other_way():
    _, made = edged(BOX, pine(thickness_m=T, through="pinwheel"), tiers=2)
    one, two = (set(joints(tier(made, number))) for number in (1, 2))
    assert one == {("stop", "through")}
    assert two == {("through", "stop")}


def test_labels_say_the_tier_and_are_all_different():
    board = pine(thickness_m=T, stock=(StockItem(1.2, 1.0),))
    _, made = edged(BOX, board, tiers=2)
    assert [piece.label for piece in tier(made, 1)][:4] == ["1.1a", "1.1b", "1.1c", "1.2"]
    assert [piece.label for piece in tier(made, 2)][:3] == ["1.1a-2", "1.1b-2", "1.1c-2"]
    assert made.blocks[0].label == "1.1a block"
    labels = [piece.label for piece in made.all_pieces]
    assert len(set(labels)) == len(labels)


def test_letters_do_not_run_out():
    board = pine(thickness_m=T, stock=(StockItem(0.1, 1.0),), splice_clear_m=0.0)
    _, made = edged(BOX, board)
    labels = [piece.label for piece in made.pieces if piece.run == 1]
    assert labels[25:28] == ["1.1z", "1.1aa", "1.1ab"]
    assert len(set(labels)) == len(labels) == 30
    words = [letters(number) for number in range(1000)]
    assert len(set(words)) == 1000


def test_planting_is_inside_the_lowest_tier_whatever_stands_on_it():
    ground = {
        tiers: edged(BOX, pine(thickness_m=T), tiers=tiers)[1].planting.area for tiers in (1, 4)
    }
    assert ground[1] == pytest.approx((3 - 2 * T) * (1 - 2 * T))
    assert ground[4] == pytest.approx(ground[1])


def test_a_round_of_boards_that_bend_turns_half_a_piece_in_every_second_tier():
    board = pine(thickness_m=0.003, bends=True, stock=(StockItem(4.0, 1.0),))
    layout = garden(
        rectangle(8, 6), [BedSpec("r", Circle((4, 3), 1.0), "pine", tiers=2)], board=board
    )
    (made,) = edge_beds(resolve(layout), layout.boards)
    around = 2 * math.pi
    stations = {n: [s.station_m for s in made.splices if s.tier == n] for n in (1, 2)}
    assert stations[1] == pytest.approx([0, around / 2])
    assert stations[2] == pytest.approx([around / 4, 3 * around / 4])
    assert {splice.held_by for splice in made.splices} == {"connector"}
    assert not made.blocks
    for number in (1, 2):
        area = sum(piece.outline.area for piece in tier(made, number))
        assert area == pytest.approx(math.pi * (1 - 0.997**2), rel=1e-6)


# ---- stake corners -------------------------------------------------------------------------


def staked(points, board=None, stake=PEG, **more):
    board = board or pine(thickness_m=T, corner="stake", stake="peg")
    wide = fence([(-9, -9), (9, -9), (9, 9), (-9, 9)])
    layout = garden(wide, [bed("b", points, **more)], board=board, stakes={"peg": stake})
    site = resolve(layout)
    return edge_beds(site, layout.boards, layout.stakes)[0]


def test_boards_that_meet_at_a_stake_are_cut_square():
    made = staked(BOX)
    assert [piece.long_m for piece in made.pieces] == pytest.approx([3 - 2 * T, 1 - 2 * T] * 2)
    assert all(end.saw_deg == pytest.approx(0, abs=1e-9) for p in made.pieces for end in p.ends)
    assert [o.kind for o in made.openings] == ["stake"] * 4
    assert [o.outline.area for o in made.openings] == pytest.approx([T * T] * 4, rel=1e-5)
    corner = {s.label: s for s in made.stakes if s.kind == "corner"}
    assert len(corner) == 4
    assert {end.joins for piece in made.pieces for end in piece.ends} == set(corner)
    # 2 m of board hold no screws from board to board
    assert made.corners == 0


def test_an_inward_corner_leaves_its_notch_on_the_inside():
    shape = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]
    made = staked(shape)
    # runs 3 and 4 meet at the inward corner (1, 1): their outer faces reach it, whole
    assert made.pieces[2].long_m == pytest.approx(3 - T)
    assert made.pieces[3].long_m == pytest.approx(2 - T)
    inward = next(o for o in made.openings if o.outline.centroid.distance(at(1, 1)) < 2 * T)
    assert inward.outline.bounds == pytest.approx((1 - T, 1 - T, 1, 1), abs=1e-6)


def at(x, y):
    from shapely.geometry import Point

    return Point(x, y)


def test_a_hexagon_at_stakes():
    made = staked(regular(6, 1.0))
    # the foot of the inner corner lies thickness × tan 30° from the outer one
    assert [p.long_m for p in made.pieces] == pytest.approx(
        [1 - 2 * T * math.tan(math.pi / 6)] * 6
    )


@pytest.mark.parametrize(("size", "fits"), [(0.0195, False), (0.02, True)])
def test_a_stake_thinner_than_what_it_closes_is_a_fault(size, fits):
    peg = Stake("peg", size, 0.6)
    if fits:
        assert staked(BOX, stake=peg).stakes
        return
    with pytest.raises(LayoutError, match="thick; a corner") as caught:
        staked(BOX, stake=peg)
    assert caught.value.faults[0].path == ("board", "pine", "stake")


def test_a_sharp_corner_asks_a_thicker_stake():
    # a triangle: thickness × tan 60° = 34.6 mm
    with pytest.raises(LayoutError):
        staked(regular(3, 1.0), stake=Stake("peg", 0.034, 0.6))
    assert staked(regular(3, 1.0), stake=Stake("peg", 0.035, 0.6)).pieces


def test_corners_at_stakes_without_a_stake():
    with pytest.raises(LayoutError, match="without a stake"):
        edged(BOX, pine(corner="stake"))


# ---- splices -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("last", "rules", "found"),
    [
        (3.0, SpliceRules(3.0, 0.3), ()),
        (5.0, SpliceRules(3.0, 0.3), (2.5,)),
        # the joint below pushes an only splice aside, as little as it must
        (5.0, SpliceRules(3.0, 0.3, 0.3, (2.5,)), (2.2,)),
        # no two pieces of 6 m can be staggered: three are
        (6.0, SpliceRules(3.0, 0.3, 0.3, (3.0,)), (2.0, 4.0)),
        # the last piece would be longer than stock left of 2.4: the other side
        (5.0, SpliceRules(2.6, 0.3, 0.05, (2.45,)), (2.5,)),
        # clearance cannot be kept on so short a run: the middle is as far as it goes
        (1.0, SpliceRules(0.8, 0.6), (0.5,)),
        # nor can the stagger where any splice must fall within it: the clearance is
        (1.0, SpliceRules(0.8, 0.4, 0.5, (0.52,)), (0.4,)),
    ],
)
def test_where_splices_fall(last, rules, found):
    assert splice_stations(0.0, last, rules) == pytest.approx(found)


def test_splices_chosen_elsewhere_are_taken_as_they_are():
    board = pine(thickness_m=T, stock=(StockItem(2.0, 1.0),))
    wide = fence([(-9, -9), (9, -9), (9, 9), (-9, 9)])
    layout = garden(wide, [bed("b", BOX)], board=board)
    chosen = {("b", 1, 1): [1.9]}
    (made,) = edge_beds(resolve(layout), layout.boards, None, chosen)
    assert [p.long_m for p in made.pieces if p.run == 1] == pytest.approx([1.9, 1.1])
    assert [p.long_m for p in made.pieces if p.run == 3] == pytest.approx([1.5, 1.5])
    assert [p.station_m for p in made.pieces if p.run == 1] == pytest.approx([0, 1.9])


def test_a_block_stands_behind_every_splice_half_on_either_side():
    board = pine(thickness_m=T, stock=(StockItem(2.0, 1.0),), block_m=0.3)
    _, made = edged(BOX, board)
    assert [splice.held_by for splice in made.splices] == ["block", "block"]
    one = made.blocks[0]
    assert (one.kind, one.long_m, one.label) == ("block", 0.3, made.splices[0].block)
    assert one.outline.bounds == pytest.approx((1.35, T, 1.65, 2 * T))
    assert {end.joint for end in one.ends} == {"square"}


def test_no_block_and_no_stake_hold_nothing():
    _, made = edged(BOX, pine(thickness_m=T, stock=(StockItem(2.0, 1.0),), block_m=0.0))
    assert [splice.held_by for splice in made.splices] == ["nothing", "nothing"]
    assert not made.blocks


# ---- lone boards ---------------------------------------------------------------------------


def test_a_lone_board_at_a_flat_fence_corner_is_squared_off():
    # the fence turns by 20° where the bed's free side begins: cut along it, the end would be a
    # feather of thickness / tan 20°
    a = math.radians(20)
    plot = [(0, 0), (4, 0), (4 + 4 * math.cos(a), 4 * math.sin(a)), (4, 6), (0, 6)]
    shape = [(4, 0), (4 + 3 * math.cos(a), 3 * math.sin(a)), (4.5, 2), (1, 0.0)]
    layout = garden(
        fence(plot),
        [bed("b", [(1, 0.8), (4, 0), *shape[1:3]])],
        board=pine(thickness_m=T),
        paths=(),
    )
    (made,) = edge_beds(resolve(layout), layout.boards)
    ends = [end for piece in made.pieces for end in piece.ends if end.joint == "fence"]
    assert ends
    assert all(end.saw_deg <= 60 for end in ends)


@pytest.mark.parametrize(("rise", "square"), [(0.3, True), (4.0, False)])
def test_a_wedge_against_the_fence(rise, square):
    # a bed that thins out to nothing along the fence: past 60° its board is squared off where
    # its inner face meets the fence, and the finding says what is left open
    layout = garden(
        rectangle(8, 6),
        [bed("b", [(1, 0), (7, 0), (7, rise)])],
        board=pine(thickness_m=T),
        paths=(),
    )
    (made,) = edge_beds(resolve(layout), layout.boards)
    end = next(e for p in made.pieces for e in p.ends if e.joint == "fence" and e.joins == "AB")
    angle = math.atan2(rise, 6)
    gaps = [s for s in made.shortfalls if s.rule == "edging-gap"]
    if square:
        assert len(gaps) == 1
        assert gaps[0].figure_m == pytest.approx(T / math.tan(angle), rel=1e-3)
        slanted = [p for p in made.pieces if p.long_m > 3]
        assert min(e.saw_deg for e in slanted[0].ends) == pytest.approx(0, abs=1e-9)
    else:
        assert not gaps
    assert end.joins


def test_a_border_pressed_into_facets_ends_in_no_feather():
    board = pine(thickness_m=T)
    round_bed = bed("r", [(x + 4, y + 3) for x, y in regular(16, 1.0, 11.25)])
    touch = 3 - math.cos(math.pi / 16)
    border = bed("b", [(2, 0), (6, 0), (6, touch), (2, touch)])
    layout = garden(rectangle(8, 6), [round_bed, border], board=board, paths=())
    made = edge_beds(resolve(layout), layout.boards)[1]
    assert all(end.saw_deg <= 60 + 1e-9 for piece in made.pieces for end in piece.ends)


# ---- circles -------------------------------------------------------------------------------


@pytest.mark.parametrize("sagitta", [0.05, 0.01, 0.003, 0.3])
def test_the_least_number_of_facets_within_a_sagitta(sagitta):
    spec = BedSpec("r", Circle((4, 3), 1.0, 0, sagitta), "pine")
    site = resolve(garden(rectangle(8, 6), [spec], board=pine(thickness_m=0.01)))
    count = len(site.beds[0].outline.exterior.coords) - 1

    def strays(n):
        return 1 - math.cos(math.pi / n)

    assert strays(count) <= sagitta
    assert count == 3 or strays(count - 1) > sagitta
    assert site.beds[0].sagitta_m == pytest.approx(strays(count))


def test_a_sagitta_too_fine_for_boards_is_a_fault():
    spec = BedSpec("r", Circle((4, 3), 2.0, 0, 1e-5), "pine")
    with pytest.raises(LayoutError, match="straight edges") as caught:
        resolve(garden(rectangle(8, 6), [spec]))
    assert caught.value.faults[0].path == ("bed", 0, "circle", "sagitta")


# ---- beds that touch -----------------------------------------------------------------------


@pytest.mark.parametrize("corner", ["butt", "mitre", "stake"])
@pytest.mark.parametrize("slip", [-0.4, 0.0, 0.3, 0.98, 1.2])
def test_one_board_serves_where_two_beds_touch_in_part(corner, slip):
    board = pine(thickness_m=T, corner=corner, stake="peg")
    second = [(3, slip), (5, slip), (5, slip + 1), (3, slip + 1)]
    wide = fence([(-9, -9), (9, -9), (9, 9), (-9, 9)])
    layout = garden(wide, [bed("a", BOX), bed("b", second)], board=board, stakes={"peg": PEG})
    one, two = edge_beds(resolve(layout), layout.boards, layout.stakes)
    shared = max(0.0, min(1, slip + 1) - max(0, slip))
    bare = 6 - two.length_m
    assert one.length_m == pytest.approx(8)
    # what is left of a side and no longer than a board is thick is left bare
    assert bare == pytest.approx(shared, abs=T + 1e-9)
    whole = 2 * 1.0 - 2 * T * 2 + 0  # the planting of a 2 × 1 m bed with boards all round
    assert two.planting.area > whole * (1 - 2 * T) / 2 - 0.1
    met = {end.joins for piece in two.pieces for end in piece.ends if end.joins.startswith("1.")}
    assert bool(met) == (shared > 0)


def test_the_first_beds_board_serves_whatever_the_second_asks():
    low = BedSpec("low", AlongSides(("AB",), 1.0), "pine")
    high = bed("high", [(2, 1), (5, 1), (5, 2), (2, 2)], tiers=2)
    layout = garden(rectangle(8, 6), [low, high], board=pine(thickness_m=T), paths=())
    one, two = edge_beds(resolve(layout), layout.boards)
    assert (one.tiers, two.tiers) == (1, 2)
    assert two.length_m == pytest.approx(5)
    assert {piece.run for piece in two.pieces} == {1, 2, 3}
