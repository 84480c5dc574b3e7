"""Runs, ends and pieces of edging (layer: engines).

A *run* is a straight length of a bed's outline that carries a board; a *piece* is one cut
length. Seen from above every piece is a four-sided figure: its outer face lies on the outline,
its inner face one thickness inside, and each end is one straight cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.model.layout import Point

Joint = Literal["through", "stop", "mitre", "fence", "square", "splice", "closed"]


@dataclass(frozen=True)
class End:
    """One end of a piece.

    Parameters
    ----------
    joint
        What happens there: ``through`` and ``stop`` are the two boards of a butt corner,
        ``mitre`` half of one, ``fence`` dies into a fence or a neighbour's board, ``square``
        is free, ``splice`` meets the next piece of the run, ``closed`` meets itself.
    saw_deg
        What the mitre saw's scale reads, 0 for a square cut [deg].
    """

    joint: Joint
    saw_deg: float


@dataclass(frozen=True)
class Piece:
    """One length to cut.

    Parameters
    ----------
    label
        What to write on it, such as ``2b``: run and piece.
    long_m
        Longest extent along the board, the length to take from stock [m].
    short_m
        Length of the shorter face [m].
    outline
        Its figure in plan.
    """

    label: str
    bed: str
    run: int
    board: str
    long_m: float
    short_m: float
    ends: tuple[End, End]
    outline: Polygon
    tier: int = 1


@dataclass(frozen=True)
class Run:
    """A length of a bed's outline that carries a board, from start to end."""

    number: int
    start: Point
    end: Point
    length_m: float


@dataclass(frozen=True)
class BedEdging:
    """The edging of one bed.

    `planting` is what is left inside the boards; `splices` are the places of its splices.
    """

    bed: str
    board: str | None
    runs: tuple[Run, ...]
    pieces: tuple[Piece, ...]
    splices: tuple[Point, ...]
    planting: BaseGeometry

    @property
    def length_m(self) -> float:
        """Length of edging along its outer face [m]."""
        return sum(run.length_m for run in self.runs)
