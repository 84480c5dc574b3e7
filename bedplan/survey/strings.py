"""String lines from side to side, and the sides and diagonals of a frame (layer: survey engine).

A *string line* carries a straight edge on to the fence, where it is tied at a distance from a
corner. A *frame* is a ring of stakes, proved by its diagonals.

Public entry points: `string_line`, `frame`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Line, Point, through
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import System
from bedplan.model.site import Side
from bedplan.survey.stakes import tape_reading
from bedplan.units import INCH_M


@dataclass(frozen=True)
class StringEnd:
    """Where a string meets a side: from the nearer of the side's corners, exact and taped [m]."""

    side: str
    corner: str
    exact_m: float
    tape_m: float


@dataclass(frozen=True)
class StringLine:
    """A string over a straight edge.

    Parameters
    ----------
    name
        The edge.
    ends
        Where to tie the string, behind the edge's start and beyond its end.
    rounding_m
        How far the string tied at the taped distances lies off the edge, at most [m].
    """

    name: str
    ends: tuple[StringEnd, StringEnd]
    rounding_m: float


@dataclass(frozen=True)
class Span:
    """A distance between two stakes of a frame, exact and as a tape reads it [m]."""

    first: str
    second: str
    exact_m: float
    tape_m: float


@dataclass(frozen=True)
class Frame:
    """A ring of stakes: its sides in order, and the diagonals that prove it.

    Parameters
    ----------
    sides
        From each stake to the next.
    diagonals
        From each stake to the one after the next: short, and with the sides enough to fix the
        ring and to check it, once for four stakes and three times over for more.
    square
        Whether opposite sides and the diagonals are equal, to half a mark of the tape.
    """

    sides: tuple[Span, ...]
    diagonals: tuple[Span, ...]
    square: bool


def string_line(
    name: str, start: Point, end: Point, sides: Sequence[Side], show: System = "imperial"
) -> StringLine:
    """Return where to tie a string that runs over an edge.

    Parameters
    ----------
    name, start, end
        The edge [m].
    sides
        The fence.
    show
        Figures to the nearest 1/16 in or to the millimetre.

    Raises
    ------
    GeometryError
        If the line does not meet the fence both ways.

    Examples
    --------
    >>> ring = [(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)]
    >>> ends = zip("ABCD", ring, "BCDA", [*ring[1:], ring[0]])
    >>> sides = [Side(a + b, a, b, p, q, 1) for a, p, b, q in ends]
    >>> line = string_line("bed", (1.0, 3.0), (5.0, 3.0), sides, "metric")
    >>> [(end.side, end.corner, end.tape_m) for end in line.ends]
    [('DA', 'D', 1.0), ('BC', 'C', 1.0)]
    """
    if math.dist(start, end) <= SNAP_M:
        message = f"{name} has no length to run a string over"
        raise GeometryError(message)
    line = through(start, end)
    length_m = math.dist(start, end)
    met = [
        (along, side, at)
        for side in sides
        if (at := _crossing(line, side)) is not None
        for along in (line.station(side.point(at)),)
    ]
    behind = max((hit for hit in met if hit[0] <= SNAP_M), key=lambda hit: hit[0], default=None)
    beyond = min(
        (hit for hit in met if hit[0] >= length_m - SNAP_M), key=lambda hit: hit[0], default=None
    )
    if behind is None or beyond is None:
        message = f"a string over {name} does not meet the fence both ways"
        raise GeometryError(message)
    first, first_at = _end(behind[1], behind[2], show)
    second, second_at = _end(beyond[1], beyond[2], show)
    tied = through(first_at, second_at)
    off_m = max(abs(tied.left_of(start)), abs(tied.left_of(end)))
    return StringLine(name, (first, second), off_m)


def _crossing(line: Line, side: Side) -> float | None:
    """Return how far along a side a line crosses it [m], or None if it does not."""
    at = side.line.meet(line)
    if at is None:
        return None
    along = side.line.station(at)
    return along if -SNAP_M <= along <= side.length_m + SNAP_M else None


def _end(side: Side, along_m: float, show: System) -> tuple[StringEnd, Point]:
    """Return the string's end from the nearer corner, and the place its taped figure gives."""
    walked = side if along_m <= side.length_m / 2 else side.reversed()
    exact_m = along_m if walked is side else side.length_m - along_m
    tape_m = tape_reading(exact_m, show)
    return StringEnd(side.name, walked.first, exact_m, tape_m), walked.point(tape_m)


def frame(stakes: Sequence[tuple[str, Point]], show: System = "imperial") -> Frame:
    """Return the sides and diagonals of a ring of stakes.

    Parameters
    ----------
    stakes
        Names and places in order round the ring [m], at least three.
    show
        Figures to the nearest 1/16 in or to the millimetre.

    Raises
    ------
    GeometryError
        If there are fewer than three stakes.

    Examples
    --------
    >>> bed = [("1", (0.0, 0.0)), ("2", (4.0, 0.0)), ("3", (4.0, 3.0)), ("4", (0.0, 3.0))]
    >>> [span.tape_m for span in frame(bed, "metric").diagonals], frame(bed).square
    ([5.0, 5.0], True)
    """
    count = len(stakes)
    if count < 3:
        message = f"a frame of {count} stakes has no inside"
        raise GeometryError(message)

    def span(i: int, j: int) -> Span:
        (first, at), (second, to) = stakes[i % count], stakes[j % count]
        exact_m = math.dist(at, to)
        return Span(first, second, exact_m, tape_reading(exact_m, show))

    sides = tuple(span(i, i + 1) for i in range(count))
    across = {3: 0, 4: 2}.get(count, count)
    diagonals = tuple(span(i, i + 2) for i in range(across))
    mark_m = INCH_M / 16 if show == "imperial" else 0.001
    square = count == 4 and all(
        abs(one.exact_m - other.exact_m) <= mark_m / 2
        for one, other in ((sides[0], sides[2]), (sides[1], sides[3]), diagonals)
    )
    return Frame(sides, diagonals, square)
