"""Labels along a taped line and beside a point, as the sheets about the tape use (layer: outputs).

Public entry points: `along_line`, `beside_point`, `led_round`, `nice`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.outputs.label import Candidate, Label
from bedplan.outputs.scene import Point
from bedplan.outputs.scene_dimensions import led
from bedplan.outputs.scene_lettering import Line, block_size_mm, upright

BARE_MM: Final = 0.9
"""From a line to the words beside it [mm]."""

_SHARES: Final = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82)
_REACHES: Final = (5.0, 7.0, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0, 45.0)


def along_line(
    subject: str, lines: tuple[Line, ...], line: tuple[Point, Point], rank: int, bare: float = 0.0
) -> Label:
    """Return a label beside a line, along it where it can be, else led to its middle.

    Parameters
    ----------
    bare
        What the words keep from the line besides the usual gap [mm].
    """
    start, end = line
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return Label(
        subject,
        tuple(_along(lines, start, end, bare + BARE_MM)),
        rank,
        more=lambda: led_round(lines, middle),
    )


def _along(lines: tuple[Line, ...], start: Point, end: Point, bare: float) -> Iterator[Candidate]:
    angle = upright(direction_deg(start, end))
    x, y = unit_vector(angle + 90.0)
    reach = block_size_mm(lines)[1] / 2 + bare
    for share in _SHARES:
        at = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
        for way in (1.0, -1.0):
            center = (at[0] + way * reach * x, at[1] + way * reach * y)
            yield Candidate(lines, center, angle, 8.0 * abs(share - 0.5) + (way < 0.0))


def beside_point(subject: str, lines: tuple[Line, ...], at: Point, off: float, rank: int) -> Label:
    """Return a label close by a point, or led to it.

    Parameters
    ----------
    off
        Radius of what is drawn at the point [mm].
    """
    wide, tall = block_size_mm(lines)
    spots = []
    for order, angle in enumerate((0.0, 180.0, 90.0, 270.0, 45.0, 135.0, 315.0, 225.0)):
        x, y = unit_vector(angle)
        for out in (0.8, 1.8, 3.0):
            center = (at[0] + x * (wide / 2 + off + out), at[1] + y * (tall / 2 + off + out))
            spots.append(Candidate(lines, center, 0.0, 0.4 * order + out))
    return Label(subject, tuple(spots), rank, more=lambda: led_round(lines, at))


def led_round(lines: tuple[Line, ...], at: Point) -> tuple[Candidate, ...]:
    """Return places all round a point, each led back to it."""
    return tuple(led(lines, at, reach, angle) for reach in _REACHES for angle in range(0, 360, 15))


def nice(factor: float) -> float:
    """Return the largest of 1, 2, 5, 10, 20, … that is no more than a factor, at least 1.

    Examples
    --------
    >>> nice(730.0), nice(49.9), nice(0.3)
    (500.0, 20.0, 1.0)
    """
    if factor <= 1.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(factor))
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= factor)
