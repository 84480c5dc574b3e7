"""What a survey tells: places, residuals, the suspect, corners and closure (layer: survey engine).

Residuals are taped less computed [m]: positive where the tape read too long.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import Polygon

from bedplan.model.layout import Point
from bedplan.model.ties import Tie


@dataclass(frozen=True)
class Ellipse:
    """Standard error ellipse of a place: 39 % of repeats fall inside, 86 % inside twice it.

    `direction_deg` is that of the longer axis, counter-clockwise from x, 0 ≤ angle < 180.
    """

    semi_major_m: float
    semi_minor_m: float
    direction_deg: float


@dataclass(frozen=True)
class Mark:
    """A mark on the ground; `error` is None where the datum holds it still."""

    name: str
    at: Point
    error: Ellipse | None


@dataclass(frozen=True)
class TieCheck:
    """How one tie agrees with all the others.

    Parameters
    ----------
    tie, sigma_m
        The tie and the standard deviation it was given [m].
    computed_m, residual_m
        Distance between the places found, and taped less computed [m].
    redundancy
        Share of an error in this tie that its residual shows, 0 to 1.
    standardised
        ``residual / (sigma · sqrt(redundancy))``; None where nothing checks the tie.
    visible_m
        Error that the test finds 4 times in 5 [m]; None where nothing checks the tie.
    """

    tie: Tie
    sigma_m: float
    computed_m: float
    residual_m: float
    redundancy: float
    standardised: float | None
    visible_m: float | None


@dataclass(frozen=True)
class Suspect:
    """The tie that looks wrong.

    Parameters
    ----------
    tie
        Largest standardised residual above the critical value.
    standardised
        That residual.
    corrected_m, error_m
        Its length by all the other ties, and taped less that [m].
    alike
        Other ties that would explain the misfit nearly as well: tape them again too.
    """

    tie: Tie
    standardised: float
    corrected_m: float
    error_m: float
    alike: tuple[Tie, ...]

    @property
    def certain(self) -> bool:
        """Whether this tie stands out alone. With one tie to spare none ever does."""
        return not self.alike


@dataclass(frozen=True)
class CornerAngle:
    """The angle inside the fence at a corner.

    Parameters
    ----------
    interior_deg, sigma_deg
        Angle and its standard deviation [deg].
    off_square_deg
        Interior angle less 90 (270 at an inward corner) where it is near square, else None [deg].
    """

    name: str
    interior_deg: float
    sigma_deg: float
    off_square_deg: float | None


@dataclass(frozen=True)
class Closure:
    """By how much the fence line fails to close, walked with its taped lengths [m].

    The directions are those found, the lengths those taped (computed where a side was not).
    `ratio` is the perimeter over the gap; None where it closes exactly.
    """

    gap_m: float
    perimeter_m: float
    taped_sides: int

    @property
    def ratio(self) -> float | None:
        """Perimeter per gap, as in "1 : 5000" [-]."""
        return self.perimeter_m / self.gap_m if self.gap_m > 0.0 else None


@dataclass(frozen=True)
class Rival:
    """Another figure that meets the ties nearly as well.

    Parameters
    ----------
    places
        Where the marks would stand [m].
    inward
        Corners that would point into the ground.
    settle
        The two marks whose distance tells the figures apart best.
    here_m, there_m
        That distance in the figure chosen and in this one [m].
    """

    places: dict[str, Point]
    inward: frozenset[str]
    settle: tuple[str, str]
    here_m: float
    there_m: float


@dataclass(frozen=True)
class Survey:
    """The fence and other marks as the ties place them.

    Parameters
    ----------
    marks
        Corners in order, then other marks.
    corners
        Angle at every corner, in order.
    ties
        In the order given.
    redundancy
        Ties beyond those that just fix every mark.
    unit_weight
        Standard deviation of unit weight [-]: about 1 where the ties agree as well as the tape
        promises; None without redundancy.
    suspect
        The tie that looks wrong, if one does.
    sound
        Whether no tie is suspect and all together agree as the tape promises. True says little
        where `redundancy` is nought.
    closure
        Of the fence line.
    rivals
        Other figures the ties allow; empty where the figure is settled.
    """

    marks: tuple[Mark, ...]
    corners: tuple[CornerAngle, ...]
    ties: tuple[TieCheck, ...]
    redundancy: int
    unit_weight: float | None
    suspect: Suspect | None
    sound: bool
    closure: Closure
    rivals: tuple[Rival, ...]

    @property
    def places(self) -> dict[str, Point]:
        """Place of every mark [m]."""
        return {mark.name: mark.at for mark in self.marks}

    @property
    def ring(self) -> tuple[tuple[str, Point], ...]:
        """The corners in order with their places [m], as a fence line is given."""
        return tuple((mark.name, mark.at) for mark in self.marks[: len(self.corners)])

    @property
    def area_m2(self) -> float:
        """Ground inside the fence [m^2]."""
        return float(Polygon([at for _, at in self.ring]).area)

    @property
    def unchecked(self) -> tuple[Tie, ...]:
        """Ties that no other tie checks: an error in one of them cannot be seen."""
        return tuple(check.tie for check in self.ties if check.standardised is None)
