"""Spots worth trying for units, among units already laid (layer: paving engine).

Whatever layout is best, its units can be pushed until each touches an edge of the ground or
another unit, both ways. So spots are taken where units pushed together lie: rows and columns
packed from either end of every stretch of ground, at regular heights and at the heights of
units laid, and spots that touch two units laid.

Public entry point: `spots_among`.

References
----------
J. C. Herz, IBM Journal of Research and Development 16, 1972, and N. Christofides and
C. Whitlock, Operations Research 25, 1977: pushed-together places in rectangles. For any ground:
first principles.
"""

from __future__ import annotations

import random
from typing import Final

import numpy as np

from bedplan.geometry.tolerance import GRID_M
from bedplan.paving.course_counts import Array, IntArray
from bedplan.paving.free_frame import Frame, Spots
from bedplan.paving.rows import spread
from bedplan.paving.slabs import Slabs

Window = tuple[float, float, float, float]
"""Least and greatest x, least and greatest y of the centres looked at [m]."""

_LEVELS: Final = 6
"""Regular heights a module."""


def spots_among(frame: Frame, laid: Spots, window: Window, chance: random.Random) -> Spots:
    """Return spots in a window, none twice, each inside the region.

    Parameters
    ----------
    frame
        The ground.
    laid
        Units laid in and near the window.
    window
        Where the spots' centres are wanted [m].
    chance
        Of the offset of the regular heights.
    """
    tables: list[Array] = []
    for kind in range(len(frame.modules)):
        touching = [_beside(frame, laid, kind, axis) for axis in (0, 1)]
        ways = ((frame.rows[kind], 0, window), (frame.columns[kind], 1, window[2:] + window[:2]))
        for slabs, axis, (*along, low, high) in ways:
            regular = _regular(low, high, frame.modules[kind, 1 - axis], chance)
            heights = np.concatenate([laid.at[:, 1 - axis], touching[1 - axis].ravel(), regular])
            heights = heights[(heights >= low) & (heights <= high)]
            shifts = _shifts(frame, kind, axis, len(heights), chance)
            on = packed_rows(
                slabs, np.unique(heights), (along[0], along[1]), frame.modules[kind, axis], shifts
            )
            tables.append(_tagged(on if axis == 0 else on[:, ::-1], kind))
        tables.append(_tagged(_cornered(frame, laid, touching), kind))
    table = np.concatenate(tables)
    west, east, south, north = window
    x, y = table[:, 0], table[:, 1]
    table = table[(x >= west) & (x <= east) & (y >= south) & (y <= north)]
    _, first = np.unique(np.round(table / (4.0 * GRID_M)), axis=0, return_index=True)
    spots = Spots(table[first, :2], table[first, 2].astype(np.int64))
    return spots.only(frame.within(spots))


def _tagged(at: Array, kind: int) -> Array:
    return np.column_stack((at, np.full(len(at), float(kind))))


def _regular(low: float, high: float, rise: float, chance: random.Random) -> Array:
    """Return heights a part of a rise from each other, from a chance one on."""
    step = rise / _LEVELS
    return np.arange(low + chance.random() * step, high, step)


def _beside(frame: Frame, laid: Spots, kind: int, axis: int) -> Array:
    """Return where units of a kind touch those laid, before and after, ``(n, 2)`` [m]."""
    reach = 0.5 * (frame.modules[laid.kind, axis] + frame.modules[kind, axis])
    return np.column_stack((laid.at[:, axis] - reach, laid.at[:, axis] + reach))


def _shifts(frame: Frame, kind: int, axis: int, count: int, chance: random.Random) -> Array:
    """Return by how much each row is begun later: by no or some units of the other kind [m]."""
    if len(frame.modules) == 1:
        return np.zeros(count)
    numbers = np.array([chance.choice((0, 0, 1, 1, 2, 3)) for _ in range(count)])
    shifts: Array = frame.modules[1 - kind, axis] * numbers
    return shifts


def packed_rows(
    slabs: Slabs, heights: Array, ends: tuple[float, float], step: float, shifts: Array
) -> Array:
    """Return spots of rows packed from the left and from the right end of every stretch."""
    slab = np.searchsorted(slabs.levels, heights, side="right") - 1
    fits = (slab >= 0) & (slab < len(slabs.begin))
    heights, slab = heights[fits], slab[fits]
    shifts = np.resize(shifts, len(fits))[fits]
    if not len(heights):
        return np.empty((0, 2))
    begin, end = slabs.within(slab, heights)
    row, place = np.nonzero(np.isfinite(begin))
    left, right, shift = begin[row, place], end[row, place], shifts[row]
    forward, one = _steps(left + shift, np.minimum(right, ends[1]), ends[0], step)
    back, two = _steps(-right + shift, np.minimum(-left, -ends[0]), -ends[1], step)
    x = np.concatenate([forward, -back])
    return np.column_stack((x, heights[row][np.concatenate([one, two])]))


def _steps(start: Array, stop: Array, least: float, step: float) -> tuple[Array, IntArray]:
    """Return places whole steps from a start, from `least` up to a stop, and whose they are."""
    first = np.maximum(np.ceil((least - start) / step), 0.0)
    last = np.floor((stop - start + GRID_M) / step)
    which, more = spread(np.maximum(last - first + 1.0, 0.0).astype(np.int64))
    places: Array = start[which] + (first[which] + more) * step
    return places, which


def _cornered(frame: Frame, laid: Spots, touching: list[Array]) -> Array:
    """Return spots that touch one unit laid sideways and another one above or below."""
    reach = 2.0 * frame.modules.max(axis=0)
    near = np.all(np.abs(laid.at[:, None] - laid.at[None]) < reach, axis=2)
    one, other = np.nonzero(near)
    x, y = touching[0][one], touching[1][other]
    pairs = np.stack((np.repeat(x, 2, axis=1), np.tile(y, 2)), axis=2)
    cornered: Array = pairs.reshape(-1, 2)
    return cornered
