"""Rules for boards and stakes: each is silent at its limit and speaks just beyond it."""

from __future__ import annotations

import pytest
from gardens import INCH, bed, garden, pine, rectangle, regular

from bedplan import make_plan
from bedplan.model.layout import (
    BedSpec,
    EnclosureSpec,
    Gate,
    Layer,
    Pipe,
    PostRow,
    Posts,
    Rectangle,
)
from bedplan.model.materials import Material, Stake, StockItem

T = 0.02
BOX = [(1, 1), (4, 1), (4, 3), (1, 3)]
YARD = rectangle(8, 6)


def found(rule, beds, spec=YARD, board=None, **more):
    plan = make_plan(garden(spec, beds, board=board or pine(thickness_m=T), paths=(), **more))
    return [finding for finding in plan.findings if finding.rule == rule]


@pytest.mark.parametrize(("clear", "speaks"), [(1.5, False), (1.51, True)])
def test_a_splice_too_near_a_corner(clear, speaks):
    # a run of 3 m in two pieces: the middle is as far from both ends as a splice can be
    board = pine(thickness_m=T, stock=(StockItem(2.0, 1.0),), splice_clear_m=clear)
    told = found("splice-clear", [bed("b", BOX)], board=board)
    assert bool(told) is speaks
    if speaks:
        assert told[0].where == "b, run 1, 4' 11-1/16\" along"
        assert "splice_clear" in told[0].limit


@pytest.mark.parametrize(("stagger", "speaks"), [(0.5, False), (1.2, True)])
def test_a_splice_too_near_the_one_below(stagger, speaks):
    board = pine(thickness_m=T, stock=(StockItem(2.0, 1.0),), stagger_m=stagger)
    told = found("splice-stagger", [bed("b", BOX, tiers=2)], board=board)
    assert bool(told) is speaks
    if speaks:
        assert told[0].severity == "warning"
        assert "tier 2" in told[0].where


@pytest.mark.parametrize(("block", "speaks"), [(0.3, False), (0.0, True)])
def test_a_splice_with_nothing_behind_it(block, speaks):
    board = pine(thickness_m=T, stock=(StockItem(2.0, 1.0),), block_m=block)
    told = found("splice-unheld", [bed("b", BOX)], board=board)
    assert [finding.figure[:1] for finding in told] == (["2"] if speaks else [])


@pytest.mark.parametrize(
    ("length", "severity"),
    [(0.28, []), (0.279, ["note"]), (0.2101, ["note"]), (0.209, ["warning"]), (0.13, ["warning"])],
)
def test_a_stake_with_little_of_it_in_the_ground(length, severity):
    # 0.14 m of board: half of 0.28 m and a third of 0.21 m are in the ground
    told = found(
        "stake-depth",
        [bed("b", BOX)],
        board=pine(thickness_m=T, stake="peg"),
        stakes={"peg": Stake("peg", 0.04, length)},
    )
    assert [finding.severity for finding in told] == severity


def test_a_stake_that_finds_no_clear_place():
    told = found(
        "stake-clear",
        [bed("b", BOX)],
        board=pine(thickness_m=T, stake="peg"),
        stakes={"peg": Stake("peg", 0.04, 0.6, 1.0)},
        pipes=(Pipe("main", ((1.04, 0), (1.04, 5)), 0.7),),
    )
    assert told
    assert all("'main'" in finding.figure and finding.remedy for finding in told)


@pytest.mark.parametrize(("corners", "speaks"), [(3, False), (4, False)])
def test_mitres_within_the_range_of_a_saw(corners, speaks):
    # 180/3 is 60°, which is still on the scale
    board = pine(thickness_m=T, corner="mitre")
    shape = [(x + 4, y + 3) for x, y in regular(corners, 1.0)]
    assert bool(found("saw-range", [bed("b", shape)], board=board)) is speaks


def test_a_mitre_no_saw_is_set_to():
    board = pine(thickness_m=T, corner="mitre")
    (told,) = found("saw-range", [bed("b", [(1, 1), (5, 1), (3, 2)])], board=board)
    # corners of 26.6° are mitred at 76.7°
    assert told.severity == "note"
    assert told.figure == "a saw setting of 76.7°"
    assert "1.1" in told.where


def test_a_gap_left_by_a_squared_end():
    (told,) = found("edging-gap", [bed("b", [(1, 0), (7, 0), (7, 0.3)])])
    # 20 mm / tan 2.862° is 0.4 m
    assert told.figure.startswith("1' 3-3/4\"")
    assert told.severity == "note"


@pytest.mark.parametrize(
    ("first", "second", "speaks"), [(1, 2, True), (2, 1, False), (2, 2, False)]
)
def test_a_neighbours_board_that_is_too_low(first, second, speaks):
    beds = [
        bed("a", BOX, tiers=first),
        bed("b", [(4, 1), (6, 1), (6, 3), (4, 3)], tiers=second),
    ]
    told = found("shared-board", beds)
    assert [finding.where for finding in told] == (["b"] if speaks else [])


def test_beds_that_meet_at_a_corner_share_no_board():
    beds = [bed("a", BOX), bed("b", [(4, 3), (6, 3), (6, 4), (4, 4)], tiers=2)]
    assert not found("shared-board", beds)


@pytest.mark.parametrize(
    ("clear", "footing", "speaks"),
    [(0.2, 0.0, False), (0.31, 0.0, True), (0.2, 0.3, False), (0.21, 0.3, True)],
)
def test_footings_keep_clear_of_pipes(clear, footing, speaks):
    # the post stands from x = 2.95 to 3.05; the pipe runs 0.35 m from its middle
    spec = EnclosureSpec(YARD.corners, Posts(0.1, 0.0, (PostRow("AB", (3.0,)),), footing))
    pipe = Pipe("water", ((3.35, -1), (3.35, 4)), clear)
    told = found("footing-pipe", [], spec=spec, pipes=(pipe,))
    assert [finding.where for finding in told] == (["post AB 1"] if speaks else [])


def test_fill_is_held_by_all_the_boards_of_a_stack():
    spec = BedSpec("b", Rectangle((4, 3), (2, 1)), "pine", layers=(Layer("soil", 0.2),))
    goods = {"soil": Material("soil")}
    assert found("fill-height", [spec], materials=goods)
    stacked = BedSpec(**{**vars(spec), "tiers": 2})
    assert not found("fill-height", [stacked], materials=goods)


@pytest.mark.parametrize(("tiers", "speaks"), [(1, False), (2, True)])
def test_a_leaf_that_clears_one_board_and_not_two(tiers, speaks):
    border = bed("b", [(1, 0.3), (4, 0.3), (4, 1), (1, 1)], tiers=tiers)
    gate = Gate("g", "AB", 2.0, 1.0, gap_below_m=6 * INCH)
    assert bool(found("gate-swing", [border], gates=(gate,))) is speaks


def test_pilot_holes_are_asked_for_where_wood_is_screwed():
    def topics(board):
        plan = make_plan(garden(YARD, [bed("b", BOX)], board=board, paths=()))
        return [caution.topic for caution in plan.cautions]

    assert "screws" in topics(pine())
    assert "screws" not in topics(pine(bends=True))
