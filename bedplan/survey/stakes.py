"""Stakes set out from marks that stand: two ties, a check, and a place by a side.

Layer: survey engine. A *stake* is any point to be found on the ground: the corner of a bed, the
first unit's corner. Figures are told as a tape reads, and what that rounding does to the stake
is told beside them.

Public entry point: `set_out`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Literal

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.lines import through
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import Point, System
from bedplan.model.site import Side
from bedplan.model.ties import Tape, Tie
from bedplan.units import INCH_M

LEAST_CROSSING_DEG = 30.0
"""Ties that cross flatter than this, or flatter than 180° less this, are a last resort [deg].

Common practice, no source; from first principles the stake strays 1/sin(30°) = 2 times as far.
"""

TELLS_M = 0.05
"""A check tie tells on which side of the two marks a stake is if it differs so much there [m]."""


@dataclass(frozen=True)
class SetOutTie:
    """One distance to tape: from a mark, exact and as a tape reads it [m]."""

    mark: str
    exact_m: float
    tape_m: float


@dataclass(frozen=True)
class BesideSide:
    """A place by a side: along it from its first corner, then square to it, inward [m]."""

    side: str
    along: SetOutTie
    in_exact_m: float
    in_tape_m: float


@dataclass(frozen=True)
class Stake:
    """How to find one point.

    Parameters
    ----------
    name, at
        The point [m].
    ties
        The two distances whose arcs cross there.
    hand
        On which hand the point lies for someone looking from the first mark to the second.
    crossing_deg
        Angle between the two ties [deg], best near 90.
    check
        A third distance, from the mark that best shows an error in any of the three; None where
        there is no third mark.
    beside
        The same point by the nearest side; None without sides.
    rounding_m
        How far the point given by the two rounded distances lies from the true one [m].
    sigma_m
        Longer half axis of the standard error ellipse for the tape [m].
    clear
        Whether both ties run over open ground and within the tape's length.
    """

    name: str
    at: Point
    ties: tuple[SetOutTie, SetOutTie]
    hand: Literal["left", "right"]
    crossing_deg: float
    check: SetOutTie | None
    beside: BesideSide | None
    rounding_m: float
    sigma_m: float
    clear: bool


@dataclass(frozen=True)
class Means:
    """What there is to set out with.

    Parameters
    ----------
    show
        Figures to the nearest 1/16 in or to the millimetre.
    longest_m
        Length of the tape [m]; longer ties are a last resort.
    open_ground
        Where a tape can run straight [m], posts and trees cut out; None for anywhere.
    tape
        Standard deviation of the tape.
    """

    show: System = "imperial"
    longest_m: float = 30.0
    open_ground: BaseGeometry | None = None
    tape: Tape = field(default_factory=Tape)


def tape_reading(length_m: float, show: System) -> float:
    """Return the nearest mark on the tape: 1/16 in or 1 mm [m].

    Examples
    --------
    >>> tape_reading(1.0, "imperial") == 630 / 16 * 0.0254
    True
    >>> tape_reading(1.23449, "metric")
    1.234
    """
    step = 16.0 / INCH_M if show == "imperial" else 1000.0
    return round(length_m * step) / step


def set_out(
    points: Mapping[str, Point],
    marks: Mapping[str, Point],
    sides: Sequence[Side] = (),
    means: Means | None = None,
) -> tuple[Stake, ...]:
    """Return how to find each point with a tape.

    Of all pairs of marks those come first whose ties run over open ground, within the tape and
    cross at 30° to 150°; of these, the pair that leaves the stake least uncertain. That weighs a
    crossing near 90° against short ties by what both do to the point.

    Parameters
    ----------
    points
        What to find [m].
    marks
        What stands already: corners, posts [m].
    sides
        Sides of the enclosure for the second way, along and in.
    means
        Tape, its length, how figures are told, and where it can run.

    Raises
    ------
    GeometryError
        If a point has fewer than two marks at a distance from it and not in one line with it.

    Examples
    --------
    >>> corners = {"A": (0.0, 0.0), "B": (6.0, 0.0), "C": (6.0, 9.0)}
    >>> (stake,) = set_out({"bed 1": (3.0, 4.0)}, corners, means=Means("metric"))
    >>> [(tie.mark, tie.tape_m) for tie in stake.ties], stake.hand
    ([('A', 5.0), ('B', 5.0)], 'left')
    >>> stake.check.mark, stake.check.tape_m
    ('C', 5.831)
    """
    means = means or Means()
    if means.open_ground is not None:
        ground = means.open_ground.buffer(SNAP_M)
        shapely.prepare(ground)
        means = replace(means, open_ground=ground)
    return tuple(_stake(name, at, marks, sides, means) for name, at in points.items())


def _stake(
    name: str, at: Point, marks: Mapping[str, Point], sides: Sequence[Side], means: Means
) -> Stake:
    usable = {mark: spot for mark, spot in marks.items() if math.dist(spot, at) > SNAP_M}
    poor = {mark: _poor(at, spot, means) for mark, spot in usable.items()}
    pairs = [
        (
            (poor[a] + poor[b], _is_flat(angle)),
            # to the micrometre, so that of equals the first named is taken on every machine
            round(_sigma_m(at, usable[a], usable[b], means), 6),
            a,
            b,
        )
        for a, b in combinations(usable, 2)
        if math.sin(math.radians(angle := crossing_deg(at, usable[a], usable[b]))) > 1e-3
    ]
    if not pairs:
        message = f"no two marks give ties that cross at {name}"
        raise GeometryError(message)
    (hindered, _), sigma_m, a, b = min(pairs)
    ties = (_tie(a, usable[a], at, means), _tie(b, usable[b], at, means))
    left = through(usable[a], usable[b]).left_of(at) > 0.0
    return Stake(
        name=name,
        at=at,
        ties=ties,
        hand="left" if left else "right",
        crossing_deg=crossing_deg(at, usable[a], usable[b]),
        check=_check(at, (a, b), usable, poor, means),
        beside=_beside(at, sides, means),
        rounding_m=math.dist(at, _met(usable[a], usable[b], ties, left)),
        sigma_m=sigma_m,
        clear=hindered == 0,
    )


def _poor(at: Point, mark: Point, means: Means) -> int:
    """Return 1 for a tie that is too long or blocked, else 0."""
    too_long = math.dist(at, mark) > means.longest_m + SNAP_M
    ground = means.open_ground
    blocked = ground is not None and not ground.covers(LineString([mark, at]))
    return int(too_long or blocked)


def _tie(name: str, mark: Point, at: Point, means: Means) -> SetOutTie:
    exact_m = math.dist(mark, at)
    return SetOutTie(name, exact_m, tape_reading(exact_m, means.show))


def crossing_deg(at: Point, one: Point, other: Point) -> float:
    """Return the angle between the directions from a point to two marks, 0 to 180 [deg]."""
    a, b = through(at, one).along, through(at, other).along
    return math.degrees(math.atan2(abs(a[0] * b[1] - a[1] * b[0]), a[0] * b[0] + a[1] * b[1]))


def _is_flat(angle_deg: float) -> bool:
    return not LEAST_CROSSING_DEG <= angle_deg <= 180.0 - LEAST_CROSSING_DEG


def _sigma_m(at: Point, one: Point, other: Point, means: Means) -> float:
    """Return the longer half axis of the error ellipse of a point by two ties [m].

    For standard deviations s, t and crossing angle g the ellipse has the squared half axes
    ``(s² + t² ± sqrt((s² + t²)² − 4 s² t² sin² g)) / (2 sin² g)``: first principles, the inverse
    of the two ties' normal matrix.
    """
    s2, t2 = (means.tape.sigma_m(math.dist(at, mark)) ** 2 for mark in (one, other))
    sin2 = math.sin(math.radians(crossing_deg(at, one, other))) ** 2
    root = math.sqrt(max((s2 + t2) ** 2 - 4.0 * s2 * t2 * sin2, 0.0))
    return math.sqrt((s2 + t2 + root) / (2.0 * sin2))


def _met(one: Point, other: Point, ties: tuple[SetOutTie, SetOutTie], left: bool) -> Point:
    """Return where the arcs of the rounded ties cross, on the stated hand."""
    line, far = through(one, other), math.dist(one, other)
    along = (ties[0].tape_m ** 2 - ties[1].tape_m ** 2 + far**2) / (2.0 * far)
    aside = math.sqrt(max(ties[0].tape_m ** 2 - along**2, 0.0))
    return line.shifted(aside if left else -aside).point(along)


def _check(
    at: Point,
    pair: tuple[str, str],
    marks: Mapping[str, Point],
    poor: Mapping[str, int],
    means: Means,
) -> SetOutTie | None:
    """Return the third tie: within reach, telling the sides apart, and checking all three best."""
    one, other = (marks[name] for name in pair)
    line = through(one, other)
    mirrored = line.shifted(-line.left_of(at)).point(line.station(at))

    def merit(name: str) -> tuple[int, bool, float]:
        tells = abs(math.dist(marks[name], at) - math.dist(marks[name], mirrored)) >= TELLS_M
        return (poor[name], not tells, -_least_redundancy(at, (one, other, marks[name])))

    rest = [name for name in marks if name not in pair]
    best = min(rest, key=merit, default=None)
    return None if best is None else _tie(best, marks[best], at, means)


def _least_redundancy(at: Point, marks: Sequence[Point]) -> float:
    """Return the smallest redundancy number of three ties to one point, 0 to 1/3.

    The one condition among three unit directions has the sines of the angles between the other
    two as factors; each number is its factor's share of the sum of squares (first principles).
    """
    ways = [through(at, mark).along for mark in marks]
    sines = [a[0] * b[1] - a[1] * b[0] for a, b in combinations(ways, 2)]
    return min(sine * sine for sine in sines) / (sum(sine * sine for sine in sines) or 1.0)


def _beside(at: Point, sides: Sequence[Side], means: Means) -> BesideSide | None:
    """Return a point by the nearest side that it stands square to, or else the nearest."""
    if not sides:
        return None

    def merit(side: Side) -> tuple[bool, float]:
        along = side.line.station(at)
        inside = side.inward * side.line.left_of(at)
        return (
            not (-SNAP_M <= along <= side.length_m + SNAP_M and inside >= -SNAP_M),
            abs(inside),
        )

    side = min(sides, key=merit)
    along_m, in_m = side.line.station(at), side.inward * side.line.left_of(at)
    return BesideSide(
        side.name,
        SetOutTie(side.first, along_m, tape_reading(along_m, means.show)),
        in_m,
        tape_reading(in_m, means.show),
    )


def stake_ties(stake: Stake) -> list[Tie]:
    """Return a stake's rounded distances as ties, for the survey engine to place it again."""
    taped = stake.ties if stake.check is None else (*stake.ties, stake.check)
    return [Tie(tie.mark, stake.name, tie.tape_m) for tie in taped]
