"""What holds however runs are spliced, attacked with random ones and compared with brute force."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.errors import StockError
from bedplan.stock import SpliceRules, SpliceRun, StockLength, cut, splice_anywhere


@st.composite
def runs_to_cover(draw, most=3, longest=16):
    """A small list of runs that may or may not be possible to cover."""
    trim = draw(st.integers(0, 1))
    lengths = draw(st.lists(st.integers(8, 14), min_size=1, max_size=2, unique=True))
    limits = st.one_of(st.none(), st.none(), st.integers(1, 3))
    joints = st.lists(st.integers(1, 14), max_size=2).map(tuple)
    run = st.builds(SpliceRun, st.integers(2, longest), st.none(), joints)
    return {
        "runs": draw(st.lists(run, min_size=1, max_size=most)),
        "stock": [StockLength(n, float(draw(st.integers(1, 20))), draw(limits)) for n in lengths],
        "kerf": draw(st.integers(0, 2)),
        "rules": SpliceRules(
            draw(st.integers(2, 5)), draw(st.integers(0, 5)), draw(st.integers(0, 2))
        ),
        "end_trim": trim,
        "on_hand": draw(st.lists(st.integers(3, 12), max_size=2)),
    }


def solved(case, **more):
    try:
        return splice_anywhere(**case, **more)
    except StockError:
        return None


def keeps(run, rules, pieces):
    """Whether pieces laid in this order keep the rules, straight from their words."""
    if len(pieces) == 1:
        return True
    clear = rules.clear if run.clear is None else run.clear
    joints = [sum(pieces[:i]) for i in range(1, len(pieces))]
    return (
        min(pieces) >= rules.least_piece
        and all(clear <= joint <= run.length - clear for joint in joints)
        and all(abs(j - s) >= rules.stagger for j in joints for s in run.joints_below)
    )


def compositions(length, least):
    yield (length,)
    for first in range(least, length - least + 1):
        for rest in compositions(length - first, least):
            yield (first, *rest)


def brute(case):
    """Return the least (cost, boards, splices) over every way to splice and to saw, or None."""
    rules, trim, kerf = case["rules"], 2 * case["end_trim"], case["kerf"]
    kinds = [(s.length - trim, s.price, s.limit) for s in case["stock"]]
    kinds += [(length - trim, 0, 1) for length in case["on_hand"]]
    longest = max(length for length, _, _ in kinds)

    @cache
    def sawn(rest, left):
        if not rest:
            return (0, 0)
        answers = []
        for mask in range(1 << (len(rest) - 1)):
            group = [rest[0], *(p for i, p in enumerate(rest[1:]) if mask >> i & 1)]
            others = tuple(p for i, p in enumerate(rest[1:]) if not mask >> i & 1)
            for k, (length, price, _) in enumerate(kinds):
                if left[k] != 0 and sum(group) + kerf * (len(group) - 1) <= length:
                    after = tuple(n if n is None else n - (j == k) for j, n in enumerate(left))
                    tail = sawn(others, after)
                    if tail is not None:
                        answers.append((tail[0] + price, tail[1] + (price > 0)))
        return min(answers, default=None)

    ways = [
        {
            tuple(sorted(c, reverse=True))
            for c in compositions(run.length, rules.least_piece)
            if max(c) <= longest and keeps(run, rules, c)
        }
        for run in case["runs"]
    ]
    found = []
    for choice in product(*ways):
        pieces = tuple(sorted((p for way in choice for p in way), reverse=True))
        bought = sawn(pieces, tuple(n for _, _, n in kinds))
        if bought is not None:
            found.append((*bought, len(pieces) - len(ways)))
    return min(found, default=None)


@settings(max_examples=120, deadline=None)
@given(runs_to_cover(longest=13))
def test_no_way_to_splice_is_better_than_claimed(case):
    expected, plan = brute(case), solved(case, time_limit_s=3)
    assert (plan is None) == (expected is None)
    if plan is None:
        return
    assert plan.cut.lower_bound <= expected[0]
    if plan.cut.proven:
        assert plan.cut.objective == expected[0]
        assert sum(n for _, n in plan.cut.buy) == expected[1]
        assert plan.fewest_splices <= expected[2] <= plan.splices


@settings(max_examples=40, deadline=None)
@given(runs_to_cover(most=8, longest=40))
def test_runs_are_covered_by_the_rules_and_boards_add_up(case):
    plan = solved(case, time_limit_s=0.5)
    if plan is None:
        return
    for run, pieces in zip(case["runs"], plan.pieces, strict=True):
        assert sum(pieces) == run.length
        assert keeps(run, case["rules"], pieces)
    flat = [p for run in plan.pieces for p in run]
    assert sorted(n for b in plan.cut.boards for n in b.numbers) == list(range(len(flat)))
    for board in plan.cut.boards:
        assert [flat[n] for n in board.numbers] == list(board.pieces)
        room = board.stock_length - 2 * case["end_trim"]
        assert sum(board.pieces) + (len(board.pieces) - 1) * case["kerf"] <= room
    limits = {s.length: s.limit for s in case["stock"]}
    assert all(limits[length] is None or n <= limits[length] for length, n in plan.cut.buy)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(30, 260), min_size=1, max_size=9), st.integers(0, 2))
def test_splicing_anywhere_never_costs_more_than_splicing_evenly(lengths, kerf):
    stock = [StockLength(96, 6.25), StockLength(144, 9.45)]
    pieces = []
    for length in lengths:
        count = -(-length // 144)
        pieces += [length // count + (i < length % count) for i in range(count)]
    plan = splice_anywhere(lengths, stock, kerf, SpliceRules(24, clear=24), time_limit_s=0.5)
    assert plan.cut.cost <= cut(pieces, stock, kerf).cost + 1e-9
    material = sum(lengths) / 144 * 9.45
    assert plan.cut.lower_bound >= min(material, sum(lengths) / 96 * 6.25) - 1e-9


def test_random_runs_are_brute_forced_with_long_pieces_too():
    # two runs of 16 in boards of 14 and 9: longer than any board, so spliced in every way
    case = {
        "runs": [SpliceRun(16), SpliceRun(15, 4)],
        "stock": [StockLength(14, 7.0), StockLength(9, 4.0)],
        "kerf": 1,
        "rules": SpliceRules(3),
        "end_trim": 0,
        "on_hand": [6],
    }
    plan = splice_anywhere(**case)
    expected = brute(case)
    assert (plan.cut.cost, sum(n for _, n in plan.cut.buy)) == pytest.approx(expected[:2])
    assert plan.splices == expected[2]
