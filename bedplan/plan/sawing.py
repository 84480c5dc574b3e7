"""Boards as they are sawn: marks along each, offcuts by name, what is worth keeping (layer: plan).

Terms. A *mark* is where a square cut frees a piece, measured from the board's first end with every
kerf and the end trim counted, so that one tape can stay hooked. The saw's dust falls beyond the
mark. Slanted ends are sawn on the freed piece afterwards, from the corner of its long point, the
blade in the waste: a piece then takes its long point and one kerf of the board at any angle. A
slanted cut straight off the board would take ``kerf / cos(angle)``.

Lengths are whole nanometres, as the stock engine counts them. Public entry points: `sawn_boards`,
`left_on_hand`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Final

from bedplan.edging import Piece
from bedplan.model.layout import System
from bedplan.plan.sawn import BoardPlan
from bedplan.stock import BoardCut
from bedplan.units import INCH_M, nanometres

KEEP_M: Final[dict[System, float]] = {"imperial": 12 * INCH_M, "metric": 0.3}
"""Least length of an offcut worth keeping [m]: common practice, no source."""


@dataclass(frozen=True)
class SawnPiece:
    """A piece on its board.

    Parameters
    ----------
    piece
        What it is.
    start, end
        Where its long points lie, from the board's first end [nm]; `end` is its mark.
    """

    piece: Piece
    start: int
    end: int

    @property
    def length(self) -> int:
        """Length to measure from the fresh cut: the long point [nm]."""
        return self.end - self.start


@dataclass(frozen=True)
class Offcut:
    """What is left of a board, from `start` to `end` [nm].

    `name` is empty where it is too short to keep.
    """

    start: int
    end: int
    name: str = ""

    @property
    def length(self) -> int:
        """Its length [nm]."""
        return self.end - self.start


@dataclass(frozen=True)
class SawnBoard:
    """One board with its cuts: trims, pieces, kerfs and offcut fill it to the nanometre.

    Parameters
    ----------
    kind
        Name of the kind of board.
    number
        Number among the boards of its kind, from 1.
    length
        As bought or found [nm].
    on_hand
        True for a leftover.
    trim
        Squared off each end first [nm].
    pieces
        In sawing order.
    offcut
        None where nothing is left.
    """

    kind: str
    number: int
    length: int
    on_hand: bool
    trim: int
    pieces: tuple[SawnPiece, ...]
    offcut: Offcut | None

    @property
    def kerfs(self) -> tuple[tuple[int, int], ...]:
        """From where to where each cut that frees a piece turns wood to dust [nm]."""
        after = [sawn.start for sawn in self.pieces[1:]]
        after.append(self.offcut.start if self.offcut else self.length - self.trim)
        return tuple(
            (sawn.end, end) for sawn, end in zip(self.pieces, after, strict=True) if end > sawn.end
        )


def sawn_boards(part: BoardPlan, keep_m: float) -> tuple[SawnBoard, ...]:
    """Return every board of one kind with its marks, in the order of the cut plan.

    Offcuts worth keeping are named in that order: ``cedar offcut 1``, ``cedar offcut 2``.

    Parameters
    ----------
    part
        Pieces and their cut plan.
    keep_m
        Least length of an offcut worth keeping [m].
    """
    kerf, trim = nanometres(part.board.kerf_m), nanometres(part.board.end_trim_m)
    names = (f"{part.board.name} offcut {number}" for number in count(1))
    boards = []
    for number, cut in enumerate(part.cut.boards, start=1):
        pieces = tuple(_in_order(cut, part.pieces, kerf, trim))
        boards.append(
            SawnBoard(
                part.board.name,
                number,
                cut.stock_length,
                cut.on_hand,
                trim,
                pieces,
                _offcut(cut, trim, nanometres(keep_m), names),
            )
        )
    return tuple(boards)


def _in_order(cut: BoardCut, pieces: Sequence[Piece], kerf: int, trim: int) -> Iterator[SawnPiece]:
    at = trim
    for number, length in zip(cut.numbers, cut.pieces, strict=True):
        yield SawnPiece(pieces[number], at, at + length)
        at += length + kerf


def _offcut(cut: BoardCut, trim: int, keep: int, names: Iterator[str]) -> Offcut | None:
    if cut.offcut <= 0:
        return None
    end = cut.stock_length - trim
    return Offcut(end - cut.offcut, end, next(names) if cut.offcut >= keep else "")


def left_on_hand(part: BoardPlan, boards: Sequence[SawnBoard]) -> tuple[int, ...]:
    """Return what is on hand after the job, longest first [nm].

    Leftovers the cut plan does not touch, and offcuts worth keeping.
    """
    unused = Counter(nanometres(length) for length in part.board.on_hand_m)
    unused.subtract(board.length for board in boards if board.on_hand)
    kept = [board.offcut.length for board in boards if board.offcut and board.offcut.name]
    return tuple(sorted([*unused.elements(), *kept], reverse=True))
