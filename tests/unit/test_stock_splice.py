"""Splicing anywhere: cases worked out by hand, and clear words for what cannot be."""

from __future__ import annotations

import pytest

from bedplan.errors import StockError
from bedplan.stock import SpliceRules, SpliceRun, Status, StockLength, cut, splice_anywhere
from bedplan.stock import splice_search as search_module
from bedplan.stock.covers import Cover, covers
from bedplan.stock.even_splices import evenly
from bedplan.stock.shares import gathered, shared_out
from bedplan.stock.splice_exact import fewest_pieces
from bedplan.stock.splice_task import Task, in_order
from bedplan.stock.stations import fewest_splices

TEN = [StockLength(100, 6.0)]


def test_splicing_saves_the_board_that_whole_runs_would_take():
    # 3 * 66 = 198 and two cuts of 1: exactly two boards of 100
    rules = SpliceRules(20)
    plan = splice_anywhere([66, 66, 66], TEN, 1, rules)
    assert cut([66, 66, 66], TEN, 1).buy == ((100, 3),)
    assert plan.cut.buy == ((100, 2),)
    assert plan.cut.proven
    assert (plan.splices, plan.fewest_splices) == (1, 1)
    # one unit more has no room for the cuts: 3 * 66 + 1 + 2 = 201 > 200
    assert splice_anywhere([66, 66, 67], TEN, 1, rules).cut.buy == ((100, 3),)


def test_a_run_that_fits_a_board_stays_whole_unless_that_saves_something():
    plan = splice_anywhere([90, 80, 10], TEN, 0, SpliceRules(5))
    assert plan.pieces == ((90,), (80,), (10,))


def test_the_least_piece_is_kept_though_it_costs_a_board():
    # 3 * 60 = 180 fits two boards, as 60 + 40 | 20 + 60: the 20 is too short for 25
    assert splice_anywhere([60] * 3, TEN, 0, SpliceRules(20)).cut.buy == ((100, 2),)
    assert splice_anywhere([60] * 3, TEN, 0, SpliceRules(30)).cut.buy == ((100, 2),)
    refused = splice_anywhere([60] * 3, TEN, 0, SpliceRules(31))
    assert (refused.cut.buy, refused.splices, refused.cut.proven) == (((100, 3),), 0, True)


def test_splices_keep_clear_of_the_ends_of_their_run():
    # 150 from two boards of 100: between 50 and 100 from either end
    (pieces,) = splice_anywhere([150], TEN, 0, SpliceRules(10, clear=60)).pieces
    assert sum(pieces) == 150
    assert min(pieces) >= 60
    hoop = [SpliceRun(150, clear=0)]
    assert splice_anywhere(hoop, TEN, 0, SpliceRules(10, clear=80)).splices == 1
    assert splice_anywhere([150], TEN, 0, SpliceRules(10, clear=70)).cut.buy == ((100, 2),)


def test_splices_are_staggered_from_those_of_the_tier_below():
    # two pieces are spliced between 50 and 100, three at 30 to 40 and 110 to 120
    free = SpliceRun(150, joints_below=(60,))
    plan = splice_anywhere([free], TEN, 0, SpliceRules(30, stagger=20))
    assert 80 <= plan.stations[0][0] <= 100
    assert plan.cut.proven
    tight = SpliceRun(150, joints_below=(60, 90))
    first, last = splice_anywhere([tight], TEN, 0, SpliceRules(30, stagger=20)).stations[0]
    assert 30 <= first <= 40
    assert 110 <= last <= 120


def test_stations_of_fewest_splices_are_found_or_there_are_none():
    rules = SpliceRules(30, stagger=20)
    assert fewest_splices(SpliceRun(100), rules, 100) == ()
    assert fewest_splices(SpliceRun(150), rules, 100) == (100,)
    assert fewest_splices(SpliceRun(150, joints_below=(60, 90)), rules, 100) == (40, 120)
    assert fewest_splices(SpliceRun(150, joints_below=(40, 75, 110)), rules, 100) is None
    assert fewest_splices(SpliceRun(59), rules, 50) is None


def test_leftovers_go_into_runs_before_anything_is_bought():
    plan = splice_anywhere([100], [StockLength(80, 5.0)], 2, SpliceRules(20), on_hand=[45, 60])
    assert plan.cut.buy == ()
    assert plan.cut.cost == 0.0
    assert sorted(b.stock_length for b in plan.cut.boards) == [45, 60]


def test_end_trims_come_off_before_pieces_are_taken():
    assert splice_anywhere([180], TEN, 0, SpliceRules(10), end_trim=5).cut.buy == ((100, 2),)
    assert splice_anywhere([181], TEN, 0, SpliceRules(10), end_trim=5).cut.buy == ((100, 3),)


def test_numbers_tell_from_which_board_every_piece_of_every_run_comes():
    plan = splice_anywhere([66, 150, 66], TEN, 1, SpliceRules(20))
    flat = [p for run in plan.pieces for p in run]
    assert sorted(n for b in plan.cut.boards for n in b.numbers) == list(range(len(flat)))
    for board in plan.cut.boards:
        assert tuple(flat[n] for n in board.numbers) == board.pieces


def test_lengths_stay_exact_in_nanometres():
    sixteenth = 1_587_500
    runs = [SpliceRun(sixteenth * n) for n in (1_111, 2_003, 907)]
    stock = [StockLength(sixteenth * 1536, 6.25)]
    plan = splice_anywhere(runs, stock, 3_175_000, SpliceRules(sixteenth * 200))
    assert [sum(run) for run in plan.pieces] == [run.length for run in runs]
    assert plan.cut.proven


def test_nothing_to_cover_costs_nothing():
    plan = splice_anywhere([], TEN, 1, SpliceRules(10))
    assert (plan.pieces, plan.cut.boards, plan.cut.cost, plan.splices) == ((), (), 0.0, 0)


@pytest.mark.parametrize(
    ("runs", "rules", "words"),
    [
        ([50], SpliceRules(0), "least piece 0 must be above zero"),
        ([50], SpliceRules(5, clear=-1), "splice clearance -1 must not be below zero"),
        ([50], SpliceRules(5, stagger=-2), "stagger -2 must not be below zero"),
        ([50], SpliceRules(2.5), "least piece 2.5 is not a whole number"),
        ([0], SpliceRules(5), "piece 0: a length must be above zero"),
        ([SpliceRun(50, clear=-3)], SpliceRules(5), "splice clearance -3 must not be below"),
        ([SpliceRun(50, None, (-3,))], SpliceRules(5), "station of a joint below -3 must not"),
        ([105, 105], SpliceRules(60), "2 runs of 105: longer than the longest board gives, 100"),
        ([150], SpliceRules(5, clear=101), "no splice leaves pieces of at least 5 with 101"),
    ],
)
def test_what_cannot_be_spliced_is_said_in_figures(runs, rules, words):
    with pytest.raises(StockError, match=words):
        splice_anywhere(runs, TEN, 0, rules)


def test_too_few_boards_are_told_with_what_is_missing():
    few = [StockLength(100, 6.0, limit=2)]
    with pytest.raises(StockError, match="give 200 with their kerf, the pieces need 201"):
        splice_anywhere([67, 67, 67], few, 0, SpliceRules(20))
    with pytest.raises(StockError, match=r"do not cover every run \(no way of splicing does\)"):
        splice_anywhere([60, 60, 60], few, 0, SpliceRules(31))


def test_every_fault_is_told_at_once():
    with pytest.raises(StockError) as caught:
        splice_anywhere([-5], [StockLength(100, 0.0)], -1, SpliceRules(0))
    for words in ("least piece 0", "piece -5", "price 0.0", "kerf -1"):
        assert words in str(caught.value)


def test_without_time_the_gap_is_told():
    plan = splice_anywhere([66, 66, 66], TEN, 1, SpliceRules(20), time_limit_s=0.0)
    assert not plan.cut.proven
    assert plan.cut.status is Status.TIME_LIMIT
    assert plan.cut.lower_bound <= 12.0 <= plan.cut.objective


def test_ctrl_c_returns_the_best_way_so_far(monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(search_module, "purchase", interrupted)
    plan = splice_anywhere([66, 66, 66], TEN, 1, SpliceRules(20))
    assert plan.cut.status is Status.INTERRUPTED
    assert (plan.cut.objective, plan.cut.lower_bound, plan.cut.proven) == (18.0, 0.0, False)


def test_ctrl_c_before_there_is_any_plan_is_passed_on(monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(search_module, "offer_cut", interrupted)
    with pytest.raises(KeyboardInterrupt):
        splice_anywhere([66, 66, 66], TEN, 1, SpliceRules(20))


def task(runs, room, rules, kerf=0, price=None, limit=None):
    made = tuple(SpliceRun(run) for run in runs)
    return Task(made, rules, kerf, room, price or (1,) * len(room), limit or (9,) * len(room))


def test_covers_come_cheapest_first_and_none_is_missing():
    wanted = task([70, 50, 45], (60, 40), SpliceRules(10), kerf=1, price=(7, 5), limit=(4, 4))
    found = [c for c in covers(wanted, (40, 8)) if isinstance(c, Cover)]
    assert [c.key for c in found] == sorted(c.key for c in found)
    expected = {
        (a, b)
        for a in range(5)
        for b in range(5)
        if 61 * a + 41 * b >= 165 + 3 and 60 * a + 40 * b >= 165
        if (7 * a + 5 * b, a + b) <= (40, 8)
    }
    assert {c.supply for c in found} == expected


def test_orders_of_pieces_keep_ends_long_and_joints_apart():
    rules = SpliceRules(10, clear=25, stagger=8)
    assert in_order(SpliceRun(70), rules, [10, 30, 30]) == (30, 10, 30)
    assert in_order(SpliceRun(70), rules, [30, 20, 20]) is None
    assert in_order(SpliceRun(70), rules, [30, 9, 31]) is None
    assert in_order(SpliceRun(70, joints_below=(35,)), rules, [30, 10, 30]) is None
    assert in_order(SpliceRun(90, joints_below=(30,)), rules, [50, 40]) == (50, 40)
    assert in_order(SpliceRun(90, joints_below=(50,)), rules, [50, 40]) == (40, 50)
    assert in_order(SpliceRun(71), rules, [30, 40]) is None


def test_shares_meet_every_run_and_keep_one_offcut_long():
    wanted = task([70, 70], (100,), SpliceRules(20))
    links = {(0, 0): 70, (0, 1): 20, (1, 1): 20}
    sawn = shared_out(wanted, (0, 0), links, target=1)
    assert dict(sawn[1][1]) == {1: 40}
    assert shared_out(wanted, (0, 0), {(0, 0): 70, (1, 1): 20}) == (
        (0, ((0, 70),)),
        (0, ((1, 70),)),
    )
    assert shared_out(wanted, (0,), {(0, 0): 70, (0, 1): 20}) is None
    uneven = ((0, ((0, 70), (1, 22))), (0, ((1, 48),)))
    assert max(100 - sum(p for _, p in c) for _, c in gathered(wanted, uneven)) == 60


def test_the_model_proves_what_a_supply_cannot_do():
    assert fewest_pieces(task([60] * 3, (100,), SpliceRules(30)), (2,), 5).fewest == 4
    assert fewest_pieces(task([60] * 3, (100,), SpliceRules(31)), (2,), 5).fewest is None


def test_even_splices_are_equal_or_keep_short_ends():
    rules = SpliceRules(10, clear=30)
    assert evenly(SpliceRun(90), rules, 100) == [90]
    assert evenly(SpliceRun(151), rules, 100) == [76, 75]
    assert evenly(SpliceRun(79), rules, 30) == [30, 30, 19]
    assert evenly(SpliceRun(65), rules, 60) == [33, 32]
    assert evenly(SpliceRun(59), rules, 50) is None
