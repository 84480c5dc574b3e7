"""Boards spliced wherever that saves some: through the whole plan."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

import pytest
from gardens import bed, garden, pine, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.model.materials import StockItem
from bedplan.outputs.tables_edging import cut_table
from bedplan.plan import make_plan
from bedplan.stock import StockLength, cut
from bedplan.units import nanometres

BOARD = pine(
    kerf_m=0.0,
    corner="mitre",
    block_m=0.0,
    splice_clear_m=0.3,
    least_piece_m=0.4,
    stagger_m=0.3,
    stock=(StockItem(3.0, 9.0),),
)
SQUARE = bed("square", [(2, 2), (4, 2), (4, 4), (2, 4)])


def planned(board, *beds):
    return make_plan(garden(rectangle(30, 8), list(beds), [], board=board))


def spliced(board):
    return replace(board, splicing="anywhere")


def bought(plan):
    return sum(count for part in plan.boards for _, count in part.cut.buy)


def test_four_sides_of_two_metres_come_out_of_three_boards_of_three():
    # whole, every side takes a board; 8 m of edging end to end come out of 9 m
    assert bought(planned(BOARD, SQUARE)) == 4
    plan = planned(spliced(BOARD), SQUARE)
    assert bought(plan) == 3
    assert plan.boards[0].cut.cost == 27.0
    runs = defaultdict(float)
    for piece in plan.edging[0].pieces:
        runs[piece.run] += piece.long_m
    assert runs == pytest.approx(dict.fromkeys((1, 2, 3, 4), 2.0))


def test_every_tier_keeps_off_the_joints_of_the_one_below():
    high = replace(SQUARE, tiers=3)
    plan = planned(spliced(BOARD), high)
    assert bought(plan) == math.ceil(3 * 8 / 3.0)
    places = defaultdict(dict)
    for splice in plan.edging[0].splices:
        places[splice.run].setdefault(splice.tier, []).append(splice.station_m)
    assert places
    for tiers in places.values():
        for tier, stations in tiers.items():
            below = tiers.get(tier - 1, [])
            assert all(abs(a - b) >= 0.3 - 1e-9 for a in stations for b in below)
    assert not plan.edging[0].shortfalls


def test_what_cannot_be_better_stays_even():
    long = bed("long", [(2, 2), (6, 2), (6, 4), (2, 4)])
    dear = replace(BOARD, stock=(StockItem(4.0, 12.0), StockItem(2.0, 6.0)))
    assert planned(spliced(dear), long).edging == planned(dear, long).edging


def test_rules_nobody_can_keep_leave_the_even_splices_and_a_finding():
    stiff = replace(BOARD, splice_clear_m=1.6, stock=(StockItem(1.5, 5.0),))
    plan = planned(spliced(stiff), SQUARE)
    assert plan.edging == planned(stiff, SQUARE).edging
    assert {finding.rule for finding in plan.findings} >= {"splice-clear"}


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(9, 40), min_size=2, max_size=5),
    st.sampled_from([0.0, 0.003]),
    st.integers(1, 2),
)
def test_splicing_anywhere_never_costs_more_and_keeps_the_rules(sides, kerf_m, tiers):
    beds = []
    x = 1.0
    for number, tenths in enumerate(sides):
        wide = tenths / 10.0
        corners = [(x, 1), (x + wide, 1), (x + wide, 2.3), (x, 2.3)]
        beds.append(bed(f"bed {number}", corners, tiers=tiers))
        x += wide + 0.5
    board = replace(BOARD, kerf_m=kerf_m)
    even, free = planned(board, *beds), planned(spliced(board), *beds)
    assert free.boards[0].cut.objective <= even.boards[0].cut.objective
    lengths = [nanometres(piece.long_m) for piece in free.boards[0].pieces]
    again = cut(lengths, [StockLength(nanometres(3.0), 9.0)], nanometres(kerf_m))
    assert free.boards[0].cut.objective >= again.lower_bound - 1e-9
    for edged in free.edging:
        spliced_runs = {(splice.run, splice.tier) for splice in edged.splices}
        for piece in edged.pieces:
            if (piece.run, piece.tier) in spliced_runs and free.edging != even.edging:
                assert piece.long_m >= 0.3 - 1e-9
        assert not edged.shortfalls


def test_what_looks_like_a_slip_in_the_stock_is_told_as_a_tape_reads_it():
    plan = planned(replace(BOARD, on_hand_m=(0.05,)), SQUARE)
    note = cut_table(plan.boards[0], "metric").note
    assert "Leftovers too short for any piece" in note
    assert "(50 mm)" in note
