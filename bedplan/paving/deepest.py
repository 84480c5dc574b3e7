"""The shift of a lattice that hits given regions most often, with proof (layer: paving engine).

Moved by ``(u, t)``, a lattice in row measure has its points at ``(u + m + k·slide, t + k)``. How
many fall inside the regions is the *depth* at that shift. Shifts repeat after one pitch and one
row, so the depth need only be known on one cell: all rows of the regions are laid over each
other, and every stretch of ground in a row becomes an interval folded round the cell.

The cell is cut at every level where an edge begins or ends. In such a *slab* edges are straight
lines from bottom to top. Give each stretch of ground the widest reach it has anywhere in the
slab, and one sweep along the row bounds the depth in the whole slab; sweep it at mid-height,
and the depth found is a count. A slab whose bound is no better than the best count is done;
another is cut to the windows where its bound is better, halved in height, and tried again.

Public entry point: `deepest`.

References
----------
First principles (branch and bound); the depth of a set folded onto a torus is the lattice
count of C. F. Gauss's circle problem for any region.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bedplan.paving.rows import Edges, spread

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_LEVEL_DIGITS = 12
"""Levels closer than this many decimals of a row are one: far below `tolerance.GRID_M`."""


@dataclass(frozen=True)
class Deepest:
    """The deepest shift found.

    Parameters
    ----------
    depth
        How many lattice points fall inside.
    shift
        ``(u, t)`` in row measure.
    proven
        True if no shift is deeper.
    work
        How many folded edges were swept.
    """

    depth: int
    shift: tuple[float, float]
    proven: bool
    work: int


@dataclass(frozen=True)
class _Windows:
    """Windows of the cell still in question, and the folded edges that cross them.

    `bottom`, `top`: heights; `start`, `width`: place along the row; `base`: depth that edges
    no longer kept contribute. `low`, `high`: where each edge is at the bottom and top of its
    window `owner`, edges in order of owner and left sides first.
    """

    bottom: Array
    top: Array
    start: Array
    width: Array
    base: IntArray
    owner: IntArray
    low: Array
    high: Array
    side: IntArray

    def halves(self) -> _Windows:
        """Return every window cut in two at mid-height."""
        middle, count = 0.5 * (self.bottom + self.top), len(self.bottom)
        at_middle = 0.5 * (self.low + self.high)
        return _Windows(
            np.concatenate((self.bottom, middle)), np.concatenate((middle, self.top)),
            np.tile(self.start, 2), np.tile(self.width, 2), np.tile(self.base, 2),
            np.concatenate((self.owner, self.owner + count)),
            np.concatenate((self.low, at_middle)), np.concatenate((at_middle, self.high)),
            np.tile(self.side, 2))

    def trimmed(self) -> _Windows:
        """Return the same windows without the edges that pass them by."""
        low = np.minimum(self.low, self.high) - self.start[self.owner]
        high = np.maximum(self.low, self.high) - self.start[self.owner]
        cell = np.floor(low)
        outside = (np.floor(high) == cell) & (low - cell > self.width[self.owner])
        gone = np.bincount(self.owner[outside], weights=(self.side * cell)[outside],
                           minlength=len(self.base))
        keep = ~outside
        return _Windows(self.bottom, self.top, self.start, self.width,
                        self.base + gone.astype(np.int64), self.owner[keep], self.low[keep],
                        self.high[keep], self.side[keep])


@dataclass(frozen=True)
class _Sweep:
    """Depth along every window: from `begin` to `end` (from the window's start) it is `depth`."""

    window: IntArray
    begin: Array
    end: Array
    depth: IntArray


def deepest(edges: Edges, slide: float, finest: float, *, beat: int = 0,
            effort: int = 20_000_000) -> Deepest:
    """Return the shift at which most lattice points fall inside the regions.

    Parameters
    ----------
    edges
        Boundaries of the regions in row measure.
    slide
        Slide of each row [pitch].
    finest
        Height of a slab below which its bound is taken as the depth [rise]: the regions must be
        known no closer than that.
    beat
        Only a depth above this is of interest; 0 searches for any.
    effort
        How many folded edges may be swept before the search gives up.

    Returns
    -------
    found
        The deepest shift. If none is deeper than `beat`, the depth is `beat` and the shift
        means nothing; `proven` then says that there is none.
    """
    windows = _slabs(edges, slide)
    best, shift, work = beat, (0.0, 0.0), 0
    while len(windows.bottom):
        work += len(windows.owner)
        if work > effort:
            return Deepest(best, shift, False, work)
        bounds = _swept(windows, _widest(windows))
        height = windows.top - windows.bottom
        if bounds.depth.max() <= best:
            break
        thin = bool(height.max() <= finest)
        counts = bounds if thin else _swept(windows, 0.5 * (windows.low + windows.high))
        top = int(counts.depth.max())
        if top > best:
            best, shift = top, _roomiest(windows, counts, top)
        if thin:
            break
        windows = _narrowed(windows, bounds, best)
    return Deepest(best, shift, True, work)


def _slabs(edges: Edges, slide: float) -> _Windows:
    """Return the cell cut at every level where an edge begins or ends."""
    ends = np.stack((edges.start[:, 1], edges.end[:, 1]))
    whole = np.floor(ends)
    part = np.round(ends - whole, _LEVEL_DIGITS)
    levels = np.unique(np.concatenate(([0.0, 1.0], part.ravel())))
    bottom, top = levels[:-1], levels[1:]
    count = len(bottom)
    first, last = whole.astype(np.int64) * count + np.searchsorted(levels, part)
    edge, place = spread(last - first)
    row, slab = np.divmod(first[edge] + place, count)
    order = np.argsort(slab, kind="stable")
    edge, slab, row = edge[order], slab[order], row[order]
    slope, (u, t) = edges.slope()[edge], edges.start[edge].T
    low = u + (np.maximum(bottom[slab] + row, t) - t) * slope - row * slide
    high = u + (np.minimum(top[slab] + row, edges.end[edge, 1]) - t) * slope - row * slide
    return _Windows(bottom, top, np.zeros(count), np.ones(count),
                    np.zeros(count, dtype=np.int64), slab, low, high, edges.side[edge])


def _widest(windows: _Windows) -> Array:
    """Return where each edge gives its ground the widest reach within its window's height."""
    return np.where(windows.side < 0, np.minimum(windows.low, windows.high),
                    np.maximum(windows.low, windows.high))


def _swept(windows: _Windows, at: Array) -> _Sweep:
    """Return the depth along every window with its edges at given places.

    Ground is closed: where one stretch ends and another begins, both count.
    """
    count = len(windows.base)
    place = at - windows.start[windows.owner]
    cell = np.floor(place)
    place -= cell
    depth = windows.base + np.bincount(windows.owner, weights=windows.side * cell,
                                       minlength=count).astype(np.int64)
    inside = place <= windows.width[windows.owner]
    owner = np.concatenate((np.arange(count), windows.owner[inside]))
    begin = np.concatenate((np.zeros(count), place[inside]))
    step = np.concatenate((depth - np.concatenate(([0], depth[:-1])), -windows.side[inside]))
    order = np.argsort(2.0 * owner + begin, kind="stable")
    owner, begin, step = owner[order], begin[order], step[order]
    return _Sweep(owner, begin, _ends(owner, begin, windows.width), _running(owner, step, depth))


def _ends(owner: IntArray, begin: Array, width: Array) -> Array:
    """Return where each stretch of a sweep ends: at the next one or the window's end."""
    end = np.append(begin[1:], 0.0)
    last = np.append(owner[1:] != owner[:-1], True)
    end[last] = width[owner[last]]
    return end


def _running(owner: IntArray, step: IntArray, depth: IntArray) -> IntArray:
    """Return the depth after each step, every window beginning anew at its own depth."""
    total = np.cumsum(step)
    first = np.searchsorted(owner, np.arange(len(depth)))
    running: IntArray = total + (depth - total[first])[owner]
    return running


def _roomiest(windows: _Windows, sweep: _Sweep, depth: int) -> tuple[float, float]:
    """Return the middle of the largest stretch of a given depth."""
    deep = np.flatnonzero(sweep.depth == depth)
    window = sweep.window[deep]
    room = (sweep.end - sweep.begin)[deep] * (windows.top - windows.bottom)[window]
    pick = int(np.argmax(room))
    at, stretch = int(window[pick]), int(deep[pick])
    along = windows.start[at] + 0.5 * (sweep.begin[stretch] + sweep.end[stretch])
    return float(along), float(0.5 * (windows.bottom[at] + windows.top[at]))


def _narrowed(windows: _Windows, bounds: _Sweep, best: int) -> _Windows:
    """Return the windows where a depth above the best is still possible, halved in height."""
    alive = bounds.depth > best
    new = np.append(True, bounds.window[1:] != bounds.window[:-1])
    starts = np.flatnonzero(alive & (new | ~np.append(False, alive[:-1])))
    stops = np.flatnonzero(alive & np.append(new[1:] | ~alive[1:], True))
    parent = bounds.window[starts]
    crossing = np.bincount(windows.owner, minlength=len(windows.bottom))
    first = np.cumsum(crossing) - crossing
    owner, place = spread(crossing[parent])
    edge = first[parent][owner] + place
    return _Windows(
        windows.bottom[parent], windows.top[parent],
        windows.start[parent] + bounds.begin[starts], bounds.end[stops] - bounds.begin[starts],
        windows.base[parent], owner, windows.low[edge], windows.high[edge],
        windows.side[edge]).halves().trimmed()
