"""What could be bought at all, cheapest first (layer: engines, stock).

Whatever way the runs are spliced, ``n`` boards that supply ``r`` runs take at least ``r - n``
cuts between pieces: every run takes a piece at least, and only the first piece of a board is
free of a cut before it. So the boards' lengths and a kerf for each come to no less than the runs
and a kerf for each, nor the lengths alone to less than the runs. Every purchase that meets this
is a *cover*; none that is dearer than the first that can be sawn is needed.

References
----------
P. E. Hart, N. J. Nilsson & B. Raphael, IEEE Transactions on Systems Science and Cybernetics 4,
1968 (search by the least possible end).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import TypeAlias

from bedplan.stock.splice_task import Supply, Task

Key: TypeAlias = tuple[int, int]
"""Price and number of boards bought."""


@dataclass(frozen=True)
class Cover:
    """A purchase long enough for all runs.

    Parameters
    ----------
    key
        Price and number of boards bought.
    supply
        How many boards of each kind there are to saw, leftovers included.
    """

    key: Key
    supply: Supply


@dataclass(frozen=True)
class _Offer:
    """One kind on sale: its index, price, room with and without a kerf, and limit."""

    kind: int
    price: int
    wide: int
    bare: int
    limit: int


def covers(task: Task, most: Key) -> Iterator[Cover | Key]:
    """Yield every cover up to a key, least price first and fewest boards of equals.

    Between covers the least key any later one can have is yielded, so that whoever runs out of
    time knows how far he came.
    """
    free = tuple(n if not p else 0 for n, p in zip(task.limit, task.price, strict=True))
    shortest = min(task.rules.least_piece, *(run.length for run in task.runs))
    useful = [k for k in task.kinds if task.room[k] >= shortest]
    wide = task.total + task.kerf * len(task.runs)
    wide -= sum(free[k] * (task.room[k] + task.kerf) for k in useful)
    bare = task.total - sum(free[k] * task.room[k] for k in useful)
    offers = [
        _Offer(k, task.price[k], task.room[k] + task.kerf, task.room[k], task.limit[k])
        for k in useful
        if task.price[k]
    ]
    offers.sort(key=lambda o: (o.price / o.bare, o.price))
    for key, counts in _cheapest_first(offers, (wide, bare), most):
        if counts is None:
            yield key
        else:
            supply = list(free)
            for offer, n in zip(offers, counts, strict=True):
                supply[offer.kind] = n
            yield Cover(key, tuple(supply))


def _cheapest_first(
    offers: Sequence[_Offer], need: tuple[int, int], most: Key
) -> Iterator[tuple[Key, tuple[int, ...] | None]]:
    """Yield keys and counts of each offer that meet both totals, by rising key."""
    heap: list[tuple[Key, tuple[int, ...], tuple[int, int]]] = []

    def push(counts: tuple[int, ...], paid: int, need: tuple[int, int]) -> None:
        more = _at_least(offers[len(counts) :], *need)
        if more is not None:
            key = (paid + more[0], sum(counts) + more[1])
            if key <= most:
                heappush(heap, (key, counts, need))

    push((), 0, need)
    while heap:
        key, counts, (wide, bare) = heappop(heap)
        if len(counts) == len(offers):
            yield key, counts
            continue
        yield key, None
        offer = offers[len(counts)]
        paid = sum(o.price * n for o, n in zip(offers, counts, strict=False))
        for n in range(min(offer.limit, (most[0] - paid) // offer.price) + 1):
            left = wide - n * offer.wide, bare - n * offer.bare
            push((*counts, n), paid + n * offer.price, left)


def _at_least(offers: Sequence[_Offer], wide: int, bare: int) -> Key | None:
    """Return the least price and number of boards that could meet both totals, if any could."""
    if wide <= 0 and bare <= 0:
        return 0, 0
    wides = [(o.price, o.wide, o.limit) for o in offers]
    bares = [(o.price, o.bare, o.limit) for o in offers]
    found = [
        bound for rows, need in ((wides, wide), (bares, bare)) for bound in _parts(rows, need)
    ]
    if None in found:
        return None
    prices, boards = [f for f in found[::2] if f is not None], [f for f in found[1::2] if f]
    return max(prices), max(boards, default=0)


def _parts(rows: list[tuple[int, int, int]], need: int) -> tuple[int | None, int | None]:
    """Return price and number, rounded up, if boards could be bought in parts."""
    by_value = sorted(rows, key=lambda row: row[0] / row[1])
    by_length = sorted(rows, key=lambda row: -row[1])
    return _filled(by_value, need, 0), _filled(by_length, need, 1)


def _filled(rows: list[tuple[int, int, int]], need: int, counted: int) -> int | None:
    """Return what is paid (or how many boards are taken) when a need is met row by row."""
    paid = 0
    for price, length, limit in rows:
        each = 1 if counted else price
        if need <= 0:
            return paid
        if need <= length * limit:
            return paid - (-need * each // length)
        paid, need = paid + each * limit, need - length * limit
    return paid if need <= 0 else None
