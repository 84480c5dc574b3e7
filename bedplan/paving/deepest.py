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

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bedplan.paving.rows import Edges, spread

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_LEVEL_DIGITS = 12
"""Levels closer than this many decimals of a row are one: far below `tolerance.GRID_M`."""

_TOUCHING = 1e-9
"""An edge this near to a window counts as crossing it [pitch]; sorting it in does no harm."""

_LEAST_WIDTH = 1e-12
"""A stretch narrower than this is rounding [pitch]."""

Recount = Callable[[tuple[float, float]], int]


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
            np.concatenate((self.bottom, middle)),
            np.concatenate((middle, self.top)),
            np.tile(self.start, 2),
            np.tile(self.width, 2),
            np.tile(self.base, 2),
            np.concatenate((self.owner, self.owner + count)),
            np.concatenate((self.low, at_middle)),
            np.concatenate((at_middle, self.high)),
            np.tile(self.side, 2),
        )

    def trimmed(self) -> _Windows:
        """Return the same windows without the edges that pass them by."""
        low = np.minimum(self.low, self.high) - self.start[self.owner]
        high = np.maximum(self.low, self.high) - self.start[self.owner]
        cell = np.floor(low)
        outside = (np.floor(high) == cell) & (low - cell > self.width[self.owner])
        gone = np.bincount(
            self.owner[outside], weights=(self.side * cell)[outside], minlength=len(self.base)
        )
        keep = ~outside
        return _Windows(
            self.bottom,
            self.top,
            self.start,
            self.width,
            self.base + gone.astype(np.int64),
            self.owner[keep],
            self.low[keep],
            self.high[keep],
            self.side[keep],
        )


@dataclass(frozen=True)
class _Sweep:
    """Depth along every window: from `begin` to `end` (from the window's start) it is `depth`."""

    window: IntArray
    begin: Array
    end: Array
    depth: IntArray

    @property
    def most(self) -> int:
        """The greatest depth."""
        return int(self.depth.max(initial=0))

    def middle(self, windows: _Windows, stretch: int) -> tuple[float, float]:
        """Return the shift (u, t) in the middle of one stretch."""
        at = self.window[stretch]
        along = windows.start[at] + 0.5 * (self.begin[stretch] + self.end[stretch])
        return float(along), float(0.5 * (windows.bottom[at] + windows.top[at]))


def deepest(
    edges: Edges,
    slide: float,
    finest: float,
    recount: Recount,
    *,
    beat: int = 0,
    effort: int = 8_000_000,
) -> Deepest:
    """Return the shift at which most lattice points fall inside the regions.

    Parameters
    ----------
    edges
        Boundaries of the regions in row measure.
    slide
        Slide of each row [pitch].
    finest
        Height of a slab that is cut no more [rise].
    recount
        The depth at one shift, for regions that reach farther than the given ones by `finest`
        at least. In the thinnest slabs it decides, so nearly touching edges end the search.
    beat
        Only a depth above this is of interest; 0 searches for any.
    effort
        How many folded edges may be swept before the search gives up. Where even the first
        sweep would take more than a quarter of it, only every so-manieth slab is searched, and
        nothing is proven: a garden of a thousand beds has millions of folded edges.

    Returns
    -------
    found
        The deepest shift. If none is deeper than `beat`, the depth is `beat` and the shift
        means nothing; `proven` then says that there is none.
    """
    windows, complete = _slabs(edges, slide, effort // 4)
    best, shift, work = beat, (0.0, 0.0), 0
    while len(windows.bottom):
        work += len(windows.owner)
        if work > effort:
            return Deepest(best, shift, False, work)
        bounds = _swept(windows, _widest(windows))
        if bounds.most <= best:
            break
        if np.max(windows.top - windows.bottom) <= finest:
            best, shift = _recounted(windows, bounds, recount, (best, shift))
            break
        counts = _swept(windows, 0.5 * (windows.low + windows.high))
        if counts.most > best:
            best, shift = counts.most, _roomiest(windows, counts)
        windows = _narrowed(windows, bounds, best)
    return Deepest(best, shift, complete, work)


def _slabs(edges: Edges, slide: float, most: int) -> tuple[_Windows, bool]:
    """Return the cell cut at every level where an edge begins or ends, and whether it is all.

    Slabs are left out, evenly, where all of them would hold more than `most` folded edges.
    """
    ends = np.stack((edges.start[:, 1], edges.end[:, 1]))
    whole = np.floor(ends)
    part = np.round(ends - whole, _LEVEL_DIGITS)
    levels = np.unique(np.concatenate(([0.0, 1.0], part.ravel())))
    bottom, top = levels[:-1], levels[1:]
    count = len(bottom)
    at = np.searchsorted(levels, part)
    first, last = whole.astype(np.int64) * count + at
    apart = int(np.sum(last - first)) // most + 1
    kept = np.arange(0, count, apart)
    if apart > 1:
        bottom, top, count = bottom[kept], top[kept], len(kept)
        first, last = whole.astype(np.int64) * count + np.searchsorted(kept, at)
    edge, place = spread(last - first)
    row, slab = np.divmod(first[edge] + place, count)
    order = np.argsort(slab, kind="stable")
    edge, slab, row = edge[order], slab[order], row[order]
    slope, (u, t) = edges.slope()[edge], edges.start[edge].T
    low = u + (np.maximum(bottom[slab] + row, t) - t) * slope - row * slide
    high = u + (np.minimum(top[slab] + row, edges.end[edge, 1]) - t) * slope - row * slide
    windows = _Windows(
        bottom,
        top,
        np.zeros(count),
        np.ones(count),
        np.zeros(count, dtype=np.int64),
        slab,
        low,
        high,
        edges.side[edge],
    )
    return windows, apart == 1


def _widest(windows: _Windows) -> Array:
    """Return where each edge gives its ground the widest reach within its window's height."""
    return np.where(
        windows.side < 0,
        np.minimum(windows.low, windows.high),
        np.maximum(windows.low, windows.high),
    )


def _swept(windows: _Windows, at: Array) -> _Sweep:
    """Return the depth along every window with its edges at given places.

    Stretches of no width are left out: units that just touch their limits are served by the
    tolerance the regions were made with.
    """
    count = len(windows.base)
    place = at - windows.start[windows.owner]
    cell = np.floor(place)
    place -= cell
    depth = windows.base + np.bincount(
        windows.owner, weights=windows.side * cell, minlength=count
    ).astype(np.int64)
    inside = place <= windows.width[windows.owner]
    owner = np.concatenate((np.arange(count), windows.owner[inside]))
    begin = np.concatenate((np.zeros(count), place[inside]))
    step = np.concatenate((depth - np.concatenate(([0], depth[:-1])), -windows.side[inside]))
    order = np.argsort(2.0 * owner + begin, kind="stable")
    owner, begin, step = owner[order], begin[order], step[order]
    end, depth = _ends(owner, begin, windows.width), _running(owner, step, depth)
    wide = end - begin > _LEAST_WIDTH
    return _Sweep(owner[wide], begin[wide], end[wide], depth[wide])


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


def _roomiest(windows: _Windows, sweep: _Sweep) -> tuple[float, float]:
    """Return the middle of the largest stretch of the greatest depth."""
    deep = np.flatnonzero(sweep.depth == sweep.most)
    height = (windows.top - windows.bottom)[sweep.window[deep]]
    room = (sweep.end - sweep.begin)[deep] * height
    return sweep.middle(windows, int(deep[np.argmax(room)]))


def _recounted(
    windows: _Windows, bounds: _Sweep, recount: Recount, found: tuple[int, tuple[float, float]]
) -> tuple[int, tuple[float, float]]:
    """Return the best depth and shift after counting anew wherever a bound is better.

    All shifts of one stretch have the same edges about them, so its middle speaks for it. The
    bound itself may be one too high for ever: where two pieces of ground in a row meet in a
    point, a slab's widest reach lets both claim it.
    """
    best, shift = found
    for stretch in np.argsort(-bounds.depth, kind="stable").tolist():
        if bounds.depth[stretch] <= best:
            break
        at = bounds.middle(windows, stretch)
        count = recount(at)
        if count > best:
            best, shift = count, at
    return best, shift


def _narrowed(windows: _Windows, bounds: _Sweep, best: int) -> _Windows:
    """Return the windows where a depth above the best is still possible, halved in height."""
    alive = bounds.depth > best
    new = np.append(True, bounds.window[1:] != bounds.window[:-1])
    starts = np.flatnonzero(alive & (new | ~np.append(False, alive[:-1])))
    stops = np.flatnonzero(alive & np.append(new[1:] | ~alive[1:], True))
    parent, begin, end = bounds.window[starts], bounds.begin[starts], bounds.end[stops]
    edge, owner, base = _shared_out(windows, parent, begin, end)
    return (
        _Windows(
            windows.bottom[parent],
            windows.top[parent],
            windows.start[parent] + begin,
            end - begin,
            base,
            owner,
            windows.low[edge],
            windows.high[edge],
            windows.side[edge],
        )
        .halves()
        .trimmed()
    )


def _shared_out(
    windows: _Windows, parent: IntArray, begin: Array, end: Array
) -> tuple[IntArray, IntArray, IntArray]:
    """Return which edge crosses which part of its window, and the depth the others make up.

    Parameters
    ----------
    windows
        The windows that are cut in parts.
    parent, begin, end
        For every part its window and where in it it begins and ends, in order.

    Returns
    -------
    edge, owner
        Every pair of an edge and a part it may cross, in order of part, left sides first.
    base
        For every part, the depth that edges which do not cross it contribute.
    """
    place = np.minimum(windows.low, windows.high) - windows.start[windows.owner]
    cell = np.floor(place)
    near = place - cell - _TOUCHING
    far = near + np.abs(windows.high - windows.low) + 2.0 * _TOUCHING
    every = np.arange(len(windows.bottom) + 1)
    bounds_of = np.searchsorted(parent, every)
    opening, closing = bounds_of[windows.owner], bounds_of[windows.owner + 1]
    # parts an edge may cross: from the first that ends after it to the last that begins before
    # it, and those it comes to once more from the front, one pitch on
    first = np.searchsorted(2.0 * parent + end, 2.0 * windows.owner + near)
    last = np.searchsorted(
        2.0 * parent + begin, 2.0 * windows.owner + np.minimum(far, 1.5), side="right"
    )
    again = np.searchsorted(2.0 * parent + begin, 2.0 * windows.owner + far - 1.0, side="right")
    again = np.clip(again, opening, np.minimum(first, closing))
    edge, step = spread(np.concatenate((np.maximum(last - first, 0), again - opening)))
    owner = np.concatenate((first, opening))[edge] + step
    edge %= len(first)
    order = np.argsort(2 * owner + (windows.side[edge] > 0), kind="stable")
    edge, owner = edge[order], owner[order]
    weight = windows.side * cell
    total = windows.base + np.bincount(windows.owner, weight, len(windows.base))
    passed = np.bincount(last, windows.side, len(parent) + 1) - np.bincount(
        closing, windows.side, len(parent) + 1
    )
    base = total[parent] - np.cumsum(passed)[:-1] - np.bincount(owner, weight[edge], len(parent))
    return edge, owner, np.round(base).astype(np.int64)
