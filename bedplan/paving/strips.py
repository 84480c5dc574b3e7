"""Ground covered by strips of boxes, for bounds on how many units it holds (layer: paving engine).

A *box* here is a hair smaller than a unit's module, so no box holds the centres of two units
(they would be nearer than a module both along and across). A *strip* is a level band no higher
than a box, covered from left to right by as few boxes as its shadow, its stretches pushed
together onto one line, needs. *Cuts* are the heights where a strip may begin and end.

Public entry points: `main_cuts`, `fine_cuts`, `bands`, `strip_covers`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from bedplan.geometry.tolerance import GRID_M
from bedplan.paving.course_counts import packed
from bedplan.paving.rows import spread
from bedplan.paving.slabs import Slabs

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

NEVER: Final = 1 << 40
"""Boxes where a cover is not possible: more than any real cover, and safe to add."""

_HAIR_M: Final = 4.0 * GRID_M
"""How much lower than a module a strip is; far less than the `FIT_M` that units may press."""


def main_cuts(slabs: Slabs, most: int, apart_m: float) -> Array:
    """Return heights where ground changes most, with the lowest and highest, rising [m].

    Parameters
    ----------
    slabs
        The ground; not empty.
    most
        How many between the lowest and the highest.
    apart_m
        Least distance of those chosen by change [m].

    Notes
    -----
    A height counts by the length of ground that begins or ends there, as at the side of a bed.
    Where too few stand out, the widest gaps between those chosen are halved.
    """
    lengths = np.where(np.isfinite(slabs.begin), slabs.end - slabs.begin, 0.0).sum(axis=1)
    change = np.abs(lengths[1:, 0] - lengths[:-1, 1])
    chosen = [float(slabs.levels[0]), float(slabs.levels[-1])]
    for place in np.argsort(-change, kind="stable").tolist():
        if len(chosen) == most + 2 or change[place] < apart_m:
            break
        height = float(slabs.levels[place + 1])
        if min(abs(height - other) for other in chosen) > apart_m:
            chosen.append(height)
    while len(chosen) < most + 2:
        chosen.sort()
        widest = int(np.argmax(np.diff(chosen)))
        chosen.append(0.5 * (chosen[widest] + chosen[widest + 1]))
    return np.unique(chosen)


def fine_cuts(main: Array, rise_m: float, parts: int) -> Array:
    """Return the main cuts, those whole rises from them, and a regular set, rising [m].

    Parameters
    ----------
    main
        Main cuts [m].
    rise_m
        Height of a module [m].
    parts
        How many regular cuts a rise.
    """
    low, high = float(main[0]), float(main[-1])
    step = rise_m - _HAIR_M
    most = int((high - low) / step) + 1
    whole = (main[:, None] + step * np.arange(-most, most + 1)).ravel()
    regular = np.linspace(low, high, max(int(parts * (high - low) / rise_m), 2))
    cuts = np.unique(np.concatenate([main, whole, regular]))
    return cuts[(cuts >= low) & (cuts <= high)]


def strip_covers(
    slabs: Slabs, cuts: Array, main: Array, sides: Array, module_m: tuple[float, float]
) -> IntArray:
    """Return how few boxes cover parts of the ground in whole strips.

    Parameters
    ----------
    slabs
        Where centres may be.
    cuts, main
        Heights where strips may begin and end, and those among them that parts may [m].
    sides
        ``(r, 2)`` left and right side of each part [m].
    module_m
        Length of a module along the strips, and its height [m].

    Returns
    -------
    boxes
        ``(m, m, r)``: for the part from main cut a up to b between sides r, at ``[a, b, r]``.
    """
    step_m, rise_m = module_m
    costs = [_costs(strips, sides, step_m, len(cuts)) for strips in _strips(slabs, cuts, rise_m)]
    cost = np.stack(costs, axis=1)
    starts = np.searchsorted(cuts, main)
    covers = np.full((len(cuts), len(main), len(sides)), NEVER, dtype=np.int64)
    covers[starts, np.arange(len(main))] = 0
    for top in range(1, len(cuts)):
        near = min(top, cost.shape[1])
        below = covers[top - near : top][::-1] + cost[top, :near, None]
        covers[top] = np.minimum(covers[top], below.min(axis=0))
    return covers[starts].swapaxes(0, 1)


class _Strips(NamedTuple):
    """Strips up to given cuts, of as many fine bands each, and their shadows' stretches."""

    bands: int
    top: IntArray
    begin: Array
    end: Array


def _strips(slabs: Slabs, cuts: Array, rise_m: float) -> Iterator[_Strips]:
    """Give all strips between two cuts, of one band between neighbours, of two, and so on."""
    one_begin, one_end = bands(slabs, cuts)
    foot, begin, end = np.arange(len(cuts) - 1), one_begin, one_end
    for number in range(1, len(cuts)):
        fits = cuts[foot + number] - cuts[foot] < rise_m - 0.5 * _HAIR_M
        if not np.any(fits):
            return
        foot, begin, end = foot[fits], begin[fits], end[fits]
        yield _Strips(number, foot + number, begin, end)
        more = foot + number < len(cuts) - 1
        foot = foot[more]
        begin, end = _merged(
            np.hstack([begin[more], one_begin[foot + number]]),
            np.hstack([end[more], one_end[foot + number]]),
        )


def bands(slabs: Slabs, cuts: Array) -> tuple[Array, Array]:
    """Return the shadow of the ground between each two neighbouring cuts, as stretches [m].

    A slab that a band only touches is left to the band it reaches into: a closed piece of
    ground is covered where the parts of it with an area are.
    """
    slab, place = np.nonzero(np.isfinite(slabs.begin[:, :, 0]))
    foot, top = slabs.levels[slab], slabs.levels[slab + 1]
    first = np.searchsorted(cuts, foot, side="right") - 1
    piece, more = spread(np.searchsorted(cuts, top) - first)
    band, slab, place = first[piece] + more, slab[piece], place[piece]
    low = np.maximum(foot[piece], cuts[band])
    high = np.minimum(top[piece], cuts[band + 1])
    (left_low, right_low), (left_high, right_high) = (
        [np.take_along_axis(side, place[:, None], 1)[:, 0] for side in slabs.within(slab, heights)]
        for heights in (low, high)
    )
    left, right = np.minimum(left_low, left_high), np.maximum(right_low, right_high)
    order = np.lexsort((left, band))
    band, left, right = band[order], left[order], right[order]
    place = np.arange(len(band)) - np.searchsorted(band, band)
    begin = np.full((len(cuts) - 1, int(place.max()) + 1), np.inf)
    end = -begin
    begin[band, place], end[band, place] = left, right
    return _merged(begin, end)


def _merged(begin: Array, end: Array) -> tuple[Array, Array]:
    """Return stretches of many lines with those that touch or overlap made one."""
    order = np.argsort(begin, axis=1, kind="stable")
    begin, end = np.take_along_axis(begin, order, 1), np.take_along_axis(end, order, 1)
    reach = np.maximum.accumulate(end, axis=1)
    new = begin < np.inf
    new[:, 1:] &= begin[:, 1:] > reach[:, :-1]
    last = np.ones_like(new)
    last[:, :-1] = new[:, 1:]
    # of a row of unused places only the final one may close a stretch
    last[:, :-1] &= np.isfinite(reach[:, :-1])
    place = np.cumsum(new, axis=1) - 1
    last &= place >= 0
    shape = (len(begin), max(int(place.max(initial=0)) + 1, 1))
    begins, ends = np.full(shape, np.inf), np.full(shape, -np.inf)
    begins[np.nonzero(new)[0], place[new]] = begin[new]
    ends[np.nonzero(last)[0], place[last]] = reach[last]
    return begins, ends


def _costs(strips: _Strips, sides: Array, step_m: float, cuts: int) -> IntArray:
    """Return the boxes of each strip between each pair of sides, ``(cuts, sides)``, by its top."""
    begin = np.maximum(strips.begin[:, None], sides[None, :, :1])
    end = np.minimum(strips.end[:, None], sides[None, :, 1:])
    none = end <= begin
    begin, end = np.where(none, np.inf, begin), np.where(none, -np.inf, end)
    count = packed(begin.reshape(-1, begin.shape[2]), end.reshape(-1, end.shape[2]), step_m)
    costs = np.full((cuts, len(sides)), NEVER, dtype=np.int64)
    costs[strips.top] = count.reshape(len(strips.top), len(sides))
    return costs
