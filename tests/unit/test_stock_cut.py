"""Cut lists small enough to check by hand.

Expected figures are worked out beside each case; "L19" is a row of the table of check values.
"""

from __future__ import annotations

import subprocess
import sys
from random import Random
from time import monotonic

import pytest

from bedplan.errors import BedplanError, StockError
from bedplan.stock import Status, StockLength, cut
from bedplan.stock import solve as solve_module

INCH_64 = 396_875  # nm
INCH = 64 * INCH_64
FOOT = 12 * INCH


def bought(plan):
    return dict(plan.buy)


@pytest.mark.parametrize(
    ("pieces", "boards"),
    [
        (3, 1),  # L19: 3 * 24 + 2 * 1/8 = 72.25 <= 96
        (4, 2),  # L19: 4 * 24 + 3 * 1/8 = 96.375 > 96
    ],
)
def test_two_foot_pieces_from_an_eight_foot_board_with_an_eighth_of_kerf(pieces, boards):
    plan = cut([24 * INCH] * pieces, [StockLength(96 * INCH)], INCH // 8)
    assert bought(plan) == {96 * INCH: boards}
    assert plan.proven
    assert plan.status is Status.OPTIMAL


def test_four_fit_without_kerf():
    plan = cut([24 * INCH] * 4, [StockLength(96 * INCH)])
    assert bought(plan) == {96 * INCH: 1}
    assert plan.boards[0].offcut == 0
    assert plan.boards[0].kerf_loss == 0


def test_pieces_that_exactly_fill_the_board_need_one_cut_fewer():
    # 40 + 2 + 58 = 100
    plan = cut([40, 58], [StockLength(100)], kerf=2)
    (board,) = plan.boards
    assert (board.pieces, board.kerf_loss, board.offcut) == ((58, 40), 2, 0)


def test_a_remainder_thinner_than_the_saw_is_dust():
    # 40 + 3 + 55 = 98; the 2 left over are less than the 3 the saw would take
    (board,) = cut([40, 55], [StockLength(100)], kerf=3).boards
    assert (board.kerf_loss, board.offcut) == (5, 0)


def test_one_unit_too_long_takes_a_second_board():
    assert bought(cut([40, 59], [StockLength(100)], kerf=2)) == {100: 2}


def test_end_trim_comes_off_both_ends():
    (board,) = cut([40, 50], [StockLength(100)], kerf=2, end_trim=4).boards
    # usable 92 = 50 + 2 + 40
    assert board.stock_length == sum(board.pieces) + board.kerf_loss + board.offcut + 2 * 4
    assert board.offcut == 0
    assert bought(cut([40, 51], [StockLength(100)], kerf=2, end_trim=4)) == {100: 2}


def test_nothing_to_cut_costs_nothing():
    plan = cut([], [StockLength(100, 5.0)])
    assert (plan.boards, plan.buy, plan.cost, plan.proven) == ((), (), 0.0, True)


def test_cheapest_length_is_not_the_longest():
    # one 8 ft board for 9 holds both; two 4 ft boards cost 2 * 3 = 6
    plan = cut([48, 48], [StockLength(48, 3.0), StockLength(96, 9.0)])
    assert bought(plan) == {48: 2}
    assert plan.cost == 6.0
    assert plan.lower_bound == 6.0


def test_equal_cost_takes_fewer_boards():
    plan = cut([48, 48], [StockLength(48, 3.0), StockLength(96, 6.0)])
    assert bought(plan) == {96: 1}


def test_mixed_lengths_beat_any_single_length():
    # pieces 7 and 5 ft: 8 ft (6.25) + 6 ft (4.10) = 10.35 < 12 ft alone 9.90 only without kerf
    pieces = [7 * FOOT, 5 * FOOT]
    feet = {6: 4.10, 8: 6.25, 12: 9.90}
    stock = [StockLength(length * FOOT, price) for length, price in feet.items()]
    assert cut(pieces, stock).cost == 9.90
    plan = cut(pieces, stock, INCH // 8)
    assert plan.cost == 10.35
    assert bought(plan) == {6 * FOOT: 1, 8 * FOOT: 1}


def test_without_prices_the_total_length_is_least():
    # 70 + 50 needs 120: as 72 + 50 = 122, or one of 130
    plan = cut([70, 50], [StockLength(72), StockLength(50), StockLength(130)])
    assert plan.objective == 122
    assert plan.cost is None


def test_leftovers_are_free_and_used_before_buying():
    plan = cut([30, 40], [StockLength(96, 6.0)], kerf=1, on_hand=[44, 31])
    assert plan.buy == ()
    assert plan.cost == 0.0
    assert [b.stock_length for b in plan.boards] == [44, 31]
    assert all(b.on_hand for b in plan.boards)


def test_each_leftover_is_one_board():
    plan = cut([30, 30, 30], [StockLength(35, 2.0)], on_hand=[31, 31])
    assert bought(plan) == {35: 1}
    assert sum(b.on_hand for b in plan.boards) == 2


def test_a_leftover_too_short_for_anything_stays_on_the_pile():
    plan = cut([30], [StockLength(35)], on_hand=[29])
    assert not any(b.on_hand for b in plan.boards)


def test_a_limit_forces_the_next_length():
    stock = [StockLength(100, 5.0, limit=1), StockLength(120, 8.0)]
    plan = cut([100, 100], stock)
    assert bought(plan) == {100: 1, 120: 1}
    assert plan.cost == 13.0


def test_an_unknown_price_makes_the_cost_unknown_not_zero():
    plan = cut([90], [StockLength(50, 2.0), StockLength(100)])
    assert plan.cost is None
    assert plan.objective == 4.0  # 100 at the highest known price per length, 2 / 50


def test_an_unknown_price_that_is_not_bought_does_no_harm():
    plan = cut([45], [StockLength(50, 2.0), StockLength(100)])
    assert plan.cost == 2.0


def test_prices_are_decimals_not_binary_fractions():
    plan = cut([60] * 3, [StockLength(100, 0.1)])
    assert plan.cost == 0.3
    assert plan.objective == 0.3


def test_the_offcut_is_kept_in_one_piece():
    # 5 + 5 and 3 + 3 leave 1 and 5; 5 + 3 + 3 and 5 leave 0 and 6
    plan = cut([5, 5, 3, 3], [StockLength(11)])
    assert sorted(b.offcut for b in plan.boards) == [0, 6]


def test_sawing_order_is_longest_first():
    plan = cut([10, 30, 20], [StockLength(100)])
    assert plan.boards[0].pieces == (30, 20, 10)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (([80, 70, 60], [StockLength(65)]), ["1 piece of 80", "by 15", "1 piece of 70", "by 5"]),
        (([70, 70], [StockLength(65)]), ["2 pieces of 70"]),
        (([10], []), ["no stock"]),
        (([2.5], [StockLength(65)]), ["2.5 is not a whole number"]),
        (([0], [StockLength(65)]), ["piece 0", "above zero"]),
        (([-3], [StockLength(65)]), ["piece -3"]),
        (([5], [StockLength(0)]), ["stock 0"]),
        (([5], [StockLength(10, 0.0)]), ["price 0.0"]),
        (([5], [StockLength(10, float("nan"))]), ["price nan"]),
        (([5], [StockLength(10, None, -1)]), ["limit -1"]),
        (([5], [StockLength(10)], -1), ["kerf -1"]),
        (([9, 9, 9], [StockLength(10, 1.0, 2)]), ["need 27", "20"]),
        (([6, 6, 6], [StockLength(10, 1.0, 2)]), ["no cut plan can do without more", "6"]),
        (([20, 20], [StockLength(20, 1.0, 1), StockLength(10, 1.0)]), ["more); left over: 20"]),
    ],
)
def test_what_cannot_be_cut_is_said_in_figures(arguments, words):
    with pytest.raises(StockError) as caught:
        cut(*arguments)
    assert isinstance(caught.value, BedplanError)
    for word in words:
        assert word in str(caught.value)


def test_trims_and_leftovers_are_checked_too():
    with pytest.raises(StockError, match="end trim -2"):
        cut([5], [StockLength(10)], end_trim=-2)
    with pytest.raises(StockError, match="leftover -7"):
        cut([5], [StockLength(10)], on_hand=[-7])
    with pytest.raises(StockError, match=r"longest board, 10 \(6 after trimming both ends by 2\)"):
        cut([7], [StockLength(10)], end_trim=2)


# quick bounds reach 15.10 and heuristics 16.00: only the solver can tell
NEEDS_SOLVER = [44, 68, 46, 22, 36, 52, 51, 45]


def test_without_time_the_answer_is_a_plan_with_its_gap_and_no_proof():
    stock = [StockLength(100, 4.0), StockLength(71, 3.1)]
    plan = cut(NEEDS_SOLVER, stock, kerf=1, time_limit_s=0.0)
    assert sorted(p for b in plan.boards for p in b.pieces) == sorted(NEEDS_SOLVER)
    assert (plan.objective, plan.lower_bound, plan.proven) == (16.0, 15.1, False)
    assert plan.status is Status.TIME_LIMIT
    assert plan.gap == pytest.approx(0.9 / 16.0)
    assert cut(NEEDS_SOLVER, stock, kerf=1).proven


def test_ctrl_c_returns_the_best_plan_so_far(monkeypatch):
    def interrupted(search):
        raise KeyboardInterrupt

    monkeypatch.setattr(solve_module, "first_bounds", lambda _: None)
    monkeypatch.setattr("bedplan.stock.exact.prove", interrupted)
    plan = cut([60, 60, 30], [StockLength(100)])
    assert plan.status is Status.INTERRUPTED
    assert not plan.proven
    assert plan.lower_bound == 0
    assert sum(len(b.pieces) for b in plan.boards) == 3


def test_an_easy_cut_list_never_loads_the_solver_and_a_hard_one_prints_nothing():
    program = (
        "import sys; from bedplan.stock import cut, StockLength as S;"
        "cut([24] * 3, [S(96, 5.0)], 1);"
        "assert 'highspy' not in sys.modules;"
        f"cut({NEEDS_SOLVER}, [S(100, 4.0), S(71, 3.1)], 1);"
        "assert 'highspy' in sys.modules"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_every_piece_asked_for_is_traced_to_its_board():
    pieces = [30, 60, 30, 25, 60]
    plan = cut(pieces, [StockLength(100)], kerf=1, on_hand=[31])
    assert sorted(n for board in plan.boards for n in board.numbers) == [0, 1, 2, 3, 4]
    for board in plan.boards:
        assert tuple(pieces[n] for n in board.numbers) == board.pieces
    assert plan.boards[0].numbers == (0,)  # of equal pieces the first asked for is sawn first


def test_a_kerf_wider_than_a_piece_is_cut_as_asked_and_asked_back():
    plan = cut([2, 50, 40], [StockLength(100)], kerf=3)
    assert bought(plan) == {100: 1}  # 50 + 3 + 40 + 3 + 2 = 98
    assert plan.notes == (
        "the saw takes 3, no less than the shortest piece, 2: is the kerf in the same unit as "
        "the lengths?",
    )
    assert cut([4, 50, 40], [StockLength(100)], kerf=3).notes == ()


def test_leftovers_of_no_use_are_named():
    plan = cut([30], [StockLength(35)], on_hand=[29, 31, 12])
    assert plan.notes == ("leftovers too short for any piece, 30: 12, 29",)


def test_a_kerf_wider_than_any_board_still_leaves_one_piece_a_board():
    assert bought(cut([40, 40], [StockLength(100)], kerf=500)) == {100: 2}


def test_thousands_of_pieces_are_cut_within_the_time():
    random = Random(1)
    lengths = [random.randint(200, 900) for _ in range(40)]
    pieces = [random.choice(lengths) for _ in range(4_000)]
    began = monotonic()
    plan = cut(pieces, [StockLength(1000, 4.0), StockLength(1500, 5.5)], 2, time_limit_s=1.0)
    assert monotonic() - began < 6.0
    assert sorted(p for board in plan.boards for p in board.pieces) == sorted(pieces)
    assert plan.lower_bound <= plan.objective
    assert plan.gap < 0.25


def test_the_time_limit_holds_for_lists_without_two_equal_pieces():
    random = Random(2)
    pieces = random.sample(range(200_000, 900_000), 1_500)
    began = monotonic()
    plan = cut(pieces, [StockLength(1_000_000, 4.0)], 2_000, time_limit_s=0.5)
    assert monotonic() - began < 5.0
    assert plan.gap < 0.25
