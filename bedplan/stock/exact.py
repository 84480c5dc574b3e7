"""The thorough part of the search (layer: engines, stock).

The continuous bound by column generation, rounding, and dives; and the exact step: every
pattern a better plan could use is listed, and the best choice among them made by a whole-number
model. That choice is a proof when the list is complete.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate
from math import ceil

from bedplan.stock.arcflow import flow
from bedplan.stock.branch import branch
from bedplan.stock.columns import Duals, Master, Prices, Relaxation, Rest, settle
from bedplan.stock.dive import Diver
from bedplan.stock.integer import Selection, choose
from bedplan.stock.knapsack import grid_of
from bedplan.stock.patterns import Listing, list_patterns
from bedplan.stock.problem import Problem, Search
from bedplan.stock.rounding import round_off

DIVES = 4
"""Dives before the first whole-number model; each round doubles the figures."""
FEW = 2_000
"""Patterns in the first whole-number model."""
NODES = 200_000
"""Columns in all the linear programmes solved before the first whole-number model."""
MANY = 60
"""Patterns added at a time when the grid is coarse."""
TRIM = 10**8
"""Share of a price that is taken off so that rounding makes no pattern pay."""
SLICE_S = 1.0
"""Time for the first whole-number model over patterns [s]."""
FLOW_S = 15.0
"""Time for a whole-number model over arcs, in the same measure [s]."""
PATIENCE = 4
"""Effort from which arcs are tried when the patterns are too many to list."""


def prove(search: Search) -> None:
    """Search on from a known plan until it is proven best, or the time is up."""
    problem = search.problem
    master = Master(problem, grid_of(problem))
    master.add(search.boards)
    relaxation, duals = bounded(search, master)
    search.raise_bound(ceil(duals.bound))
    round_off(search, relaxation)
    diver, effort, listed, listing = Diver(search, master), 1, -1, Listing([], complete=False)
    while search.open():
        dive(search, diver, DIVES * effort)
        if search.open() and search.cost != listed:
            listed, gap = search.cost, search.cost - 1 - duals.bound
            listing = list_patterns(problem, master.grid, duals, gap)
        if search.open() and listing.complete:
            select(search, listing, effort)
        elif search.open() and effort >= PATIENCE:
            seconds = search.share(FLOW_S * effort)
            take(search, flow(problem, master.grid, duals, search.cost, seconds))
        effort *= 2


def bounded(search: Search, master: Master) -> tuple[Relaxation, Duals]:
    """Return the continuous solution of the whole problem and the best prices that prove it.

    On a coarse grid, the patterns that are really worth more than they cost are listed and
    added until there is none; then the prices are exact although the grid is not.
    """
    problem, grid = search.problem, master.grid
    everything = Rest(problem.demand, problem.limit)
    relaxation = settle(master, search, everything)
    duals = relaxation.duals
    while not grid.exact and search.seconds_left:
        advised = trimmed(problem, master.scale, relaxation.prices)
        listing = list_patterns(problem, grid, advised, Fraction(-1, advised.scale))
        if not listing.boards and listing.complete:
            return relaxation, max(advised, duals, key=lambda d: d.bound)
        if not master.add(listing.boards[:MANY]):
            break
        relaxation = settle(master, search, everything)
        duals = max(duals, relaxation.duals, key=lambda d: d.bound)
    return relaxation, duals


def trimmed(problem: Problem, scale: int, prices: Prices) -> Duals:
    """Return advised prices as duals, lowered a little so that rounding makes no pattern pay."""
    values = tuple(accumulate((v - v // TRIM for v in prices.values), min))
    total = sum(v * d for v, d in zip(values, problem.demand, strict=True))
    paid = sum(r * n for r, n in zip(prices.rent, problem.limit, strict=True))
    return Duals(values, prices.rent, scale, Fraction(total - paid, scale))


def dive(search: Search, diver: Diver, dives: int) -> None:
    """Make some dives in vain, or all that can be made, or as many as prove the plan."""
    while dives and diver.starts and search.open():
        dives -= not diver.dive()


def select(search: Search, listing: Listing, effort: int) -> None:
    """Make the best choice among the patterns a better plan could use, if they are few enough.

    Raises the search's bound, because the list is complete.
    """
    if len(listing.boards) > FEW * effort:
        return
    nodes = NODES * effort // (len(listing.boards) + 50)
    if not take(search, branch(search, listing.boards, nodes)) and search.open():
        seconds = search.share(SLICE_S * effort)
        take(search, choose(search.problem, listing.boards, search.cost, seconds))


def take(search: Search, selection: Selection | None) -> bool:
    """Take over what a selection found and proved; return whether it came to an end."""
    if selection is None:
        return False
    if selection.boards is not None:
        search.offer(selection.boards)
    if selection.bound is not None:
        search.raise_bound(min(search.cost, selection.bound))
    return selection.bound is not None
