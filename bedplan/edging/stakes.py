"""Where stakes hold the boards (layer: engines).

A stake stands inside the boards, against their inner faces: one at every corner of two boards,
one at every free end, one at every splice that nothing else holds, and between these as many at
equal spacing as keep it within the greatest asked. Each is moved along its run, by half the
spacing at most, to keep clear of footings, pipes and stems; at a corner that is not clear each of
the two boards gets a stake of its own. Boards fixed to the fence need stakes at corners only.

Public entry points: `set_stakes`, `set_round_stakes`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, Literal

from shapely.geometry import LineString

from bedplan.edging.clear import InGround
from bedplan.edging.held import free_below, unheld
from bedplan.edging.model import PlacedStake, Shortfall
from bedplan.edging.pieces import CutRun
from bedplan.geometry.lines import Line, Point, direction_deg, mitre_point
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.materials import Board, Stake

SHIFT_M: Final = 0.3048
"""A stake without a spacing is moved no farther than this [m]: 12 in, our choice."""

Kind = Literal["corner", "end", "splice", "between"]


@dataclass(frozen=True)
class StakeKind:
    """A kind of stake, the board it holds, and how high the boards' top is [m]."""

    stake: Stake
    board: Board
    top_m: float
    number: int

    @property
    def reach_m(self) -> float:
        """Radius of the disc round the stake [m]."""
        return self.stake.size_m / math.sqrt(2.0)

    @property
    def inside_m(self) -> float:
        """How far a stake's middle lies inside the outer face of its board [m]."""
        return self.board.thickness_m + self.stake.size_m / 2.0

    @property
    def shift_m(self) -> float:
        """How far a stake may be moved at most [m]."""
        return SHIFT_M if self.stake.every_m is None else self.stake.every_m / 2.0


@dataclass(frozen=True)
class Spot:
    """A stake set: its run, where along it, what for, and its middle."""

    run: int
    station_m: float
    kind: Kind
    at: Point
    direction_deg: float
    shifted_m: float = 0.0
    corner: Point | None = None


@dataclass
class StakesSet:
    """Stakes set so far, and those that could not be."""

    kind: StakeKind
    ground: InGround
    spots: list[Spot] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)
    blocked: set[Point] = field(default_factory=set)

    def placed(self) -> tuple[PlacedStake, ...]:
        """Return the stakes in order along the runs, labelled."""
        stake = self.kind.stake
        below_m = stake.length_m - self.kind.top_m - stake.above_m
        return tuple(
            PlacedStake(
                f"{self.kind.number}.s{number}",
                stake.name,
                spot.run,
                spot.kind,
                spot.at,
                spot.direction_deg,
                stake.size_m,
                stake.length_m,
                below_m,
                spot.shifted_m,
            )
            for number, spot in enumerate(self.ordered(), start=1)
        )

    def ordered(self) -> list[Spot]:
        """Return the stakes in order along the runs."""
        return sorted(self.spots, key=lambda spot: (spot.run, spot.station_m))

    def corner_labels(self) -> dict[Point, str]:
        """Return the label of the stake at every corner of the outline that has one."""
        return {
            spot.corner: f"{self.kind.number}.s{number}"
            for number, spot in enumerate(self.ordered(), start=1)
            if spot.corner is not None
        }

    def refuse(self, run: int, at: Point) -> None:
        """Note a place that must stay without a stake."""
        near = self.ground.too_near(at, self.kind.reach_m)
        free_m, clear_m, name = (near.free_m, near.clear_m, near.name) if near else (0.0, 0.0, "")
        self.shortfalls.append(Shortfall("stake-clear", run, 1, at, free_m, clear_m, name))


@dataclass(frozen=True)
class Way:
    """The line on which the stakes of one run stand, from its first place to its last [m]."""

    run: int
    line: Line
    start_m: float
    end_m: float
    heading_deg: float

    def set(self, done: StakesSet, wanted_m: float, most_m: float, kind: Kind) -> None:
        """Set a stake as near to a station as is clear, or note that there is no place."""
        path = LineString([self.line.point(self.start_m), self.line.point(self.end_m)])
        found = done.ground.nearest(path, wanted_m - self.start_m, most_m, done.kind.reach_m)
        if found is None:
            done.refuse(self.run, self.line.point(wanted_m))
            return
        station = found + self.start_m
        shifted = station - wanted_m if abs(station - wanted_m) > SNAP_M else 0.0
        done.spots.append(
            Spot(self.run, station, kind, self.line.point(station), self.heading_deg, shifted)
        )


def set_stakes(tiers: Sequence[Sequence[CutRun]], kind: StakeKind, ground: InGround) -> StakesSet:
    """Return the stakes of straight runs.

    Parameters
    ----------
    tiers
        The runs of every tier, the lowest first: stakes are set for that one, and reach all.
    kind
        The stake and its board.
    ground
        What to keep clear of.
    """
    done = StakesSet(kind, ground)
    starting = {run.stretch.edge.start: run for run in tiers[0] if run.stretch.corners[0]}
    ending = {run.stretch.edge.end: run for run in tiers[0] if run.stretch.corners[1]}
    at_splices, at_ends = unheld(tiers), free_below(tiers, kind.stake.size_m / 2.0)
    for point, arriving in ending.items():
        if point in starting:
            _set_corner(done, arriving, starting[point])
    for run in tiers[0]:
        edge = run.stretch.edge
        before = ending.get(edge.start) if run.stretch.corners[0] else None
        after = starting.get(edge.end) if run.stretch.corners[1] else None
        _set_run(
            done, run, (before, after), (at_splices.get(run.run, []), at_ends.get(run.run, []))
        )
    return done


def _set_corner(done: StakesSet, arriving: CutRun, leaving: CutRun) -> None:
    """Set one stake that holds both boards of a corner, if its place is clear."""
    edge = arriving.stretch.edge
    at = corner_place(arriving, leaving, done.kind)
    if done.ground.too_near(at, done.kind.reach_m) is not None:
        done.blocked.add(edge.end)
        return
    heading = direction_deg(edge.start, edge.end)
    station = edge.line.station(at)
    done.spots.append(Spot(arriving.run, station, "corner", at, heading, corner=edge.end))


def corner_place(arriving: CutRun, leaving: CutRun, kind: StakeKind) -> Point:
    """Return the middle of the stake at a corner.

    At an outward corner it touches the inner faces of both boards. At an inward one it stands in
    the notch between two boards cut square, or else behind the arriving board's end.
    """
    one, other = arriving.stretch.edge.line, leaving.stretch.edge.line
    outward = one.left_of(leaving.stretch.edge.end) > 0.0
    if outward:
        return mitre_point(one, other, kind.inside_m)
    if kind.board.corner == "stake":
        return mitre_point(one, other, kind.stake.size_m / 2.0)
    end_m = arriving.stretch.ends_m[1][1] - kind.stake.size_m / 2.0
    return one.shifted(kind.inside_m).point(end_m)


def _set_run(
    done: StakesSet,
    run: CutRun,
    beside: tuple[CutRun | None, CutRun | None],
    along: tuple[Sequence[float], Sequence[float]],
) -> None:
    """Set the stakes of one run between its corners: splices, ends of lower boards, between."""
    way = _way(run, beside, done.kind)
    if way is None:
        return
    edge = run.stretch.edge
    free = [
        cut.joint == "square" if other is None else corner in done.blocked
        for cut, other, corner in zip(
            (run.stretch.start, run.stretch.end), beside, (edge.start, edge.end), strict=True
        )
    ]
    most_m = min(done.kind.shift_m, (way.end_m - way.start_m) / 2.0)
    for at_m, needed in zip((way.start_m, way.end_m), free, strict=True):
        if needed:
            way.set(done, at_m, most_m, "end")
    if not run.stretch.on_fence:
        splices, ends = along
        held = [way.start_m, way.end_m, *splices]
        size_m = done.kind.stake.size_m
        # a stake that stands there already holds the lower board as well
        lower = [at for at in ends if all(abs(at - other) > size_m for other in held)]
        for at in lower:
            way.set(done, at, size_m / 4.0, "end")
        _set_between(done, way, sorted(splices), lower)


def _way(run: CutRun, beside: tuple[CutRun | None, CutRun | None], kind: StakeKind) -> Way | None:
    """Return the line of a run's stakes from its first place to its last; None if too short."""
    stretch, half_m = run.stretch, kind.stake.size_m / 2.0
    edge = stretch.edge
    before, after = beside
    first_m, last_m = stretch.extent_m
    if before is not None:
        first_m = max(first_m, edge.line.station(corner_place(before, run, kind)))
    elif stretch.start.joint == "square":
        first_m += half_m
    if after is not None:
        last_m = min(last_m, edge.line.station(corner_place(run, after, kind)))
    elif stretch.end.joint == "square":
        last_m -= half_m
    if last_m - first_m <= SNAP_M:
        return None
    heading = direction_deg(edge.start, edge.end)
    return Way(run.run, edge.line.shifted(kind.inside_m), first_m, last_m, heading)


def _set_between(
    done: StakesSet, way: Way, splices: Sequence[float], ends: Sequence[float]
) -> None:
    """Set stakes at splices, and at equal spacing between these and the ends of a run."""
    for station in splices:
        way.set(done, station, done.kind.stake.size_m / 4.0, "splice")
    every_m = done.kind.stake.every_m
    if every_m is None:
        return
    for one, after in pairwise(sorted([way.start_m, *splices, *ends, way.end_m])):
        parts = max(1, math.ceil((after - one) / every_m - 1e-9))
        spacing_m = (after - one) / parts
        for part in range(1, parts):
            way.set(done, one + spacing_m * part, spacing_m / 2.0, "between")
    done.shortfalls += _too_far(done, way, every_m)


def _too_far(done: StakesSet, way: Way, every_m: float) -> Iterator[Shortfall]:
    """Yield every gap between stakes of a run that moving one has made too wide."""
    own = [spot for spot in done.spots if spot.run == way.run and spot.kind != "corner"]
    stations = sorted([way.start_m, *(spot.station_m for spot in own), way.end_m])
    for one, after in pairwise(stations):
        if after - one > every_m + SNAP_M:
            at = way.line.point((one + after) / 2.0)
            yield Shortfall("stake-spacing", way.run, 1, at, after - one, every_m)


def set_round_stakes(
    radius_m: float, center: Point, kind: StakeKind, ground: InGround
) -> StakesSet:
    """Return the stakes of edging that bends round a circle, at equal spacing.

    Parameters
    ----------
    radius_m, center
        Of the outer face.
    kind, ground
        As in `set_stakes`.
    """
    done = StakesSet(kind, ground)
    inner_m = radius_m - kind.inside_m
    every_m = kind.stake.every_m
    if every_m is None or inner_m <= 0.0:
        return done
    count = max(3, math.ceil(2.0 * math.pi * radius_m / every_m - 1e-9))
    for number in range(count):
        _set_on_circle(done, center, inner_m, (number, count))
    return done


def _set_on_circle(done: StakesSet, center: Point, inner_m: float, which: tuple[int, int]) -> None:
    """Set one of so many stakes on a circle, as near to its place as is clear."""
    number, count = which
    share = math.pi / count
    turns = [2.0 * share * number + share * step / 32.0 for step in range(-32, 33)]
    arc = LineString(
        [
            (center[0] + inner_m * math.cos(turn), center[1] + inner_m * math.sin(turn))
            for turn in turns
        ]
    )
    middle = arc.coords[32]
    found = done.ground.nearest(arc, arc.length / 2.0, arc.length / 2.0, done.kind.reach_m)
    if found is None:
        done.refuse(1, (middle[0], middle[1]))
        return
    spot = arc.interpolate(found)
    at = (float(spot.x), float(spot.y))
    shifted = found - arc.length / 2.0
    heading = (math.degrees(math.atan2(at[1] - center[1], at[0] - center[0])) + 90.0) % 360.0
    station = 2.0 * math.pi * inner_m * number / count + shifted
    done.spots.append(
        Spot(1, station, "between", at, heading, shifted if abs(shifted) > SNAP_M else 0.0)
    )
