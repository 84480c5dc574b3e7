"""What a layout says of heights: spots, falls, finishes and soil (layer: model).

Heights are metres above any one mark the builder chose, up positive. A *fall* is drop per
distance, 0.02 for 2 %. The *finish* of a path is the top of its units; its *formation* is the
dug surface its layers lie on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from bedplan.model.layout import Place

Dug = Literal["parallel", "level"]
Setting = Literal["balance", "above"]


@dataclass(frozen=True)
class Spot:
    """A spot height: a place and the height of the ground there [m]."""

    at: Place
    height_m: float


@dataclass(frozen=True)
class Fall:
    """Where a plane falls to, a side or degrees, and its slope, drop per distance [-]."""

    toward: str | float
    slope: float


@dataclass(frozen=True)
class Grade:
    """How the finish of a path lies.

    Parameters
    ----------
    height
        Height of the finish at `at` [m]; ``balance``: as much cut as fill; ``above``: as low as
        it may lie with no ground standing above it.
    at
        Where a height in metres holds; None for the middle of the path.
    fall
        Where it falls to; None for level.
    dug
        How the formation is dug: ``parallel`` to the finish, or ``level``, the base then making
        up the fall.
    """

    height: float | Setting = "balance"
    at: Place | None = None
    fall: Fall | None = None
    dug: Dug = "parallel"


@dataclass(frozen=True)
class Soil:
    """What soil does when it is dug and when it is rolled.

    Parameters
    ----------
    loose
        Loose volume of one volume in the bank [-], ≥ 1; 1.25 is a swell of 25 %.
    compacted
        Compacted volume of one volume in the bank [-].
    """

    name: str
    loose: float
    compacted: float


SOILS: Final[Mapping[str, Soil]] = {
    soil.name: soil
    for soil in (
        Soil("sand", 1.11, 0.95),
        Soil("loam", 1.25, 0.90),
        Soil("clay", 1.43, 0.90),
        Soil("blasted rock", 1.50, 1.30),
    )
}
"""Volume factors of the US Army, FM 5-434 (2000), table 1-1, from memory."""


@dataclass(frozen=True)
class GroundSpec:
    """All a layout says of its ground.

    Parameters
    ----------
    spots
        Spot heights; none means level ground at height 0.
    grade
        Finish of every path that has none of its own.
    paths
        Finish of single paths, by name.
    soil
        What is dug.
    building
        Sides of the fence along which a building stands: no finish may fall towards them.
    reveal_m
        How far a bed's level board top stands above the highest ground along it [m]; None where
        its boards stand on the lowest ground as far as they then clear the highest.
    bury_m
        How deep the lowest board stands in the ground [m].
    """

    spots: tuple[Spot, ...] = ()
    grade: Grade = Grade()
    paths: Mapping[str, Grade] = field(default_factory=dict)
    soil: Soil = SOILS["loam"]
    building: tuple[str, ...] = ()
    reveal_m: float | None = None
    bury_m: float = 0.0
