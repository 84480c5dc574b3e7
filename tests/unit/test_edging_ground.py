"""Boards under a level one on a slope worked out by hand, from the layout file to the order."""

from __future__ import annotations

import pytest
from gardens import INCH

from bedplan.edging.hardware import screw_counts
from bedplan.layout_file import parse_layout
from bedplan.outputs.record import record
from bedplan.outputs.tables import tables
from bedplan.plan import make_plan

BED = """
title = "Slope"
unit = "ft"
[enclosure]
corners = { A = [0, 0], B = [40, 0], C = [40, 30], D = [0, 30] }
[ground]
spots = [[0, 0, "0 in"], [40, 0, "-9.6 in"], [40, 30, "-9.6 in"], [0, 30, "0 in"]]
reveal = "2 in"
bury = "0 in"
[[bed]]
name = "bed"
polygon = [[5, 10], [25, 10], [25, 14], [5, 14]]
edging = "cedar"
tiers = "ground"
[board.cedar]
thickness = "1.5 in"
height = "5.5 in"
stock = [{ length = "8 ft", price = 10 }]
block = 0
stake = "peg"
screws = "deck"
[stake.peg]
size = "1.5 in"
length = "24 in"
every = "4 ft"
[screw.deck]
length = "2.5 in"
pack = 100
"""
"""The plane falls 2 %, 4.8 in along the 20 ft of the bed. The level top stands 2 in over its
upper end, so a 5-1/2 in board reaches the ground as far as this has fallen 3-1/2 in: 175 in."""


@pytest.fixture(scope="module")
def plan():
    return make_plan(parse_layout(BED))


def below(plan):
    return [piece for piece in plan.edging[0].pieces if piece.tier > 1]


def test_the_second_board_starts_where_the_first_leaves_the_ground(plan):
    lower = [(each.run, each.tier) for each in plan.edging[0].lower]
    assert lower == [(1, 2), (2, 2), (3, 2)]
    long_1, low_end, long_3 = plan.edging[0].lower
    assert long_1.start_m == pytest.approx(175 * INCH)
    # stopped behind the board of the low end, which runs through in the second tier
    assert long_1.end_m == pytest.approx((240 - 1.5) * INCH)
    assert (low_end.start_m, low_end.end_m) == (0.0, pytest.approx(48 * INCH))
    assert long_3.start_m == pytest.approx(1.5 * INCH)
    assert long_3.end_m == pytest.approx(65 * INCH)


def test_pieces_of_the_second_tier(plan):
    pieces = {piece.label: piece for piece in below(plan)}
    assert sorted(pieces) == ["1.1-2", "1.2-2", "1.3-2"]
    lengths = {label: piece.long_m / INCH for label, piece in pieces.items()}
    assert lengths == pytest.approx({"1.1-2": 63.5, "1.2-2": 48, "1.3-2": 63.5})
    joints = {
        label: [(end.joint, end.joins) for end in piece.ends] for label, piece in pieces.items()
    }
    assert joints == {
        "1.1-2": [("square", ""), ("stop", "1.2-2")],
        "1.2-2": [("through", "1.1-2"), ("through", "1.3-2")],
        "1.3-2": [("stop", "1.2-2"), ("square", "")],
    }
    stations = {label: piece.station_m / INCH for label, piece in pieces.items()}
    assert stations == pytest.approx({"1.1-2": 175, "1.2-2": 0, "1.3-2": 1.5})


def test_two_stretches_of_one_run_are_lettered_on():
    # a hump in the middle of the long sides: both ends need a second board
    hump = BED.replace(
        '[[0, 0, "0 in"], [40, 0, "-9.6 in"], [40, 30, "-9.6 in"], [0, 30, "0 in"]]',
        "[[0, 0, -1], [15, 0, 0], [30, 0, -1], [0, 30, -1], [15, 30, 0], [30, 30, -1]]",
    )
    (made,) = make_plan(parse_layout(hump)).edging
    second = [piece for piece in made.pieces if piece.tier == 2 and piece.run == 1]
    assert [piece.label for piece in second] == ["1.1a-2", "1.1b-2"]
    # 12 in of fall in 15 ft: 3-1/2 in in 52-1/2 in on either side of the ridge, 10 ft along
    assert second[0].station_m + second[0].long_m == pytest.approx((120 - 52.5) * INCH)
    assert second[1].station_m == pytest.approx((120 + 52.5) * INCH)
    labels = [piece.label for piece in made.all_pieces]
    assert len(labels) == len(set(labels))


def test_tables_record_and_cut_plan_have_the_lower_boards(plan):
    made = {table.title: table for table in tables(plan)}
    assert "Boards on the slope" not in made
    first = made["Lower boards"].rows[0]
    assert first[:5] == ("bed", "1", "2", "14' 7\"", "19' 10-1/2\"")
    data = record(plan)
    (board,) = data["edging"]
    assert {each["label"]: each["tier"] for each in board["pieces"]} == {
        piece.label: piece.tier for piece in plan.edging[0].pieces
    }
    assert data["beds"][0]["tiers"] == 2
    # two long sides and two ends stopped between them, then the second tier
    wood_m = sum(piece.long_m for piece in plan.boards[0].pieces)
    assert wood_m == pytest.approx((2 * 240 + 2 * 45 + 2 * 63.5 + 48) * INCH)


def test_only_a_bed_that_follows_the_ground_is_not_warned_of(plan):
    assert "board-tiers" not in {finding.rule for finding in plan.findings}
    alike = make_plan(parse_layout(BED.replace('"ground"\n', "1\n")))
    (finding,) = (each for each in alike.findings if each.rule == "board-tiers")
    assert 'tiers = "ground"' in finding.remedy
    one = [piece for piece in plan.edging[0].pieces if piece.tier == 1]
    assert list(alike.edging[0].pieces) == one
    assert plan.edging[0].planting.equals(alike.edging[0].planting)
    assert plan.works.beds[0].top_m == alike.works.beds[0].top_m


def test_stakes_stand_at_free_ends_and_reach_from_the_level_top(plan):
    (made,) = plan.edging
    ends = [stake for stake in made.stakes if stake.kind == "end"]
    # inside the boards' ends by half a stake
    assert [(stake.run, stake.at[0] / INCH) for stake in ends] == [
        (1, pytest.approx(60 + 175 + 0.75)),
        (3, pytest.approx(60 + 175 + 0.75)),
    ]
    for stake in made.stakes:
        fallen = 0.02 * (stake.at[0] / INCH - 60)
        assert stake.below_m / INCH == pytest.approx(24 - 2 - fallen, abs=1e-6)


def test_screws_go_into_every_board_where_it_is(plan):
    (made,), board = plan.edging, plan.layout.boards["cedar"]
    counts = dict(screw_counts(made, board))
    # four corners of the first tier, two of the second
    assert counts["corners"] == 6 * board.corner_screws
    into = 0
    for stake in made.stakes:
        low = stake.at[0] / INCH >= 60 + 175
        into += (2 if low else 1) * (2 if stake.kind == "corner" else 1)
    held = sum(splice.held_by == "stake" for splice in made.splices)
    assert counts["stakes"] == (into + held) * board.stake_screws


def test_flat_ground_needs_one_board():
    flat = BED.replace("-9.6 in", "0 in")
    (made,) = make_plan(parse_layout(flat)).edging
    assert (made.tiers, made.lower, {piece.tier for piece in made.pieces}) == (1, (), {1})


def test_chosen_splices_keep_the_lower_boards(plan):
    free = BED.replace("block = 0", 'splice = "anywhere"\nblock = 0')
    (made,) = make_plan(parse_layout(free)).edging
    assert made.lower == plan.edging[0].lower


def test_boards_that_bend_go_all_round_in_every_tier():
    bent = (
        BED.replace(
            "polygon = [[5, 10], [25, 10], [25, 14], [5, 14]]",
            "circle = { center = [15, 15], radius = 8 }",
        )
        .replace("block = 0", "bends = true")
        .replace('"8 ft"', '"60 ft"')
    )
    (made,) = make_plan(parse_layout(bent)).edging
    assert (made.tiers, made.lower) == (2, ())
    assert [(piece.label, piece.tier) for piece in made.pieces] == [("1.1", 1), ("1.1-2", 2)]
