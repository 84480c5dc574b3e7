"""From runs to pieces, splices and backing blocks (layer: engines).

Labels: ``2.3a`` is bed 2, run 3, first length of a splice; ``2.3a-2`` the same in the second
tier; where a tier goes along parts of a run, letters go on from part to part; ``2.3a block`` is
the block behind the splice after it.

Public entry points: `cut_tier`, `Place`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from string import ascii_lowercase
from typing import Final, Literal

from shapely.geometry import Polygon

from bedplan.edging.joints import Cut, sawn, square_cut
from bedplan.edging.model import End, Notch, Piece, Splice
from bedplan.edging.stretches import Key, Stretch
from bedplan.geometry.lines import saw_setting_deg
from bedplan.geometry.tolerance import FIT_M
from bedplan.model.materials import Board

EVEN_CUT_M: Final = 1e-6
"""Faces that part by no more at an end make a square cut [m]."""


@dataclass(frozen=True)
class Place:
    """Where pieces stand: the bed, its number in the file, and the tier."""

    bed: str
    number: int
    tier: int

    def label(self, run: int, letter: str = "") -> str:
        """Return the label of a piece."""
        return f"{self.number}.{run}{letter}{f'-{self.tier}' if self.tier > 1 else ''}"


@dataclass(frozen=True)
class CutRun:
    """One run in one tier, sawn into pieces, in order along it."""

    run: int
    stretch: Stretch
    pieces: tuple[Piece, ...]
    splices: tuple[Splice, ...]
    blocks: tuple[Piece, ...]


def letters(number: int) -> str:
    """Return the letter of a length of a splice: a to z, then aa, ab and on.

    Examples
    --------
    >>> letters(0), letters(25), letters(26), letters(701), letters(702)
    ('a', 'z', 'aa', 'zz', 'aaa')
    """
    word = ascii_lowercase[number % 26]
    return letters(number // 26 - 1) + word if number >= 26 else word


def cut_tier(
    stretches: Sequence[Stretch],
    numbers: Mapping[Key, int],
    stations: Mapping[Key, Sequence[float]],
    board: Board,
    place: Place,
) -> list[CutRun]:
    """Return the runs of a tier sawn into pieces, each end named for what it meets.

    Parameters
    ----------
    stretches
        Runs in order round each ring.
    numbers
        Number of every run.
    stations
        Where each is spliced, along its edge [m].
    board, place
        Kind of board, bed and tier.
    """
    lengths: Counter[int] = Counter()
    for each in stretches:
        lengths[numbers[each.key]] += len(stations[each.key]) + 1
    lettered = {
        number: iter([letters(part) for part in range(count)] if count > 1 else [""])
        for number, count in lengths.items()
    }
    cut = []
    for each in stretches:
        run, here = numbers[each.key], stations[each.key]
        labels = [place.label(run, next(lettered[run])) for _ in range(len(here) + 1)]
        cut.append(_cut_run(each, (run, labels), here, board, place))
    return _joined(cut)


def _cut_run(
    stretch: Stretch,
    named: tuple[int, Sequence[str]],
    stations: Sequence[float],
    board: Board,
    place: Place,
) -> CutRun:
    run, labels = named
    inside = [sawn("splice", square_cut(stretch.edge, station)) for station in stations]
    cuts = [stretch.start, *inside, stretch.end]
    pieces = [
        _piece(replace(stretch, start=start, end=end), stretch.span[0], board, (place, run, label))
        for (start, end), label in zip(pairwise(cuts), labels, strict=True)
    ]
    for part, (one, after) in enumerate(pairwise(labels)):
        pieces[part] = _meeting(pieces[part], 1, after)
        pieces[part + 1] = _meeting(pieces[part + 1], 0, one)
    splices = tuple(
        _splice(stretch, run, station, pair, board, place)
        for station, pair in zip(stations, pairwise(labels), strict=True)
    )
    blocks = tuple(_block(stretch, splice, board, place) for splice in splices if splice.block)
    return CutRun(run, stretch, tuple(pieces), splices, blocks)


def _piece(stretch: Stretch, from_m: float, board: Board, place: tuple[Place, int, str]) -> Piece:
    """Return one piece of a run between two of its cuts."""
    (outer_a, outer_b), (inner_a, inner_b) = stretch.ends_m
    outer, inner = stretch.faces
    where, run, label = place
    first_m = min(outer_a, inner_a)
    return Piece(
        label,
        where.bed,
        run,
        board.name,
        max(outer_b, inner_b) - first_m,
        min(outer_b - outer_a, inner_b - inner_a),
        (
            _end(stretch.start, outer_a - inner_a, board),
            _end(stretch.end, inner_b - outer_b, board),
        ),
        Polygon(
            [
                outer.point(outer_a),
                outer.point(outer_b),
                inner.point(inner_b),
                inner.point(inner_a),
            ]
        ),
        where.tier,
        first_m - from_m,
        tuple(_notches(stretch)),
    )


def _end(cut: Cut, inner_longer_m: float, board: Board) -> End:
    """Return an end, by how much its inner face keeps more wood than the outer one [m]."""
    setting = saw_setting_deg(math.degrees(math.atan2(board.thickness_m, inner_longer_m)))
    if abs(inner_longer_m) <= EVEN_CUT_M:
        return End(cut.joint, setting, cut.joins)
    return End(cut.joint, setting, cut.joins, "inner" if inner_longer_m > 0.0 else "outer")


def _notches(stretch: Stretch) -> Iterator[Notch]:
    """Yield what is taken out of a piece at every post it passes."""
    first_m, last_m = stretch.extent_m
    for post in stretch.notches:
        low, high = max(post.first_m, first_m), min(post.last_m, last_m)
        if high - low > FIT_M:
            face: Literal["outer", "inner"] = "inner" if post.face == "inner" else "outer"
            yield Notch(low - first_m, high - first_m, post.depth_m, post.name, face)


def _splice(
    stretch: Stretch,
    run: int,
    station: float,
    joins: tuple[str, str],
    board: Board,
    place: Place,
) -> Splice:
    held = _held_by(stretch, board)
    return Splice(
        run,
        place.tier,
        station - stretch.span[0],
        stretch.edge.line.point(station),
        joins,
        held,
        f"{joins[0]} block" if held == "block" else "",
    )


def _held_by(stretch: Stretch, board: Board) -> Literal["block", "connector", "fence", "nothing"]:
    """Return what holds a splice, stakes left aside."""
    if board.bends:
        return "connector"
    if board.block_m:
        return "block"
    return "fence" if stretch.on_fence else "nothing"


def _block(stretch: Stretch, splice: Splice, board: Board, place: Place) -> Piece:
    """Return the block behind a splice, half of it behind either piece."""
    behind = stretch.edge.line.shifted(board.thickness_m)
    back = stretch.edge.line.shifted(2.0 * board.thickness_m)
    middle_m = splice.station_m + stretch.span[0]
    first_m, last_m = middle_m - board.block_m / 2.0, middle_m + board.block_m / 2.0
    end = End("square", 0.0)
    return Piece(
        splice.block,
        place.bed,
        splice.run,
        board.name,
        board.block_m,
        board.block_m,
        (end, end),
        Polygon(
            [
                behind.point(first_m),
                behind.point(last_m),
                back.point(last_m),
                back.point(first_m),
            ]
        ),
        place.tier,
        first_m - stretch.span[0],
        kind="block",
    )


def _meeting(piece: Piece, which: int, label: str) -> Piece:
    """Return a piece with one end named for what it meets."""
    ends = list(piece.ends)
    ends[which] = replace(ends[which], joins=label)
    return replace(piece, ends=(ends[0], ends[1]))


def _joined(runs: Sequence[CutRun]) -> list[CutRun]:
    """Return the runs with their ends at corners named for the boards round the corner."""
    starting = {run.stretch.edge.start: run for run in runs if run.stretch.corners[0]}
    ending = {run.stretch.edge.end: run for run in runs if run.stretch.corners[1]}
    return [
        replace(
            run,
            pieces=_named(
                run.pieces,
                ending.get(run.stretch.edge.start) if run.stretch.corners[0] else None,
                starting.get(run.stretch.edge.end) if run.stretch.corners[1] else None,
            ),
        )
        for run in runs
    ]


def _named(
    pieces: Sequence[Piece], before: CutRun | None, after: CutRun | None
) -> tuple[Piece, ...]:
    named = list(pieces)
    if before is not None:
        named[0] = _meeting(named[0], 0, before.pieces[-1].label)
    if after is not None:
        named[-1] = _meeting(named[-1], 1, after.pieces[0].label)
    return tuple(named)
