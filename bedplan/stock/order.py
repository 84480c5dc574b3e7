"""From what is wanted to the problem in bare numbers, and back (layer: engines, stock).

The cost of a board is its price in ten-thousandths (or its length when no price is known),
times a number larger than any count of boards, plus one: the least such cost is the least
price and, among equals, the fewest boards bought.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, isfinite
from operator import index
from typing import Final

from bedplan.errors import StockError
from bedplan.stock.model import StockLength
from bedplan.stock.problem import Problem

FINEST_PRICE = 10_000
"""Parts of one unit of money to which prices are rounded for choosing."""


@dataclass(frozen=True)
class Order:
    """What is wanted, checked.

    Parameters
    ----------
    pieces
        Lengths wanted [whole units].
    stock
        Lengths on sale.
    kerf, end_trim
        Saw width, and what is squared off each end [whole units].
    on_hand
        Leftovers [whole units].
    """

    pieces: tuple[int, ...]
    stock: tuple[StockLength, ...]
    kerf: int
    end_trim: int
    on_hand: tuple[int, ...]


@dataclass(frozen=True)
class Measure:
    """How whole costs read: ``price`` of each stock length and the step of whole costs.

    Parameters
    ----------
    price
        What choosing takes as the price of each stock length (its length if none is known).
    step
        Price of one step of cost.
    tie
        Factor that makes room for the count of boards below one step.
    """

    price: tuple[Fraction, ...]
    step: Fraction
    tie: int

    def cost(self, i: int) -> int:
        """Return the whole cost of one board of the i-th stock length."""
        steps = int(self.price[i] / self.step)
        return steps * self.tie + 1 if self.tie > 1 else steps

    def floor(self, cost: int) -> Fraction:
        """Return the price that no plan of at least this whole cost is below."""
        return cost // self.tie * self.step


def checked(
    pieces: Sequence[int],
    stock: Sequence[StockLength],
    kerf: int,
    end_trim: int,
    on_hand: Sequence[int],
) -> Order:
    """Return an order in which every piece fits some board.

    Raises
    ------
    StockError
        With every fault found: lengths that are not whole or not above zero, a kerf or trim
        below zero, no stock at all, pieces longer than any board, too few boards.
    """
    order = checked_numbers(pieces, stock, kerf, end_trim, on_hand)
    faults = _too_long(order)
    if faults:
        raise StockError("; ".join(faults))
    check_supply(order)
    return order


def checked_numbers(
    pieces: Sequence[int],
    stock: Sequence[StockLength],
    kerf: int,
    end_trim: int,
    on_hand: Sequence[int],
) -> Order:
    """Return an order whose figures can be, whether or not its boards suffice.

    Raises
    ------
    StockError
        With every fault found.
    """
    numbers = [*pieces, *on_hand, *(s.length for s in stock), kerf, end_trim]
    broken = [x for x in numbers if not hasattr(x, "__index__")]
    faults = [f"{x!r} is not a whole number of units" for x in broken]
    faults += [] if faults else _bad_numbers(pieces, stock, kerf, end_trim, on_hand)
    if pieces and not stock and not on_hand:
        faults.append("there is no stock and nothing on hand to cut from")
    if faults:
        raise StockError("; ".join(faults))
    lengths, leftovers = tuple(map(index, pieces)), tuple(map(index, on_hand))
    return Order(lengths, tuple(stock), index(kerf), index(end_trim), leftovers)


def _bad_numbers(
    pieces: Sequence[int],
    stock: Sequence[StockLength],
    kerf: int,
    end_trim: int,
    on_hand: Sequence[int],
) -> list[str]:
    """Return a fault for every number that cannot be."""
    faults = [f"piece {p}: a length must be above zero" for p in set(pieces) if p <= 0]
    faults += [f"leftover {p}: a length must be above zero" for p in set(on_hand) if p <= 0]
    for s in stock:
        if s.length <= 0:
            faults.append(f"stock {s.length}: a length must be above zero")
        if s.price is not None and not (s.price > 0 and isfinite(s.price)):
            faults.append(f"stock {s.length}: price {s.price} must be above zero, or left out")
        if s.limit is not None and s.limit < 0:
            faults.append(f"stock {s.length}: limit {s.limit} must not be below zero")
    if kerf < 0:
        faults.append(f"kerf {kerf} must not be below zero")
    if end_trim < 0:
        faults.append(f"end trim {end_trim} must not be below zero")
    return sorted(faults)


def _too_long(order: Order) -> list[str]:
    """Return a fault for every length of piece that no board holds."""
    on_sale = [s.length for s in order.stock if s.limit != 0]
    longest, trim = max([*on_sale, *order.on_hand], default=0), order.end_trim
    usable = longest - 2 * trim
    trims = f" ({usable} after trimming both ends by {trim})" if trim else ""
    return [
        f"{count} piece{'s' * (count > 1)} of {length}: longer than the longest board, "
        f"{longest}{trims}, by {length - usable}"
        for length, count in sorted(Counter(order.pieces).items(), reverse=True)
        if length > usable
    ]


def check_supply(order: Order) -> None:
    """Raise StockError if all boards together are shorter than all pieces."""
    if any(s.limit is None for s in order.stock):
        return
    room = sum(max(0, _usable(order, s.length)) * (s.limit or 0) for s in order.stock)
    room += sum(max(0, _usable(order, length)) for length in order.on_hand)
    wanted = sum(order.pieces) + order.kerf * len(order.pieces)
    if wanted > room:
        msg = (
            f"the boards that can be had give {room} with their kerf, "
            f"the pieces need {wanted}: raise a limit or add a length"
        )
        raise StockError(msg)


def _usable(order: Order, length: int) -> int:
    """Return the room of a board with one kerf added; see `bedplan.stock.problem`."""
    return length - 2 * order.end_trim + order.kerf


def measure_of(order: Order) -> Measure:
    """Return how boards are priced for choosing.

    Without any price, length is the price. A length without a price among others with one is
    taken at the highest known price per length, so that it is not chosen for being unknown.
    """
    known = {s.length: _exact(s.price) for s in order.stock if s.price is not None}
    if known:
        rate = max(price / length for length, price in known.items())
        prices = [
            _rounded(rate * s.length if s.price is None else _exact(s.price)) for s in order.stock
        ]
    else:
        prices = [Fraction(s.length) for s in order.stock]
    step = Fraction(gcd(*(int(p * FINEST_PRICE) for p in prices)) or 1, FINEST_PRICE)
    tie = 1 if len(set(prices)) <= 1 else len(order.pieces) + 1
    return Measure(tuple(prices), step, tie)


def _exact(price: float) -> Fraction:
    """Return a price as it is written: 4.1 is 41/10."""
    return Fraction(str(price))


def _rounded(price: Fraction) -> Fraction:
    """Return a price rounded to the finest step that choosing tells apart."""
    return Fraction(max(1, round(price * FINEST_PRICE)), FINEST_PRICE)


LEFTOVER: Final = -1
LACKING: Final = -2


@dataclass(frozen=True)
class Kind:
    """What a kind of board stands for: a stock length by index, a leftover, a lacking board."""

    length: int
    stock: int


def problem_of(order: Order, measure: Measure) -> tuple[Problem, tuple[Kind, ...]]:
    """Return the problem in bare numbers and what its kinds of board stand for.

    Where boards may run out, a last kind of unlimited *lacking* boards dearer than everything
    else keeps the problem solvable; a plan that needs one shows that the boards do not suffice.
    """
    count = len(order.pieces)
    shortest = min(order.pieces) + 2 * order.end_trim
    rows: list[tuple[Kind, int, int]] = []
    for i, s in enumerate(order.stock):
        limit = count if s.limit is None else min(s.limit, count)
        if limit and s.length >= shortest:
            rows.append((Kind(s.length, i), measure.cost(i), limit))
    for length, number in Counter(order.on_hand).items():
        if length >= shortest:
            rows.append((Kind(length, LEFTOVER), 0, min(number, count)))
    needed = max(order.pieces) + 2 * order.end_trim
    plenty = any(k.length >= needed and limit == count and cost for k, cost, limit in rows)
    if not plenty:
        longest = max(kind.length for kind, _, _ in rows)
        dear = 1 + sum(cost * limit for _, cost, limit in rows)
        rows.append((Kind(longest, LACKING), dear, count))
    sizes = Counter(p + order.kerf for p in order.pieces)
    unit = gcd(*sizes)
    falling = sorted(sizes, reverse=True)
    problem = Problem(
        sizes=tuple(s // unit for s in falling),
        demand=tuple(sizes[s] for s in falling),
        capacity=tuple(_usable(order, kind.length) // unit for kind, _, _ in rows),
        cost=tuple(cost for _, cost, _ in rows),
        limit=tuple(limit for _, _, limit in rows),
        lacking=not plenty,
    )
    return problem, tuple(kind for kind, _, _ in rows)
