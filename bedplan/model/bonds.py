"""Bonds as a layout asks for them: the words, and patterns of one's own (layer: model).

A *pattern* repeats a *motif*, a few units set to each other, by two steps, `along` and `across`.
Every distance is written in multiples of the *modules*: length and width of the first unit,
then of the second, each widened by one joint. So a pattern holds for every joint.

Public entry points: `BondPattern`, `BONDS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

ONE_SIZE: Final = (
    "stack",
    "running",
    "herringbone",
    "herringbone 45",
    "basket weave",
    "courses",
    "free",
)
"""Words for bonds laid of one unit."""

TWO_SIZES: Final = ("pinwheel",)
"""Words for bonds laid of two units of different size."""

BONDS: Final = (*ONE_SIZE, *TWO_SIZES)
"""What a layout may ask for without drawing it; no pattern of one's own bears such a name."""

Multiples = tuple[float, ...]


@dataclass(frozen=True)
class Step:
    """A distance along x and y, each in multiples of the modules (L, W, then those of unit 2)."""

    x: Multiples = ()
    y: Multiples = ()


@dataclass(frozen=True)
class MotifUnit:
    """One unit of a motif.

    Parameters
    ----------
    at
        Where its centre is.
    turned
        True if its length runs along y, False if along x.
    face
        Which of the path's units it is, 0 for the first.
    """

    at: Step = Step()
    turned: bool = False
    face: int = 0


@dataclass(frozen=True)
class BondPattern:
    """A bond somebody drew: its name, its motif and the two steps by which that repeats.

    Examples
    --------
    >>> BondPattern("mine", (MotifUnit(),), Step((1,)), Step((), (0, 1))).faces
    1
    """

    name: str
    units: tuple[MotifUnit, ...]
    along: Step
    across: Step

    @property
    def faces(self) -> int:
        """How many units of different size it is laid of: 1 or 2."""
        return 1 + max((unit.face for unit in self.units), default=0)
