"""Windows of the cell of shifts, and sweeps along them (layer: paving engine).

A *window* is a part of a slab: an interval along the row between two heights, with the edges
that cross it. A *sweep* lists how deep the regions lie over each other along every window. See
`deepest`, which cuts windows until one is proven deepest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bedplan.paving.rows import spread

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_TOUCHING = 1e-9
"""An edge this near to a window counts as crossing it [pitch]; sorting it in does no harm."""

_LEAST_WIDTH = 1e-12
"""A stretch narrower than this is rounding [pitch]."""


@dataclass(frozen=True)
class Windows:
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

    def halves(self) -> Windows:
        """Return every window cut in two at mid-height."""
        middle, count = 0.5 * (self.bottom + self.top), len(self.bottom)
        at_middle = 0.5 * (self.low + self.high)
        return Windows(
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

    def trimmed(self) -> Windows:
        """Return the same windows without the edges that pass them by."""
        low = np.minimum(self.low, self.high) - self.start[self.owner]
        high = np.maximum(self.low, self.high) - self.start[self.owner]
        cell = np.floor(low)
        outside = (np.floor(high) == cell) & (low - cell > self.width[self.owner])
        gone = np.bincount(
            self.owner[outside], weights=(self.side * cell)[outside], minlength=len(self.base)
        )
        keep = ~outside
        return Windows(
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
class Sweep:
    """Depth along every window: from `begin` to `end` (from the window's start) it is `depth`."""

    window: IntArray
    begin: Array
    end: Array
    depth: IntArray

    @property
    def most(self) -> int:
        """The greatest depth."""
        return int(self.depth.max(initial=0))

    def middle(self, windows: Windows, stretch: int) -> tuple[float, float]:
        """Return the shift (u, t) in the middle of one stretch."""
        at = self.window[stretch]
        along = windows.start[at] + 0.5 * (self.begin[stretch] + self.end[stretch])
        return float(along), float(0.5 * (windows.bottom[at] + windows.top[at]))


def widest(windows: Windows) -> Array:
    """Return where each edge gives its ground the widest reach within its window's height."""
    return np.where(
        windows.side < 0,
        np.minimum(windows.low, windows.high),
        np.maximum(windows.low, windows.high),
    )


def swept(windows: Windows, at: Array) -> Sweep:
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
    return Sweep(owner[wide], begin[wide], end[wide], depth[wide])


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


def shared_out(
    windows: Windows, parent: IntArray, begin: Array, end: Array
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
