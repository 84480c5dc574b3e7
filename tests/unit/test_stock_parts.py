"""Single parts of the stock engine against enumeration of everything."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import inf
from random import Random
from time import monotonic

import pytest

from bedplan.stock import StockLength, cut
from bedplan.stock.arcflow import flow
from bedplan.stock.bounds import arguments, cheapest_cover
from bedplan.stock.columns import Master, Rest, settle
from bedplan.stock.dive import Diver
from bedplan.stock.exact import bounded
from bedplan.stock.heuristics import decreasing, filled, tightest_fill
from bedplan.stock.knapsack import grid_of, tabulate
from bedplan.stock.offcut import concentrated
from bedplan.stock.patterns import list_patterns
from bedplan.stock.problem import Problem, Search, is_plan, served

PROBLEM = Problem((7, 5, 3), (2, 3, 4), (16, 11), (5, 4), (9, 2))


def random_problem(seed, most=12):
    random = Random(seed)
    sizes = sorted(random.sample(range(9, 40), 5), reverse=True)
    demand = tuple(random.randint(1, 3) for _ in sizes)
    longest = random.randint(60, 80)
    capacity = (longest, random.randint(41, 59))
    cost = (random.randint(8, most), random.randint(5, 8))
    return Problem(tuple(sizes), demand, capacity, cost, (sum(demand),) * 2)


def all_patterns(problem, kind):
    """Every pattern that fits a kind of board."""
    counts = product(*(range(d + 1) for d in problem.demand))
    for count in counts:
        pattern = tuple(i for i, n in enumerate(count) for _ in range(n))
        if problem.load(pattern) <= problem.capacity[kind]:
            yield pattern


def test_a_plan_must_fit_be_complete_and_use_only_boards_there_are():
    good = [(0, (0, 0)), (1, (1, 1)), (1, (1, 2, 2)), (0, (2, 2))]
    assert is_plan(PROBLEM, good)
    assert not is_plan(PROBLEM, good[:-1])
    assert not is_plan(PROBLEM, [*good, (0, (2,))])
    assert not is_plan(PROBLEM, [(0, (0, 0, 2)), *good[1:3], (0, (2,))])  # 17 in 16
    three_short = [(0, (0, 0)), (1, (1, 1)), (1, (1, 2, 2)), (1, (2, 2))]
    assert not is_plan(PROBLEM, three_short)


def test_a_search_keeps_only_better_and_valid_plans():
    search = Search(PROBLEM, deadline=monotonic())
    assert not search.offer([(0, (0, 0))])
    assert search.offer([(0, (0, 0)), (0, (1, 1, 1)), (0, (2, 2, 2, 2))])
    assert search.cost == 15
    assert not search.offer([(0, (0, 0)), (0, (1, 1)), (0, (1, 2)), (0, (2, 2, 2))])


def test_longer_pieces_serve_for_shorter_ones_and_never_the_other_way():
    # a 7 too many serves as the missing 5; a missing 7 has nothing to serve for it
    boards = [(0, (0, 0)), (0, (0, 1)), (0, (1, 2, 2)), (0, (2, 2))]
    plan = served(PROBLEM, boards)
    assert plan is not None
    assert is_plan(PROBLEM, plan)
    assert served(PROBLEM, [(0, (0, 1)), (0, (1, 1, 1)), (0, (2, 2, 2, 2))]) is None
    assert served(PROBLEM, [(0, (0, 0))]) is None


def test_pieces_too_many_are_left_out_and_empty_boards_dropped():
    boards = [(0, (0, 0)), (0, (1, 1, 1)), (0, (2, 2, 2, 2)), (1, (2,)), (0, (2,))]
    plan = served(PROBLEM, boards)
    assert is_plan(PROBLEM, plan)
    assert len(plan) <= 4


@pytest.mark.parametrize("seed", range(20))
def test_cheapest_cover_is_the_least_of_all_covers(seed):
    random = Random(seed)
    limit = tuple(random.randint(1, 6) for _ in range(3))
    cost = tuple(random.randint(1, 30) for _ in range(3))
    worth = [random.randint(1, 25) for _ in range(3)]
    problem = Problem((1,), (60,), (25, 25, 25), cost, limit)
    total = random.randint(1, 90)
    covers = [
        sum(c * n for c, n in zip(cost, counts, strict=True))
        for counts in product(*(range(n + 1) for n in limit))
        if sum(w * n for w, n in zip(worth, counts, strict=True)) >= total
    ]
    least = min(covers, default=inf)
    found = cheapest_cover(problem, worth, total)
    assert found == least if covers else found > 10**9


@pytest.mark.parametrize("seed", range(15))
def test_no_pattern_is_worth_more_than_a_bounding_argument_says(seed):
    problem = random_problem(seed)
    for worth, total in arguments(problem):
        assert total >= 0
        best = [0] * len(worth)
        for k in problem.kinds:
            longest = max(problem.load(p) for p in all_patterns(problem, k))
            best[k] = longest
        if worth == list(problem.capacity):
            assert all(w >= b for w, b in zip(worth, best, strict=True))
        else:
            assert cheapest_cover(problem, worth, total) <= cut_cost(problem)


def cut_cost(problem):
    """Optimum by the front door; the laws compare that with brute force."""
    pieces = [s for s, d in zip(problem.sizes, problem.demand, strict=True) for _ in range(d)]
    stock = [StockLength(c, float(p)) for c, p in zip(problem.capacity, problem.cost, strict=True)]
    return cut(pieces, stock).cost


@pytest.mark.parametrize("seed", range(10))
def test_tables_hold_the_best_value_of_all_patterns(seed):
    problem, random = random_problem(seed), Random(seed)
    values = [random.randint(0, 50) for _ in problem.sizes]
    tables = tabulate(problem.sizes, values, problem.demand, problem.capacity[0])
    for k in problem.kinds:
        best = max(sum(values[i] for i in p) for p in all_patterns(problem, k))
        assert tables.best(problem.capacity[k]) == best
        found = tables.pattern(problem.capacity[k])
        assert sum(values[i] for i in found) == best
        assert problem.load(found) <= problem.capacity[k]


def serves(better, pattern):
    """Whether each piece of a pattern has a place at least as long in another one."""
    return all(sum(j <= i for j in better) >= sum(j <= i for j in pattern) for i in pattern)


def settled(problem):
    search = Search(problem, deadline=monotonic() + 20)
    master = Master(problem, grid_of(problem))
    return search, master, settle(master, search, Rest(problem.demand, problem.limit))


@pytest.mark.parametrize("seed", range(10))
def test_duals_are_feasible_for_every_pattern(seed):
    problem = random_problem(seed)
    duals = settled(problem)[2].duals
    for k in problem.kinds:
        due = problem.cost[k] * duals.scale + duals.rent[k]
        assert all(sum(duals.values[i] for i in p) <= due for p in all_patterns(problem, k))
    assert list(duals.values) == sorted(duals.values, reverse=True)
    assert duals.bound <= cut_cost(problem)


@pytest.mark.parametrize("seed", range(12))
def test_with_few_boards_the_bound_is_still_below_the_optimum(seed):
    problem = random_problem(seed)
    few = replace(problem, limit=(problem.limit[0], 1 + seed % 3))
    stock = [StockLength(few.capacity[0], float(few.cost[0]))]
    stock.append(StockLength(few.capacity[1], float(few.cost[1]), limit=few.limit[1]))
    pieces = [s for s, d in zip(few.sizes, few.demand, strict=True) for _ in range(d)]
    duals = settled(few)[2].duals
    assert duals.bound <= cut(pieces, stock).cost
    for k in few.kinds:
        due = few.cost[k] * duals.scale + duals.rent[k]
        assert all(sum(duals.values[i] for i in p) <= due for p in all_patterns(few, k))


def stretched(problem, seed):
    """The same problem in lengths so long and odd that their table needs a coarse grid."""
    random = Random(seed)
    sizes = sorted((s * 10**7 + random.randint(0, 10**6) for s in problem.sizes), reverse=True)
    exact_fit = sizes[0] + 2 * sizes[-1]  # a board some pattern fills to the last unit
    return replace(problem, sizes=tuple(sizes), capacity=(exact_fit, exact_fit - sizes[-1] - 1))


@pytest.mark.parametrize("seed", range(12))
def test_on_a_coarse_grid_the_duals_are_feasible_and_as_good_as_exact_ones(seed):
    problem = stretched(random_problem(seed), seed)
    search, master, _ = settled(problem)
    assert not master.grid.exact
    duals = bounded(search, master)[1]
    for k in problem.kinds:
        due = problem.cost[k] * duals.scale + duals.rent[k]
        assert all(sum(duals.values[i] for i in p) <= due for p in all_patterns(problem, k))
    master.add((k, p) for k in problem.kinds for p in all_patterns(problem, k) if p)
    use = settle(master, search, Rest(problem.demand, problem.limit)).use
    continuous = sum(u * problem.cost[k] for u, (k, _) in zip(use, master.boards, strict=True))
    assert float(duals.bound) == pytest.approx(continuous, rel=1e-6)


def test_the_room_to_spare_is_gathered_on_one_board():
    # (5, 3) and (5, 3) in 11 leave 3 + 3; (5, 3, 3) and (5) leave 0 + 6
    problem = Problem((5, 3), (2, 2), (11,), (1,), (4,))
    boards = concentrated(problem, ((0, (0, 1)), (0, (0, 1))))
    assert is_plan(problem, boards)
    assert sorted(11 - problem.load(p) for _, p in boards) == [0, 6]


def test_exchanging_pieces_gathers_room_too():
    # (6, 2) and (5, 2) in 10: nothing moves into 2 or 3 but the 2, and then 6 against 5
    problem = Problem((6, 5, 2), (1, 1, 2), (10,), (1,), (4,))
    boards = concentrated(problem, ((0, (0, 2)), (0, (1, 2))))
    assert is_plan(problem, boards)
    assert sorted(10 - problem.load(p) for _, p in boards) == [0, 5]


@pytest.mark.parametrize("seed", range(10))
def test_listed_patterns_are_those_of_small_reduced_cost_that_nothing_dominates(seed):
    problem = random_problem(seed)
    duals = settled(problem)[2].duals
    gap = problem.cost[1]
    listing = list_patterns(problem, grid_of(problem), duals, gap)
    assert listing.complete
    listed = set(listing.boards)
    assert len(listed) == len(listing.boards)
    for k in problem.kinds:
        near = [
            p for p in all_patterns(problem, k)
            if problem.cost[k] * duals.scale - sum(duals.values[i] for i in p) <= gap * duals.scale
        ]  # fmt: skip
        assert all(p in near for kind, p in listed if kind == k)
        # every pattern left out is matched by a listed one, place by place as long
        for pattern in near:
            assert any(
                problem.cost[kind] <= problem.cost[k] and serves(better, pattern)
                for kind, better in listed
            ), (pattern, k)


@pytest.mark.parametrize("seed", range(12))
def test_flow_finds_the_optimum_and_proves_that_there_is_no_better(seed):
    problem = random_problem(seed)
    duals, best = settled(problem)[2].duals, round(cut_cost(problem))
    grid = grid_of(problem)
    found = flow(problem, grid, duals, best + 1, 20)
    assert found.boards is not None
    assert is_plan(problem, found.boards)
    assert problem.price(found.boards) == best
    none = flow(problem, grid, duals, best, 20)
    assert (none.boards, none.bound) == (None, best)


@pytest.mark.parametrize("seed", range(8))
def test_dives_only_ever_offer_valid_plans(seed):
    problem = random_problem(seed)
    search, master, _ = settled(problem)
    assert search.offer(decreasing(problem, problem.demand, 0, tightest=False))
    diver = Diver(search, master)
    best = cut_cost(problem)
    for _ in range(20):
        if diver.starts:
            diver.dive()
        assert is_plan(problem, search.boards)
        assert search.lower <= best <= search.cost


@pytest.mark.parametrize("seed", range(10))
def test_heuristics_give_valid_plans(seed):
    problem = random_problem(seed)
    for k in problem.kinds:
        for tightest in (False, True):
            boards = decreasing(problem, problem.demand, k, tightest=tightest)
            assert is_plan(problem, boards)
        assert is_plan(problem, filled(problem, problem.demand, k))


@pytest.mark.parametrize("seed", range(10))
def test_the_tightest_fill_with_the_longest_piece_is_found(seed):
    problem = random_problem(seed)
    capacity = problem.capacity[0]
    fits = [p for p in all_patterns(problem, 0) if 0 in p]
    found = tightest_fill(problem, problem.demand, capacity)
    assert 0 in found
    assert problem.load(found) == max(problem.load(p) for p in fits)
    assert found in fits
