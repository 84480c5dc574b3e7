"""All the earthwork of a layout: paths, beds, spoil (layer: engines).

Plain data that the plan makes, the rules of practice judge and the outputs tell. Public entry
point: `Works`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bedplan.geometry.lines import Point
from bedplan.ground.depths import PathDig
from bedplan.ground.earthwork import Earthwork, sum_of
from bedplan.ground.plane import Plane
from bedplan.ground.spoil import Spoil
from bedplan.ground.spots import DoubtfulSpot, PlacedSpot
from bedplan.ground.surface import Surface
from bedplan.ground.tiers import TierSpan


@dataclass(frozen=True)
class CornerHeight:
    """A corner of a path: its place, its finish and the ground there now [m]."""

    at: Point
    finish_m: float
    ground_m: float


@dataclass(frozen=True)
class PathWorks:
    """The earthwork of one path.

    Parameters
    ----------
    path
        Its name.
    finish
        Top of its units, one plane for all its walks.
    digs
        Formation, cut and base of each of its separate walks.
    corners
        Heights at its corners, walk by walk.
    guessed_m2
        Ground of the path beyond the outermost spot heights [m^2].
    roots
        Greatest cut within the root zone of each existing plant that digging reaches [m].
    """

    path: str
    finish: Plane
    digs: tuple[PathDig, ...]
    corners: tuple[CornerHeight, ...]
    guessed_m2: float = 0.0
    roots: Mapping[str, float] = field(default_factory=dict)

    @property
    def work(self) -> Earthwork:
        """Cut down to the formation, and ground made up under it, of all its walks."""
        return sum_of(dig.work for dig in self.digs)

    @property
    def base_least_m(self) -> float:
        """Least depth of the base [m]."""
        return min(dig.base.least_m for dig in self.digs)

    @property
    def base_greatest_m(self) -> float:
        """Greatest depth of the base [m]."""
        return max(dig.base.greatest_m for dig in self.digs)

    @property
    def base_m3(self) -> float:
        """Volume of the base in place [m^3]."""
        return sum(dig.base.volume_m3 for dig in self.digs)


@dataclass(frozen=True)
class RunTiers:
    """A run of boards: how many must be stacked along it, from its start."""

    run: int
    length_m: float
    spans: tuple[TierSpan, ...]

    @property
    def most(self) -> int:
        """Boards stacked where most are needed."""
        return max(span.tiers for span in self.spans)


@dataclass(frozen=True)
class BedWorks:
    """A bed on sloping ground.

    Parameters
    ----------
    bed
        Its name.
    top_m
        Height of its level board top [m].
    room_m3
        Loose soil it takes below its layers and mulch [m^3].
    tiers
        Boards the file has stacked all round.
    runs
        Boards that the ground asks for, run by run.
    """

    bed: str
    top_m: float
    room_m3: float
    tiers: int
    runs: tuple[RunTiers, ...]

    @property
    def short_runs(self) -> tuple[RunTiers, ...]:
        """Runs that need more boards somewhere than are stacked."""
        return tuple(run for run in self.runs if run.most > self.tiers)


@dataclass(frozen=True)
class Works:
    """All the earthwork of a layout.

    Parameters
    ----------
    surface
        The ground.
    spots
        Spot heights in the order of the file.
    doubtful
        Those that look mistyped.
    paths
        Paths that are dug, in the order of the file; beds with boards likewise.
    spoil
        Where all that is dug goes.
    """

    surface: Surface
    spots: tuple[PlacedSpot, ...]
    doubtful: tuple[DoubtfulSpot, ...]
    paths: tuple[PathWorks, ...]
    beds: tuple[BedWorks, ...]
    spoil: Spoil

    @property
    def work(self) -> Earthwork:
        """Cut and fill of all paths."""
        return sum_of(path.work for path in self.paths)
