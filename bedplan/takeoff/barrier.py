"""Strips of weed barrier over an area: which way, where, how long.

Layer: takeoff. Fabric comes on rolls of one width. Strips lie side by side, each lapping over
its neighbour; fabric is never ripped lengthwise, so the last strip is as wide as the first. It is
turned up against the boards all round, which widens the area by `turn_up_m`. Terms: *lap*, width
two neighbouring strips share; *end lap*, the same where one roll ends and the next begins;
*pitch*, from strip to strip, the roll width less the lap. How wide a lap must be is the trade's
matter: 6 in sewn (USDA NRCS Construction Specification 95), 12 in pinned (construction
specification 7.4.2.3 filed with the Colorado Division of Reclamation, Mining and Safety).

Entry point: `lay_strips`; pins and openings are in `barrier_pins`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point, unit_vector
from bedplan.geometry.polygons import as_area, common
from bedplan.geometry.tolerance import AREA_M2, GRID_M
from bedplan.takeoff.barrier_offsets import (
    critical_offsets,
    edge_directions,
    undirected_deg,
)
from bedplan.takeoff.barrier_strips import Floats, Outline, Runs, outline_of, runs_at

WORK = 40_000
"""Offsets tried × corners of the area, for each direction: bounds the time on large areas."""

LAST_WORK = 8 * WORK
"""The same for the direction chosen, which is tried once more where offsets were left out."""

FEWEST_OFFSETS = 48
"""Offsets tried for each direction on any area, however large."""

LENGTH_TIE_M = 1e-6
"""Layings whose totals differ by less than this buy the same length [m]."""


@dataclass(frozen=True)
class Strip:
    """One strip of fabric as it lies.

    Parameters
    ----------
    number
        From 1, from one side of the area to the other, then along the strips.
    outline
        The rectangle it covers before it is trimmed to the area, in plan coordinates [m].
    length_m
        From end to end [m].
    start, end
        Ends of its centre line, in plan coordinates [m].
    pieces_m
        Lengths to cut from rolls [m], in order from `start`, end laps included.
    """

    number: int
    outline: Polygon
    length_m: float
    start: Point
    end: Point
    pieces_m: tuple[float, ...]


@dataclass(frozen=True)
class StripLaying:
    """All the strips over one area.

    Parameters
    ----------
    direction_deg
        The way the strips run, 0 ≤ angle < 180 [deg].
    strips
        In order of their numbers; empty where there is nothing to cover.
    roll_width_m, lap_m, turn_up_m
        As given [m].
    net_area_m2
        The ground given [m^2], without the turned-up edge.
    fabric_area_m2
        Fabric to cut from rolls [m^2]: `total_length_m` times the roll width.
    total_length_m
        Sum of all the pieces [m].
    complete
        Whether every offset that can be best in this direction was tried: then no shift of the
        strips buys less (end laps aside).
    area
        The ground given.
    """

    direction_deg: float
    strips: tuple[Strip, ...]
    roll_width_m: float
    lap_m: float
    turn_up_m: float
    net_area_m2: float
    fabric_area_m2: float
    total_length_m: float
    complete: bool
    area: BaseGeometry = field(repr=False)

    @property
    def pieces_m(self) -> tuple[float, ...]:
        """Every length to cut from rolls [m], strip by strip."""
        return tuple(piece for strip in self.strips for piece in strip.pieces_m)


def lay_strips(
    area: BaseGeometry,
    *,
    roll_width_m: float,
    lap_m: float,
    turn_up_m: float = 0.0,
    directions_deg: Sequence[float] | None = None,
    longest_m: float | None = None,
) -> StripLaying:
    """Return the strips that cover an area with the least length of fabric.

    Parameters
    ----------
    area
        Polygon or multipolygon with holes [m]; empty gives a laying with no strips.
    roll_width_m
        Width of the roll [m], > 0.
    lap_m
        Width neighbouring strips share, and length added where a strip is pieced [m],
        0 ≤ lap < roll width.
    turn_up_m
        Fabric turned up against the edge all round [m], ≥ 0.
    directions_deg
        Ways the strips may run [deg]; by default along and square to the longest directions of
        the outline, see `barrier_offsets.edge_directions`.
    longest_m
        Longest roll [m]; longer strips are pieced with an end lap.

    Returns
    -------
    laying
        Least total length, then fewest pieces, then the direction tried first. `complete` tells
        whether the offset is proven best, see `barrier_offsets.critical_offsets`.

    Raises
    ------
    GeometryError
        If the roll has no width, the lap is negative or as wide as the roll, the turn-up is
        negative, the longest roll is no longer than the lap, or no direction is given.

    Notes
    -----
    One row of strips serves the whole area: separate walks share its direction and offset, and
    the strips are cut wherever a gap along them parts what they cover. Time grows with corners ×
    offsets tried: all up to about 100 corners, then fewer, those first that put a strip's edge on
    the longest edges of the area; the direction chosen is then tried again, at all offsets up to
    about 300 corners.

    References
    ----------
    First principles.

    Examples
    --------
    A bed 10 ft by 20 ft, 3 ft rolls lapping 6 in:

    >>> from shapely.geometry import box
    >>> laying = lay_strips(box(0, 0, 6.096, 3.048), roll_width_m=0.9144, lap_m=0.1524)
    >>> len(laying.strips), round(laying.fabric_area_m2 / laying.net_area_m2, 6)
    (4, 1.2)
    >>> lay_strips(box(0, 0, 6, 3), roll_width_m=0.3, lap_m=0.3)
    Traceback (most recent call last):
    ...
    bedplan.errors.GeometryError: a lap of 0.3 m leaves nothing of a roll 0.3 m wide
    """
    _refuse(roll_width_m, lap_m, turn_up_m, longest_m)
    ground = as_area(area)
    region = _turned_up(ground, turn_up_m)
    directions = (
        edge_directions(region)
        if directions_deg is None
        else tuple(undirected_deg(way) for way in directions_deg)
    )
    if not directions and not region.is_empty:
        message = "no direction is given for the strips to run in"
        raise GeometryError(message)
    roll = _Roll(roll_width_m, lap_m, math.inf if longest_m is None else longest_m)
    origin = _middle(region)
    best = None if region.is_empty else _best_row(outline_of(region, origin), directions, roll)
    strips = () if best is None else _strips(best, roll, origin)
    total_m = math.fsum(piece for strip in strips for piece in strip.pieces_m)
    return StripLaying(
        best.direction_deg if best else 0.0,
        strips,
        roll_width_m,
        lap_m,
        turn_up_m,
        ground.area,
        total_m * roll_width_m,
        total_m,
        best is None or best.complete,
        ground,
    )


@dataclass(frozen=True)
class _Roll:
    """What fabric is sold as: width, lap, longest length [m]."""

    width_m: float
    lap_m: float
    longest_m: float

    def joints(self, length_m: Floats) -> Floats:
        """Return how many end laps strips of given lengths need."""
        over = (length_m - GRID_M - self.lap_m) / (self.longest_m - self.lap_m)
        return np.maximum(np.ceil(over), 1.0) - 1.0

    def pieces(self, length_m: float) -> tuple[float, ...]:
        """Return the lengths to cut for one strip: whole rolls, then the rest [m]."""
        whole = int(self.joints(np.array([length_m]))[0])
        rest = length_m + whole * (self.lap_m - self.longest_m) if whole else length_m
        return (*(self.longest_m,) * whole, rest)


@dataclass(frozen=True)
class _Row:
    """One way to lay the row of strips: lower edge and run of each strip in the turned frame."""

    direction_deg: float
    total_m: float
    pieces: int
    low_m: Floats
    runs: Runs
    complete: bool


def _best_row(outline: Outline, directions: Iterable[float], roll: _Roll) -> _Row:
    """Return the row of least length, then of fewest pieces, then of the first direction."""
    row = _cheapest(row for way in directions for row in _rows_along(outline, way, roll, WORK))
    if row.complete:
        return row
    return _cheapest((row, *_rows_along(outline, row.direction_deg, roll, LAST_WORK)))


def _cheapest(rows: Iterable[_Row]) -> _Row:
    """Return the first row of least length, then of fewest pieces, proven ones before others."""
    rows = tuple(rows)
    least = min(row.total_m for row in rows) + LENGTH_TIE_M
    return min(
        (row for row in rows if row.total_m <= least),
        key=lambda row: (row.pieces, not row.complete),
    )


def _rows_along(unturned: Outline, direction_deg: float, roll: _Roll, work: int) -> Iterator[_Row]:
    """Yield the best row in one direction, for each rule that deals with slivers in a lap."""
    outline = unturned.turned(direction_deg)
    most = max(FEWEST_OFFSETS, work // len(outline.u))
    offsets, complete = critical_offsets(outline, roll.width_m, roll.lap_m, most)
    slivers = outline.slivers(roll.lap_m)
    for up in (False, True)[: 1 + min(slivers, 1)]:
        _, runs = runs_at(outline, offsets, roll.width_m, roll.lap_m, up)
        best, total_m, pieces = _least(runs, len(offsets), roll)
        lows, runs = runs_at(outline, offsets[best : best + 1], roll.width_m, roll.lap_m, up)
        yield _Row(direction_deg, total_m, pieces, lows[runs.row], runs, complete and slivers <= 1)


def _least(runs: Runs, offsets: int, roll: _Roll) -> tuple[int, float, int]:
    """Return the offset of least length, then of fewest pieces; its length [m] and pieces."""
    length = runs.end - runs.start
    joints, which = roll.joints(length), runs.row % offsets
    total = np.bincount(which, length + joints * roll.lap_m, offsets)
    pieces = np.bincount(which, joints + 1.0, offsets)
    tied = np.flatnonzero(total <= total.min() + LENGTH_TIE_M)
    best = int(tied[np.argmin(pieces[tied])])
    return best, float(total[best]), round(pieces[best])


def _strips(row: _Row, roll: _Roll, origin: Point) -> tuple[Strip, ...]:
    """Return the strips of a row in plan coordinates."""
    cos, sin = unit_vector(row.direction_deg)

    def plan(u: float, v: float) -> Point:
        return (origin[0] + u * cos - v * sin, origin[1] + u * sin + v * cos)

    strips: list[Strip] = []
    for low, start, end in zip(
        row.low_m.tolist(), row.runs.start.tolist(), row.runs.end.tolist(), strict=True
    ):
        high, middle = low + roll.width_m, low + roll.width_m / 2.0
        outline = Polygon([plan(start, low), plan(end, low), plan(end, high), plan(start, high)])
        strips.append(
            Strip(
                len(strips) + 1,
                outline,
                end - start,
                plan(start, middle),
                plan(end, middle),
                roll.pieces(end - start),
            )
        )
    return tuple(strips)


def _turned_up(ground: BaseGeometry, turn_up_m: float) -> BaseGeometry:
    """Return the ground widened all round, corners sharp; what separate walks share counts once.

    A mitred buffer may stray upstream of us (shapely issue 1792): one that does not hold the
    round buffer is replaced by it.
    """
    if turn_up_m <= 0.0 or ground.is_empty:
        return ground
    mitred = as_area(ground.buffer(turn_up_m, join_style="mitre", mitre_limit=5.0))
    rounded = as_area(ground.buffer(turn_up_m, join_style="round", quad_segs=16))
    return mitred if rounded.area - common(rounded, mitred).area <= AREA_M2 else rounded


def _middle(region: BaseGeometry) -> Point:
    """Return the middle of a shape's bounding box: small numbers keep their digits."""
    if region.is_empty:
        return (0.0, 0.0)
    west, south, east, north = region.bounds
    return ((west + east) / 2.0, (south + north) / 2.0)


def _refuse(roll_width_m: float, lap_m: float, turn_up_m: float, longest_m: float | None) -> None:
    """Raise GeometryError on widths no strip can be laid with."""
    message = ""
    if not roll_width_m > 0.0:
        message = f"a roll {roll_width_m:g} m wide has no width"
    elif not lap_m >= 0.0:
        message = f"a lap of {lap_m:g} m is not a width"
    elif not lap_m < roll_width_m:
        message = f"a lap of {lap_m:g} m leaves nothing of a roll {roll_width_m:g} m wide"
    elif not turn_up_m >= 0.0:
        message = f"a turn-up of {turn_up_m:g} m is not a height"
    elif longest_m is not None and not longest_m > lap_m:
        message = f"a roll {longest_m:g} m long is used up by a lap of {lap_m:g} m"
    if message:
        raise GeometryError(message)
