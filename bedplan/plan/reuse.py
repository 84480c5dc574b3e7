"""Which pieces already cut still serve, as they are, elsewhere, or trimmed (layer: plan).

Every cut goes straight through from edge to edge, so a piece can be laid in four ways: as it is,
turned end for end, rolled over (inner face out), or both, which stands it on its other edge.

Pieces are given their places in three rounds: first those that still serve where they were meant
to; then, of the rest, those that serve elsewhere untouched; then those that do once trimmed, so
that the most length is served, with the least waste. Public entry point: `reuse`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final, Literal

import numpy as np

from bedplan.edging import Piece
from bedplan.edging.model import Notch
from bedplan.plan.assignment import NEVER, best_pairs
from bedplan.plan.changes import WITHIN_DEG, WITHIN_M, slant_deg

_WASTE: Final = 1e-4
"""Worth of a metre not wasted against one served: it decides only among equals [-]."""

Turn = Literal["as it is", "end for end", "rolled over", "end for end on its other edge"]
How = Literal["in its place", "elsewhere", "trimmed"]


@dataclass(frozen=True)
class CutPiece:
    """A piece that is already cut, as the saw left it.

    Parameters
    ----------
    label
        What is written on it.
    board
        Kind of board.
    long_m
        Its long point, end to end [m].
    slants_deg
        Angle of the first and last end, above zero where the outer face is the longer [deg].
    notches
        What is taken out of it.
    """

    label: str
    board: str
    long_m: float
    slants_deg: tuple[float, float]
    notches: tuple[Notch, ...] = ()

    def turned(self, ends: bool, faces: bool) -> CutPiece:
        """Return the same piece with its ends changed about, its faces, or both."""
        first, last = self.slants_deg[::-1] if ends else self.slants_deg
        notches = [_turned_notch(notch, self.long_m, ends, faces) for notch in self.notches]
        return replace(
            self,
            slants_deg=(-first, -last) if faces else (first, last),
            notches=tuple(reversed(notches)) if ends else tuple(notches),
        )


def _turned_notch(notch: Notch, long_m: float, ends: bool, faces: bool) -> Notch:
    if ends:
        notch = replace(notch, start_m=long_m - notch.end_m, end_m=long_m - notch.start_m)
    if faces:
        notch = replace(notch, face="inner" if notch.face == "outer" else "outer")
    return notch


def cut_from(piece: Piece) -> CutPiece:
    """Return a planned piece as the saw leaves it."""
    first, last = (slant_deg(end) for end in piece.ends)
    return CutPiece(piece.label, piece.board, piece.long_m, (first, last), piece.notches)


@dataclass(frozen=True)
class Served:
    """A cut piece and the place it serves.

    Parameters
    ----------
    cut, piece
        The one that is there, and the one that is wanted.
    how, turn
        Whether it must be trimmed, and how it is laid.
    off_m
        What comes off its first and last end as it is laid, long point to long point [m].
    recut
        Which ends are sawn anew; the others keep their cut.
    notched
        Whether notches are still to be made.
    """

    cut: CutPiece
    piece: Piece
    how: How
    turn: Turn
    off_m: tuple[float, float] = (0.0, 0.0)
    recut: tuple[bool, bool] = (False, False)
    notched: bool = False


@dataclass(frozen=True)
class Reuse:
    """Which cut pieces serve which places, which are spare, and which places still want one."""

    served: tuple[Served, ...]
    spare: tuple[CutPiece, ...]
    wanted: tuple[Piece, ...]


@dataclass
class _Bench:
    """Cut pieces and wanted pieces that have not found each other yet."""

    cut: list[CutPiece]
    wanted: list[Piece]
    served: list[Served]

    def take(self, served: list[Served]) -> None:
        gone = {id(each.cut) for each in served}
        filled = {id(each.piece) for each in served}
        self.cut = [each for each in self.cut if id(each) not in gone]
        self.wanted = [each for each in self.wanted if id(each) not in filled]
        self.served += served


def reuse(
    cut: Sequence[CutPiece],
    wanted: Sequence[Piece],
    thickness_m: Mapping[str, float],
    homes: Mapping[str, str],
    within_m: float = WITHIN_M,
) -> Reuse:
    """Return which pieces already cut serve which places.

    Parameters
    ----------
    cut
        What is there.
    wanted
        Pieces of the plan as built.
    thickness_m
        Of every kind of board [m].
    homes
        Label of a cut piece to the label of the place it was meant for.
    within_m
        A piece this much off still serves [m].
    """
    bench = _Bench(list(cut), list(wanted), [])
    bench.take(list(_at_home(bench, homes, within_m)))
    bench.take(_paired(bench, partial(_untouched, within_m=within_m), _nearest))
    trim = partial(_trimmed, thickness_m=thickness_m, within_m=within_m)
    bench.take(_paired(bench, trim, _least_waste))
    order = {id(piece): number for number, piece in enumerate(wanted)}
    served = sorted(bench.served, key=lambda each: order[id(each.piece)])
    return Reuse(tuple(served), tuple(bench.cut), tuple(bench.wanted))


def _at_home(bench: _Bench, homes: Mapping[str, str], within_m: float) -> Iterator[Served]:
    places = {piece.label: piece for piece in bench.wanted}
    for one in bench.cut:
        piece = places.get(homes.get(one.label, ""))
        if piece is not None:
            served = _untouched(one, piece, within_m)
            if served is not None:
                yield replace(served, how="in its place")
                del places[piece.label]


def _paired(
    bench: _Bench,
    fits: Callable[[CutPiece, Piece], Served | None],
    worth: Callable[[Served], float],
) -> list[Served]:
    """Return the best pairs of what is left, by a rule and a worth."""
    if not bench.cut or not bench.wanted:
        return []
    found = [[fits(one, piece) for piece in bench.wanted] for one in bench.cut]
    worths = np.array([[NEVER if fit is None else worth(fit) for fit in row] for row in found])
    pairs = (found[row][column] for row, column in best_pairs(worths))
    return [fit for fit in pairs if fit is not None]


def _nearest(served: Served) -> float:
    return 1.0 - abs(served.cut.long_m - served.piece.long_m)


def _least_waste(served: Served) -> float:
    return served.piece.long_m - _WASTE * max(0.0, served.cut.long_m - served.piece.long_m)


_TURNS: Final[tuple[tuple[Turn, bool, bool], ...]] = (
    ("as it is", False, False),
    ("end for end", True, True),
    ("rolled over", False, True),
    ("end for end on its other edge", True, False),
)
"""Each way to lay a piece: whether its ends change about, and whether its faces do."""


def _ways(one: CutPiece) -> Iterator[tuple[Turn, CutPiece]]:
    for turn, ends, faces in _TURNS:
        yield turn, one.turned(ends, faces)


def _untouched(one: CutPiece, piece: Piece, within_m: float) -> Served | None:
    """Return a piece in a place it serves as the saw left it, laid one way or another."""
    if one.board != piece.board or abs(one.long_m - piece.long_m) > within_m:
        return None
    wanted = cut_from(piece)
    for turn, laid in _ways(one):
        if _same_ends(laid, wanted) and _same_notches(laid, wanted, within_m):
            return Served(one, piece, "elsewhere", turn)
    return None


def _same_ends(one: CutPiece, other: CutPiece) -> bool:
    pairs = zip(one.slants_deg, other.slants_deg, strict=True)
    return all(abs(a - b) <= WITHIN_DEG for a, b in pairs)


def _same_notches(one: CutPiece, other: CutPiece, within_m: float) -> bool:
    return len(one.notches) == len(other.notches) and all(
        a.face == b.face
        and max(abs(a.start_m - b.start_m), abs(a.end_m - b.end_m), abs(a.depth_m - b.depth_m))
        <= within_m
        for a, b in zip(one.notches, other.notches, strict=True)
    )


def _trimmed(
    one: CutPiece, piece: Piece, thickness_m: Mapping[str, float], within_m: float
) -> Served | None:
    """Return a piece in a place it serves once trimmed, laid the way that saves most cuts."""
    if one.board != piece.board or one.notches or one.board not in thickness_m:
        return None
    thick = thickness_m[one.board]
    found = [
        Served(one, piece, "trimmed", turn, *ends, bool(piece.notches))
        for turn, laid in _ways(one)
        if (ends := _off_ends(laid, cut_from(piece), thick, within_m)) is not None
    ]
    return min(found, key=lambda each: sum(each.recut), default=None)


def faces_of(one: CutPiece, thick_m: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return where each face ends, outer then inner, from the first long point [m]."""
    first, last = (math.tan(math.radians(slant)) * thick_m for slant in one.slants_deg)
    return (
        (max(0.0, -first), one.long_m - max(0.0, -last)),
        (max(0.0, first), one.long_m - max(0.0, last)),
    )


def square_m(one: CutPiece, thick_m: float) -> float:
    """Return the length that is left once both ends are squared [m]."""
    (outer_a, outer_b), (inner_a, inner_b) = faces_of(one, thick_m)
    return min(outer_b, inner_b) - max(outer_a, inner_a)


def _off_ends(
    there: CutPiece, wanted: CutPiece, thick_m: float, within_m: float
) -> tuple[tuple[float, float], tuple[bool, bool]] | None:
    """Return what comes off the two ends [m] and which are sawn anew.

    None where the wanted piece does not lie inside the other. It may slide along it: it is laid
    so that a cut is saved where one can be.
    """
    had, need = faces_of(there, thick_m), faces_of(wanted, thick_m)
    low = max(h[0] - n[0] for h, n in zip(had, need, strict=True))
    high = min(h[1] - n[1] for h, n in zip(had, need, strict=True))
    if high - low < -within_m:
        return None
    slants = zip(there.slants_deg, wanted.slants_deg, strict=True)
    first_stays, last_stays = (abs(a - b) <= WITHIN_DEG for a, b in slants)
    at = high if last_stays and not first_stays else low
    first, last = max(0.0, at), max(0.0, there.long_m - wanted.long_m - at)
    anew = (not first_stays or first > within_m, not last_stays or last > within_m)
    return (first if anew[0] else 0.0, last if anew[1] else 0.0), anew
