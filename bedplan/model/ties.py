"""Taped distances between marks, and a fence told by them (layer: model).

A *mark* is any point a tape is held to: a corner of the fence, a post, a house corner, a tree.
A *tie* is one taped distance between two marks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from bedplan.geometry.lines import Point

Turn = Literal["ccw", "cw"]
Where = Literal["inside", "outside", "anywhere"]


@dataclass(frozen=True)
class Tie:
    """One taped distance.

    Parameters
    ----------
    first, second
        The two marks.
    length_m
        What the tape read, level [m].
    sigma_m
        Standard deviation of this reading [m]; None for that of the tape.
    """

    first: str
    second: str
    length_m: float
    sigma_m: float | None = None

    @property
    def name(self) -> str:
        """The two marks in a word: ``AC``; ``A–oak`` where a name has several letters."""
        return tie_name(self.first, self.second)

    @property
    def marks(self) -> frozenset[str]:
        """The two marks, either way round."""
        return frozenset((self.first, self.second))


def tie_name(first: str, second: str) -> str:
    """Return what the tie of two marks is called: ``AC``, or ``A–oak``."""
    return first + second if len(first) == len(second) == 1 else f"{first}–{second}"


@dataclass(frozen=True)
class Tape:
    """How well a tape tells a distance: ``sigma = fixed_m + per_m × length``.

    Parameters
    ----------
    fixed_m
        Holding the ends to the marks and reading [m]. 3 mm: common practice, no source.
    per_m
        Per metre taped [m/m]. 1/10 000 is half of the error allowed in use to a metal tape of
        30 to 100 ft (1/16 in in 30 ft, 1/4 in in 100 ft), so that the limit is two standard
        deviations; sag, pull and warmth of the tape are not in it.

    References
    ----------
    NIST Handbook 44, section 5.52, maintenance and acceptance tolerances for metal tapes.

    Examples
    --------
    >>> round(Tape().sigma_m(10.0), 6)
    0.004
    """

    fixed_m: float = 0.003
    per_m: float = 1e-4

    def sigma_m(self, length_m: float) -> float:
        """Return the standard deviation of one taped distance [m]."""
        return self.fixed_m + self.per_m * length_m


@dataclass(frozen=True)
class RingShape:
    """What is known of a fence line besides its ties.

    Parameters
    ----------
    turn
        ``ccw`` where the corners are listed with the ground on the left hand of someone who
        walks them in order, ``cw`` with the ground on the right.
    inward
        The corners that point into the ground (reflex, more than 180° inside); None where
        nobody has said, and the plainest ring that meets the ties is taken.
    """

    turn: Turn = "ccw"
    inward: frozenset[str] | None = None


@dataclass(frozen=True)
class TiedRing:
    """A fence told by ties, some of its corners perhaps given.

    Parameters
    ----------
    corners
        Names in order round the fence.
    ties
        Every taped distance; both ways between two marks are two distances.
    known
        Marks whose place is given [m]; they may be corners or not.
    others
        Marks that are no corners, and on which side of the fence they stand; known marks may be
        among them.
    """

    corners: tuple[str, ...]
    ties: tuple[Tie, ...]
    known: Mapping[str, Point] = field(default_factory=dict)
    others: Mapping[str, Where] = field(default_factory=dict)
    shape: RingShape = RingShape()
    tape: Tape = Tape()
