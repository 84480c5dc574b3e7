"""What the stock engine is asked and what it answers (layer: engines, stock).

Terms: *stock* is a length the yard sells, a *board* one such length (a fabric roll is a board
too), a *leftover* a board already on hand, *kerf* the width one saw cut turns to dust, *end
trim* what is squared off each end first, *offcut* what is left of a board and can be used again.

Lengths are whole numbers in any one unit; bedplan uses nanometres, in which 1/64 in is 396875
and 0.1 mm is 100000, so that no length is ever rounded.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Status(StrEnum):
    """Why the search for a cut plan ended."""

    OPTIMAL = "optimal"
    TIME_LIMIT = "time limit"
    INTERRUPTED = "interrupted"
    UNDECIDED = "undecided"
    """Nothing was left to try, and yet there is no proof."""


@dataclass(frozen=True)
class StockLength:
    """One length on sale.

    Parameters
    ----------
    length
        Length as sold [whole units].
    price
        Price of one board; ``None`` when it is not known, never zero instead.
    limit
        How many can be had; ``None`` when as many as wanted.
    """

    length: int
    price: float | None = None
    limit: int | None = None


@dataclass(frozen=True)
class BoardCut:
    """One board and how it is sawn: ``pieces + kerf_loss + offcut + trims == stock_length``.

    Parameters
    ----------
    stock_length
        Length of the board before any cut [whole units].
    on_hand
        True for a leftover, False for a board to buy.
    pieces
        Lengths in sawing order, longest first [whole units].
    kerf_loss
        What all cuts between and after the pieces turn to dust [whole units].
    offcut
        Length left over, after the cut that frees it [whole units].
    numbers
        Where each of ``pieces`` stands in the list that was asked for, from 0; over all boards
        every place of that list comes once.
    """

    stock_length: int
    on_hand: bool
    pieces: tuple[int, ...]
    kerf_loss: int
    offcut: int
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True)
class CutPlan:
    """What to buy and how to cut it, with the proof of how good that is.

    Parameters
    ----------
    boards
        Every board that is cut, leftovers first, then by length, longest first.
    buy
        ``(length, count)`` of every length to buy, longest first.
    cost
        Money to pay; ``None`` if a bought length has no price.
    lower_bound
        No plan whatever has a smaller ``objective``; same measure.
    objective
        What was minimised: money if any price is known (a missing price stands in as length at
        the highest known price per length), else the total length bought.
    proven
        True when no plan has a smaller ``objective``.
    status
        Why the search ended.
    notes
        What looks like a slip in what was asked, in words; nothing was changed for it.
    """

    boards: tuple[BoardCut, ...]
    buy: tuple[tuple[int, int], ...]
    cost: float | None
    lower_bound: float
    objective: float
    proven: bool
    status: Status
    notes: tuple[str, ...] = ()

    @property
    def gap(self) -> float:
        """Share of the objective that a better plan could at most save [-]."""
        return (self.objective - self.lower_bound) / self.objective if self.objective else 0.0
