"""Fewer units than would fit, spread so that it looks meant (layer: paving engine).

A limited number of units goes either into a *grid*, every so many courses with equal gaps along
each, or to *even places*: units of the full laying, chosen as far from one another as possible.
The grid is taken where it keeps the units nearly as far apart.

Public entry points: `spread`, `thinned`, `shares`.

References
----------
T. F. Gonzalez, Theoretical Computer Science 38, 1985 (from memory): taking the farthest unit
from those taken, over and over, keeps them at least half as far apart as anybody could.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import FIT_M, SNAP_M
from bedplan.paving.laying import Laying, Placement

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_GRID_WORTH: Final = 0.75
"""A grid is taken if it keeps this share of the distance even places have."""

_SEEDS: Final = 8
"""From how many units even places are begun."""


def shares(limit: int, areas_m2: Sequence[float], counts: Sequence[int]) -> list[int]:
    """Return how a number of units is shared over walks, in proportion to their area.

    Parameters
    ----------
    limit
        Units to share, ≥ 0.
    areas_m2
        Ground of each walk [m^2].
    counts
        How many units each walk holds; none gets more.

    Returns
    -------
    shares
        Of the largest remainders; they add up to `limit`, or to all counts if that is less.

    Examples
    --------
    >>> shares(10, [6.0, 3.0, 1.0], [50, 20, 8])
    [6, 3, 1]
    >>> shares(10, [6.0, 3.0, 1.0], [4, 20, 8])
    [4, 5, 1]
    """
    given, left = [0] * len(counts), min(limit, sum(counts))
    asked: dict[int, float] = {}
    free = [i for i, count in enumerate(counts) if count]
    while free:
        total = math.fsum(areas_m2[i] for i in free)
        asked = {i: left * areas_m2[i] / total for i in free}
        full = [i for i in free if asked[i] >= counts[i]]
        if not full:
            break
        for i in full:
            given[i] = counts[i]
        left -= sum(counts[i] for i in full)
        free = [i for i in free if i not in full]
    for i in free:
        given[i] = int(asked[i])
    rest = left - sum(given[i] for i in free)
    for i in sorted(free, key=lambda i: int(asked[i]) - asked[i])[:rest]:
        given[i] += 1
    return given


def spread(region: BaseGeometry, laying: Laying, limit: int) -> Laying:
    """Return a laying with no more units than a limit, spread evenly.

    Parameters
    ----------
    region
        Where units may lie [m].
    laying
        All units that fit.
    limit
        How many to keep, ≥ 0.

    Returns
    -------
    spread
        `laying` itself if it holds no more. In one course the first and the last unit stay and
        the gaps between are equal, units moved along their course where they must; over an area
        a grid of courses, or units of the laying at even places.

    Examples
    --------
    >>> from bedplan.paving import best_shift, stack
    >>> walk = shapely.box(0, 0, 4.0, 0.5)
    >>> few = spread(walk, best_shift(walk, stack(0.4, 0.4), 0.0), 3)
    >>> [round(unit.x_m, 3) for unit in few.units]
    [0.2, 2.0, 3.8]
    """
    if laying.count <= limit:
        return laying
    if limit <= 0:
        return replace(laying, units=(), faces=())
    even = _even_places(laying, limit)
    grids = [grid for grid in _grids(laying, limit) if _allowed(region, grid)]
    best = max(grids, key=_nearest_m, default=even)
    return best if _nearest_m(best) >= _GRID_WORTH * _nearest_m(even) else even


def thinned(laying: Laying, face: int, limit: int) -> Laying:
    """Return a laying with no more units of one face than a limit, at even places, none moved."""
    numbers = np.flatnonzero(np.array(laying.faces, dtype=np.int64) == face)
    if len(numbers) <= limit:
        return laying
    few = _even_places(_kept(laying, numbers), limit).units if limit > 0 else ()
    kept = [i for i, unit in enumerate(laying.units) if laying.faces[i] != face or unit in few]
    return _kept(laying, np.array(kept, dtype=np.int64))


def _nearest_m(laying: Laying) -> float:
    """Return the least distance of two centres [m]."""
    at = np.array(laying.units)[:, :2]
    if len(at) < 2:
        return math.inf
    apart = np.hypot(*(at[:, None] - at).transpose(2, 0, 1))
    return float(np.min(apart + np.diag(np.full(len(at), np.inf))))


def _even_places(laying: Laying, limit: int) -> Laying:
    """Return units of a laying as far from one another as several farthest-first trials find."""
    at = np.array(laying.units)[:, :2]
    middle = np.argsort(np.hypot(*(at - at.mean(axis=0)).T), kind="stable")
    seeds = middle[:: max(1, len(at) // _SEEDS)]
    if limit == 1:
        return _kept(laying, middle[:1])
    trials = [_kept(laying, _farthest_first(at, int(seed), limit)) for seed in seeds]
    return max(trials, key=_nearest_m)


def _farthest_first(at: Array, seed: int, limit: int) -> IntArray:
    chosen, away = [seed], np.hypot(*(at - at[seed]).T)
    while len(chosen) < limit:
        chosen.append(int(np.argmax(away)))
        away = np.minimum(away, np.hypot(*(at - at[chosen[-1]]).T))
    return np.array(sorted(chosen))


def _kept(laying: Laying, numbers: IntArray) -> Laying:
    kept = numbers.tolist()
    return replace(
        laying,
        units=tuple(laying.units[i] for i in kept),
        faces=tuple(laying.faces[i] for i in kept),
    )


def _grids(laying: Laying, limit: int) -> Iterator[Laying]:
    """Yield layings of so many courses with so many units each, equal gaps along each."""
    if len({(round(unit.turn_deg, 6), face) for unit, face in _pairs(laying)}) > 1:
        return
    rows = courses(laying)
    for number in range(1, min(limit, len(rows)) + 1):
        each, over = divmod(limit, number)
        chosen = _stepped(rows, number)
        if over == 0 and all(len(row) >= each for row in chosen):
            moved = [unit for row in chosen for unit in _along(laying, row, each)]
            if len(moved) == limit:
                yield replace(laying, units=tuple(moved), faces=(laying.faces[0],) * limit)


def _pairs(laying: Laying) -> Iterator[tuple[Placement, int]]:
    return zip(laying.units, laying.faces, strict=True)


def _stepped(rows: Sequence[IntArray], number: int) -> list[IntArray]:
    """Return so many rows at one step, those left over shared out before and after."""
    if number == 1:
        return [max(rows, key=len)]
    step = (len(rows) - 1) // (number - 1)
    first = (len(rows) - 1 - step * (number - 1)) // 2
    return [rows[first + step * i] for i in range(number)]


def courses(laying: Laying) -> list[IntArray]:
    """Return the numbers of the units of each course, courses and units in order."""
    at = _in_frame(laying)
    order = np.argsort(at[:, 1], kind="stable")
    rows = np.split(order, np.flatnonzero(np.diff(at[order, 1]) > SNAP_M) + 1)
    return [row[np.argsort(at[row, 0], kind="stable")] for row in rows]


def _in_frame(laying: Laying) -> Array:
    """Return centres along and across the laying's courses, ``(n, 2)`` [m]."""
    turn = math.radians(laying.direction_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    at: Array = np.array(laying.units)[:, :2] @ np.array([[cos, -sin], [sin, cos]])
    return at


def _along(laying: Laying, row: IntArray, number: int) -> list[Placement]:
    """Return so many units at equal distances from the first to the last of a course."""
    first, last = laying.units[row[0]], laying.units[row[-1]]
    parts = np.linspace(0.0, 1.0, number) if number > 1 else np.array([0.5])
    return [
        first._replace(
            x_m=first.x_m + part * (last.x_m - first.x_m),
            y_m=first.y_m + part * (last.y_m - first.y_m),
        )
        for part in parts.tolist()
    ]


def _allowed(region: BaseGeometry, laying: Laying) -> bool:
    """Tell whether all units lie in the region and a joint apart."""
    outlines = laying.outlines()
    ground = region.buffer(3.0 * FIT_M, join_style="mitre")
    if not bool(np.all(shapely.covers(ground, outlines))):
        return False
    tree = shapely.STRtree(outlines)
    one, other = tree.query(outlines, predicate="dwithin", distance=laying.joint_m + SNAP_M)
    apart = shapely.distance(outlines[one[one < other]], outlines[other[one < other]])
    return bool(np.all(apart >= laying.joint_m - FIT_M))
