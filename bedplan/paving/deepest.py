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
from bedplan.paving.windows import Sweep, Windows, shared_out, swept, widest

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_LEVEL_DIGITS = 12
"""Levels closer than this many decimals of a row are one: far below `tolerance.GRID_M`."""

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
        bounds = swept(windows, widest(windows))
        if bounds.most <= best:
            break
        if np.max(windows.top - windows.bottom) <= finest:
            best, shift = _recounted(windows, bounds, recount, (best, shift))
            break
        counts = swept(windows, 0.5 * (windows.low + windows.high))
        if counts.most > best:
            best, shift = counts.most, _roomiest(windows, counts)
        windows = _narrowed(windows, bounds, best)
    return Deepest(best, shift, complete, work)


def _slabs(edges: Edges, slide: float, most: int) -> tuple[Windows, bool]:
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
    windows = Windows(
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


def _roomiest(windows: Windows, sweep: Sweep) -> tuple[float, float]:
    """Return the middle of the largest stretch of the greatest depth."""
    deep = np.flatnonzero(sweep.depth == sweep.most)
    height = (windows.top - windows.bottom)[sweep.window[deep]]
    room = (sweep.end - sweep.begin)[deep] * height
    return sweep.middle(windows, int(deep[np.argmax(room)]))


def _recounted(
    windows: Windows, bounds: Sweep, recount: Recount, found: tuple[int, tuple[float, float]]
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


def _narrowed(windows: Windows, bounds: Sweep, best: int) -> Windows:
    """Return the windows where a depth above the best is still possible, halved in height."""
    alive = bounds.depth > best
    new = np.append(True, bounds.window[1:] != bounds.window[:-1])
    starts = np.flatnonzero(alive & (new | ~np.append(False, alive[:-1])))
    stops = np.flatnonzero(alive & np.append(new[1:] | ~alive[1:], True))
    parent, begin, end = bounds.window[starts], bounds.begin[starts], bounds.end[stops]
    edge, owner, base = shared_out(windows, parent, begin, end)
    return (
        Windows(
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
