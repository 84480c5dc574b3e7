"""Runs, boards and rules in bare numbers, and what a valid answer is (layer: engines, stock).

A *kind* is a length of board as in `bedplan.stock.problem`; a *supply* is how many boards of
each kind there are to cut from. A *sawn* board is its kind with the pieces taken from it, each
told by its run.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from bedplan.stock.splice_model import SpliceRules, SpliceRun
from bedplan.stock.stations import fewest_splices

Supply: TypeAlias = tuple[int, ...]
Cutting: TypeAlias = tuple[tuple[int, int], ...]
"""``(run, length)`` of every piece from one board."""
Sawn: TypeAlias = tuple[tuple[int, Cutting], ...]
"""``(kind, pieces)`` of every board that is cut."""

TRIES = 3_000
"""Steps of the search for an order of the pieces of one run."""


@dataclass(frozen=True)
class Task:
    """What is to be covered from what.

    Parameters
    ----------
    runs
        Runs to cover.
    rules
        Where they may be spliced.
    kerf
        Saw width.
    room
        Length of each kind of board without its end trims.
    price
        Price of each kind, in whole steps; 0 for a leftover.
    limit
        How many boards of each kind there are.
    """

    runs: tuple[SpliceRun, ...]
    rules: SpliceRules
    kerf: int
    room: tuple[int, ...]
    price: tuple[int, ...]
    limit: tuple[int, ...]

    @property
    def kinds(self) -> range:
        """Indices of the kinds of board."""
        return range(len(self.room))

    @property
    def longest(self) -> int:
        """The longest piece any board gives."""
        return max(self.room)

    @property
    def total(self) -> int:
        """Length of all runs."""
        return sum(run.length for run in self.runs)

    def fewest_pieces(self, run: SpliceRun) -> int:
        """Return how many pieces a run takes at least."""
        stations = fewest_splices(run, self.rules, self.longest)
        return 1 if stations is None else len(stations) + 1

    def paid(self, sawn: Sawn) -> tuple[int, int]:
        """Return the price and the number of the boards bought."""
        bought = [kind for kind, _ in sawn if self.price[kind]]
        return sum(self.price[k] for k in bought), len(bought)

    def lengths(self, sawn: Sawn) -> list[list[int]]:
        """Return the pieces of each run, in no order."""
        pieces: list[list[int]] = [[] for _ in self.runs]
        for _, cutting in sawn:
            for run, length in cutting:
                pieces[run].append(length)
        return pieces

    def laid(self, sawn: Sawn) -> tuple[tuple[int, ...], ...] | None:
        """Return the pieces of each run in the order they are laid; None if a rule is broken."""
        used = [0] * len(self.room)
        for kind, cutting in sawn:
            used[kind] += 1
            taken = sum(length + self.kerf for _, length in cutting)
            if not cutting or taken > self.room[kind] + self.kerf:
                return None
        if any(u > n for u, n in zip(used, self.limit, strict=True)):
            return None
        found = [
            in_order(run, self.rules, pieces)
            for run, pieces in zip(self.runs, self.lengths(sawn), strict=True)
        ]
        laid = tuple(run for run in found if run is not None)
        return laid if len(laid) == len(found) else None


def in_order(run: SpliceRun, rules: SpliceRules, pieces: Sequence[int]) -> tuple[int, ...] | None:
    """Return the pieces of a run in an order that keeps the rules, longest first if possible."""
    if sum(pieces) != run.length or min(pieces, default=0) <= 0:
        return None
    if len(pieces) == 1:
        return tuple(pieces)
    falling, least = sorted(pieces, reverse=True), rules.end_piece(run)
    if falling[-1] < rules.least_piece or falling[1] < least:
        return None
    for tries, order in enumerate(_orders(run, rules, falling)):
        if order is not None or tries > TRIES:
            return order
    return None


def _orders(
    run: SpliceRun, rules: SpliceRules, falling: Sequence[int]
) -> Iterator[tuple[int, ...] | None]:
    """Yield orders that keep the rules, and None for every step in between."""
    least = rules.end_piece(run)
    stack: list[tuple[tuple[int, ...], list[int], int]] = [((), list(falling), 0)]
    while stack:
        laid, rest, station = stack.pop()
        yield None if rest else laid
        for piece in sorted(set(rest)):
            joint, last = station + piece, len(rest) == 1
            if (not laid or last) and piece < least:
                continue
            if last or all(abs(joint - s) >= rules.stagger for s in run.joints_below):
                left = rest.copy()
                left.remove(piece)
                stack.append(((*laid, piece), left, joint))
