"""What a row of equal strips must cover, for many places of the row at once (layer: takeoff).

Everything happens in the *strip frame*: ``u`` runs along the strips, ``v`` across them. A *band*
is the endless strip over ``low ≤ v ≤ low + width``; bands follow each other at the *pitch*
``width - lap``, and neighbours share a *lap*. A *part* is one connected piece of the area under
one band. A part that lies wholly in a lap is left to the neighbour, who covers it too; every
other part is covered from its first to its last point along the band. Parts of one band that
overlap along it share one *run* of fabric; where a gap parts them, the fabric is cut.

So wherever the area passes from one strip to the next, both lie over the full width of the lap.

Entry points: `outline_of`, `runs_at`, `runs_under`. First principles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import unit_vector
from bedplan.geometry.tolerance import GRID_M

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Outline:
    """The corners of an area in the strip frame, interior on the left of every edge.

    Parameters
    ----------
    u, v
        ``(n,)`` corners along and across the strips [m], ring after ring, none repeated.
    before, after
        ``(n,)`` index of the corner before and after each one in its ring.
    ring
        ``(n,)`` ring of each corner, rising.
    polygon
        ``(n,)`` separate polygon each corner belongs to.
    """

    u: Floats
    v: Floats
    before: Ints
    after: Ints
    ring: Ints
    polygon: Ints

    def turned(self, angle_deg: float) -> Outline:
        """Return the outline in the frame whose ``u`` axis lies at an angle of this one [deg]."""
        cos, sin = unit_vector(angle_deg)
        return Outline(
            self.u * cos + self.v * sin,
            self.v * cos - self.u * sin,
            self.before,
            self.after,
            self.ring,
            self.polygon,
        )

    @property
    def rises(self) -> Flags:
        """``(n,)`` whether the edge from each corner goes up in ``v``: the area ends on it."""
        return np.asarray(self.v[self.after] > self.v)

    @property
    def polygon_reach(self) -> tuple[Floats, Floats]:
        """``(n,)`` least and greatest ``v`` of the polygon each corner belongs to [m]."""
        first = np.flatnonzero(np.append(True, self.polygon[1:] != self.polygon[:-1]))
        return (
            np.minimum.reduceat(self.v, first)[self.polygon],
            np.maximum.reduceat(self.v, first)[self.polygon],
        )

    def slivers(self, lap_m: float) -> int:
        """Return how many separate polygons fit in a lap."""
        low, high = self.polygon_reach
        return len(np.unique(self.polygon[high - low <= lap_m + 4.0 * GRID_M]))


@dataclass(frozen=True)
class Runs:
    """Runs of fabric under many bands: the band's row, where each starts and ends along ``u``."""

    row: Ints
    start: Floats
    end: Floats


def outline_of(area: BaseGeometry, origin: tuple[float, float]) -> Outline:
    """Return the corners of a polygon or multipolygon, measured from an origin [m]."""
    polygons = shapely.orient_polygons(shapely.get_parts(area))
    rings, owner = shapely.get_rings(polygons, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    closing = np.append(ring[1:] != ring[:-1], True)
    points, ring = points[~closing] - np.asarray(origin), ring[~closing]
    index = np.arange(len(ring))
    first, last = np.searchsorted(ring, ring), np.searchsorted(ring, ring, side="right") - 1
    return Outline(
        points[:, 0],
        points[:, 1],
        np.where(index == first, last, index - 1),
        np.where(index == last, first, index + 1),
        ring,
        owner[ring],
    )


def runs_at(
    outline: Outline, offsets: Floats, width_m: float, lap_m: float, slivers_up: bool = False
) -> tuple[Floats, Runs]:
    """Return the runs of fabric for many offsets of the row of strips.

    Parameters
    ----------
    offsets
        ``(m,)`` ascending offsets [m], see `critical_offsets`.
    slivers_up
        Whether the upper of two strips takes the slivers in their lap; by default the lower.

    Returns
    -------
    lows, runs
        ``(rows,)`` lower edge of each band [m]; row ``i`` belongs to offset ``i % m``.
    """
    pitch, base = width_m - lap_m, outline.v.min() - width_m
    count = int(np.ceil((np.ptp(outline.v) + width_m) / pitch)) + 1
    lows = (base + offsets[None, :] + pitch * np.arange(count)[:, None]).ravel()
    return lows, runs_under(outline, lows, width_m, lap_m, slivers_up)


def runs_under(
    outline: Outline, lows: Floats, width_m: float, lap_m: float, slivers_up: bool = False
) -> Runs:
    """Return the runs of fabric each band needs, row by row and along the band.

    Parameters
    ----------
    lows
        ``(rows,)`` lower edge of each band [m], ascending.
    """
    part = _parts_under(outline, lows + GRID_M, lows + width_m - GRID_M)
    low, near = lows[part.row], 2.0 * GRID_M
    in_lower_lap = part.bottom_top[1] <= low + lap_m + near
    in_upper_lap = part.bottom_top[0] >= low + width_m - lap_m - near
    if slivers_up:
        in_lower_lap &= part.polygon_reach[0] < low - near
    else:
        in_upper_lap &= part.polygon_reach[1] > low + width_m + near
    needed = ~in_lower_lap & ~in_upper_lap
    return _joined(part.row[needed], part.start_end[0][needed], part.start_end[1][needed])


@dataclass(frozen=True)
class _Parts:
    """Connected parts of an area under bands: row, reach along and across, polygon's reach."""

    row: Ints
    start_end: Floats
    bottom_top: Floats
    polygon_reach: Floats


def _parts_under(outline: Outline, lower: Floats, upper: Floats) -> _Parts:
    """Return the parts under bands between ascending lower and upper edges [m]."""
    events = _Events.under(outline, lower, upper)
    root = events.parts(outline)
    size = int(root.max(initial=-1)) + 1
    row, corner = np.zeros(size, dtype=np.int64), np.zeros(size, dtype=np.int64)
    row[root], corner[root] = events.row, events.corner
    return _Parts(
        row,
        _reach(events.u, root, size),
        _reach(events.v, root, size),
        np.asarray(outline.polygon_reach)[:, corner],
    )


def _reach(value: Floats, group: Ints, size: int) -> Floats:
    """Return the least and the greatest value in each group, ``(2, size)``."""
    reach = np.full((2, size), [[np.inf], [-np.inf]])
    np.minimum.at(reach[0], group, value)
    np.maximum.at(reach[1], group, value)
    return reach


def _joined(row: Ints, start: Floats, end: Floats) -> Runs:
    """Return runs that overlap in their row joined into one."""
    if not len(row):
        return Runs(row, start, end)
    order = np.lexsort((start, row))
    row, start, end = row[order], start[order], end[order]
    apart = row * (np.ptp(np.concatenate((start, end))) + 1.0)
    reached = np.maximum.accumulate(end + apart)
    fresh = np.append(True, start[1:] + apart[1:] > reached[:-1] + GRID_M)
    first = np.flatnonzero(fresh)
    return Runs(row[first], start[first], np.maximum.reduceat(end, first))


@dataclass(frozen=True)
class _Events:
    """Corners under each band and crossings of its two edges, in order round every ring.

    Each carries its row, its corner (for a crossing: the corner its edge starts from), its
    place, and whether the ring enters the band there; `chords` are ``(m, 2)`` pairs of
    crossings between which the area lies on one edge of the band.
    """

    row: Ints
    corner: Ints
    u: Floats
    v: Floats
    enters: Flags
    chords: Ints

    @classmethod
    def under(cls, outline: Outline, lower: Floats, upper: Floats) -> _Events:
        """Return the events of bands between ascending lower and upper edges [m]."""
        inside = _expand(np.searchsorted(upper, outline.v), np.searchsorted(lower, outline.v))
        crossings = [_crossings(outline, line) for line in (lower, upper)]
        corner = np.concatenate([inside[0], crossings[0][0], crossings[1][0]])
        row = np.concatenate([inside[1], crossings[0][1], crossings[1][1]])
        rises, kind = (
            outline.rises[corner],
            np.repeat((0, 1, 2), (len(inside[0]), len(crossings[0][0]), len(crossings[1][0]))),
        )
        enters = (kind > 0) & (rises == (kind == 1))
        rank = np.where(kind == 0, 0, np.where(enters, 1, 2))
        u = np.concatenate([outline.u[inside[0]], crossings[0][2], crossings[1][2]])
        v = np.concatenate([outline.v[inside[0]], lower[crossings[0][1]], upper[crossings[1][1]]])
        order = np.argsort((row * len(outline.u) + corner) * 3 + rank)
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        chords = [place[_paired(np.flatnonzero(kind == side), row, u)] for side in (1, 2)]
        return cls(
            row[order], corner[order], u[order], v[order], enters[order], np.concatenate(chords)
        )

    def parts(self, outline: Outline) -> Ints:
        """Return the part each event belongs to, numbered from 0.

        A stretch of ring from entering a band to leaving it is a chain; chains whose ends the
        same chord joins bound the same part. A ring that never leaves its band counts as a part
        of its own; where it is a hole, it lies within the reach of the part around it and
        shares that part's fate, so it changes nothing.
        """
        ring = self.row * (int(outline.ring[-1]) + 1) + outline.ring[self.corner]
        fresh = np.append(True, ring[1:] != ring[:-1])[: len(ring)]
        group, first = np.cumsum(fresh) - 1, np.flatnonzero(fresh)
        entered = np.cumsum(self.enters)
        before: Ints = entered[first] - self.enters[first]
        after = entered[np.append(first[1:], len(ring))[: len(first)] - 1]
        count = int(self.enters.sum())
        own = np.where(before == after, count + np.arange(len(first)), after - 1)
        chain = np.where(entered == before[group], own[group], entered - 1)
        joined = _linked(chain[self.chords], count + len(first))[chain]
        used = np.zeros(count + len(first), dtype=np.int64)
        used[joined] = 1
        return np.asarray((np.cumsum(used) - 1)[joined])


def _expand(first: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """Return every (item, row) with ``first[item] <= row < stop[item]``."""
    count = np.maximum(stop - first, 0)
    item = np.repeat(np.arange(len(first)), count)
    return item, np.arange(len(item)) + np.repeat(first - np.cumsum(count) + count, count)


def _crossings(outline: Outline, line: Floats) -> tuple[Ints, Ints, Floats]:
    """Return where edges cross ascending lines across ``v``: edge, row, ``u`` [m]."""
    a, b = outline.v, outline.v[outline.after]
    edge, row = _expand(
        np.searchsorted(line, np.minimum(a, b)), np.searchsorted(line, np.maximum(a, b))
    )
    part = (line[row] - a[edge]) / (b[edge] - a[edge])
    return edge, row, outline.u[edge] + part * (outline.u[outline.after[edge]] - outline.u[edge])


def _paired(which: Ints, row: Ints, u: Floats) -> Ints:
    """Return crossings of one line in neighbouring pairs, between which the area lies."""
    return which[np.lexsort((u[which], row[which]))].reshape(-1, 2)


def _linked(pairs: Ints, size: int) -> Ints:
    """Return for each of `size` items the least item that pairs link it with."""
    least = np.arange(size)
    while True:
        joint = np.minimum(least[pairs[:, 0]], least[pairs[:, 1]])
        following = least.copy()
        np.minimum.at(following, pairs[:, 0], joint)
        np.minimum.at(following, pairs[:, 1], joint)
        following = following[following]
        if np.array_equal(following, least):
            return least
        least = following
