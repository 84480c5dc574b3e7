"""The thorough part of the search (layer: engines, stock).

The continuous bound by column generation, rounding, and then the exact step: every pattern a
better plan could use is listed, and the best choice among them made by a whole-number model.
That choice is a proof when the list is complete.
"""

from __future__ import annotations

from fractions import Fraction

from bedplan.stock.columns import Duals, Relaxation, relax
from bedplan.stock.integer import choose
from bedplan.stock.knapsack import Grid, grid_of
from bedplan.stock.patterns import Listing, list_patterns
from bedplan.stock.problem import Board, Problem, Search
from bedplan.stock.rounding import round_off

FEW = 4_000
"""Patterns in the first whole-number model; each later one may hold four times as many."""
NARROWER = 4
"""By what the gap is divided when it holds too many patterns."""


def prove(search: Search) -> None:
    """Search on from a known plan until it is proven or improved, or the time is up."""
    grid = grid_of(search.problem)
    relaxation = relax(search, grid, [*search.boards, *singles(search.problem)])
    round_off(search, relaxation)
    most = FEW
    while not search.closed and search.seconds_left:
        select(search, grid, relaxation, most)
        most *= 4


def singles(problem: Problem) -> list[Board]:
    """Return for each size and kind the board that holds nothing but as many as wanted."""
    return [
        (k, (i,) * min(d, problem.capacity[k] // s))
        for k in problem.kinds
        for i, (s, d) in enumerate(zip(problem.sizes, problem.demand, strict=True))
        if s <= problem.capacity[k]
    ]


def select(search: Search, grid: Grid, relaxation: Relaxation, most: int) -> None:
    """Make the best choice among the patterns of least reduced cost, at most so many.

    Raises the search's bound when they are all a better plan could use.
    """
    problem, duals = search.problem, relaxation.duals
    gap = search.cost - 1 - duals.bound
    listing = narrowed(problem, grid, duals, gap, most)
    whole = listing.complete and len(listing.boards) <= most
    boards = listing.boards[:most]
    choice = choose(problem, boards, search.cost, search.seconds_left)
    if choice.boards is not None:
        search.offer(choice.boards)
    if whole and choice.bound is not None:
        search.raise_bound(min(search.cost, choice.bound))


def narrowed(
    problem: Problem, grid: Grid, duals: Duals, gap: Fraction, most: int
) -> Listing:
    """Return the patterns within a gap, or a sample of those nearest to being worth their cost."""
    listing = list_patterns(problem, grid, duals, gap)
    while not listing.complete and gap > Fraction(1, 10**6) and len(listing.boards) > most:
        gap /= NARROWER
        finer = list_patterns(problem, grid, duals, gap)
        if len(finer.boards) < most:
            break
        listing = Listing(finer.boards, complete=False)
    return listing
