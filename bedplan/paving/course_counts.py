"""How many units a course holds at every height, and the best heights (layer: paving engine).

A course at a height has its units' centres on the level line across their *places*, the ground
eroded by the unit, each at least one *step* from the next. Packed from the left, as many stand
on the line as can. The number is a step function of the height: it changes only at a corner of
the places, or where the distance from some left side to some right side is a whole number of
steps, for there a packed row just fits.

Public entry points: `spans_of`, `best_courses_of`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from bedplan.geometry.tolerance import GRID_M
from bedplan.paving.rows import spread
from bedplan.paving.slabs import Slabs

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


class Course(NamedTuple):
    """One course: how many units, and the heights between which it can lie [m]."""

    units: int
    low_m: float
    high_m: float


@dataclass(frozen=True)
class Spans:
    """Closed spans of height in which a course holds at least so many units.

    Parameters
    ----------
    units
        ``(k,)`` the number, rising.
    low, high
        ``(k,)`` ends of each span, rising among spans of one number [m].
    """

    units: IntArray
    low: Array
    high: Array


def packed(begin: Array, end: Array, step_m: float) -> IntArray:
    """Return how many centres a step apart fit on stretches of a line, for many lines.

    Parameters
    ----------
    begin, end
        ``(k, m)`` stretches of each line in the order of their begins [m]; they may overlap;
        begins of +inf and ends of -inf stand for none.
    step_m
        Least distance of centres [m]; may be exceeded by rounding, `GRID_M`.

    Notes
    -----
    From the left, each centre as near as can be to the one before: any other row can be pushed
    into this one centre by centre, so none holds more (first principles).
    """
    count = np.zeros(len(begin), dtype=np.int64)
    free = np.full(len(begin), -np.inf)
    for left, right in zip(begin.T, end.T, strict=True):
        start = np.maximum(left, free)
        taken = start <= right + GRID_M
        room = np.where(taken, right - start + GRID_M, 0.0)
        more = np.where(taken, np.floor(room / step_m).astype(np.int64) + 1, 0)
        free = np.where(taken, start + more * step_m, free)
        count += more
    return count


def spans_of(slabs: Slabs, step_m: float) -> Spans:
    """Return where a course holds at least 1, 2, 3 … units.

    Parameters
    ----------
    slabs
        Where centres may be.
    step_m
        Least distance of centres along a course [m].

    Notes
    -----
    The line with n centres a step apart at some height moves up or down, n centres on it, until
    it meets a corner, or until a run of centres is caught between a left and a right side a
    whole number of steps from each other. So the ends of the spans are among those heights. The
    count is taken at all of them and once between each two.
    """
    slab, height = _just_fits(slabs, step_m)
    heights = np.concatenate([slabs.levels, height])
    at = np.concatenate(
        [packed(*slabs.at_levels(), step_m), packed(*slabs.within(slab, height), step_m)]
    )
    order = np.argsort(heights, kind="stable")
    heights, at = heights[order], at[order]
    middle = 0.5 * (heights[1:] + heights[:-1])
    inside = np.clip(
        np.searchsorted(slabs.levels, middle, side="right") - 1, 0, max(len(slabs.levels) - 2, 0)
    )
    between = (
        packed(*slabs.within(inside, middle), step_m)
        if len(middle)
        else np.empty(0, dtype=np.int64)
    )
    return _spans(heights, at, between)


def best_courses_of(spans: Spans, rise_m: float) -> tuple[Course, ...]:
    """Return the courses, a rise or more from each other, that hold the most units in all.

    Parameters
    ----------
    spans
        Where a course holds how many.
    rise_m
        Least distance of courses [m].

    Returns
    -------
    courses
        From the lowest up. Each lies as low as it can above the one before.

    Notes
    -----
    Dynamic programming on the number of units laid: the lowest height at which the last course
    of a set of n units can end is the least, over what that course holds, of the first place
    for it a rise above the lowest end of the rest. A lower end never forbids anything above,
    so nothing is lost and the greatest n with an end is the most there is.
    """
    most = int(spans.units[-1]) if len(spans.units) else 0
    first = np.searchsorted(spans.units, np.arange(1, most + 1))
    reach = 2.0 * (float(np.ptp(np.append(spans.low, spans.high))) + rise_m) if most else 1.0
    base = float(spans.low.min()) if most else 0.0
    keys = (spans.high - base) + spans.units * reach
    last = np.append(first[1:], len(spans.units))
    held, recent, chosen = np.arange(1, most + 1), np.full(most, -np.inf), [-1]
    while most:
        before = recent + rise_m
        found = np.searchsorted(keys, np.maximum(before - base, 0.0) + held * reach)
        there = found < last
        place = np.where(there, found, 0)
        end = np.where(there, np.maximum(spans.low[place], before), np.inf)
        best = int(np.argmin(end))
        if end[best] == np.inf:
            break
        recent[1:] = recent[:-1]
        recent[0] = end[best]
        chosen.append(int(found[best]))
    return _traced(spans, chosen)


def _traced(spans: Spans, chosen: list[int]) -> tuple[Course, ...]:
    """Return the courses of the last entry of the table, from the lowest up."""
    courses, units = [], len(chosen) - 1
    while units > 0:
        span = chosen[units]
        courses.append(
            Course(int(spans.units[span]), float(spans.low[span]), float(spans.high[span]))
        )
        units -= int(spans.units[span])
    return tuple(reversed(courses))


def _just_fits(slabs: Slabs, step_m: float) -> tuple[IntArray, Array]:
    """Return slabs and heights where a left and a right side are whole steps apart."""
    last, first = np.triu_indices(slabs.begin.shape[1])[::-1]
    apart = (slabs.end[:, last] - slabs.begin[:, first]) / step_m
    with np.errstate(invalid="ignore"):
        low, high = apart.min(axis=2), apart.max(axis=2)
        crossed = (high >= 0.0) & (high > low)
        least = np.where(crossed, np.ceil(np.maximum(low, 0.0)), 1.0)
        count = np.where(crossed, np.floor(high) - least + 1.0, 0.0).astype(np.int64)
    pair, more = spread(count.ravel())
    foot, top = apart.reshape(-1, 2)[pair].T
    part = (least.ravel()[pair] + more - foot) / (top - foot)
    slab = pair // max(len(first), 1)
    levels = slabs.levels
    return slab, levels[slab] + np.clip(part, 0.0, 1.0) * (levels[slab + 1] - levels[slab])


def _spans(heights: Array, at: IntArray, between: IntArray) -> Spans:
    """Return the spans of a step function given at heights and between them."""
    steps = np.zeros(2 * len(heights) + 1, dtype=np.int64)
    steps[2:-1:2] = between
    # a closed region holds at a height what it holds on either side of it
    steps[1::2] = np.maximum(at, np.maximum(steps[0:-1:2], steps[2::2]))
    units, lows, highs = [], [], []
    for number in range(1, int(steps.max()) + 1):
        change = np.diff((steps >= number).astype(np.int8))
        lows.append(heights[np.flatnonzero(change > 0) // 2])
        highs.append(heights[(np.flatnonzero(change < 0) - 1) // 2])
        units.append(np.full(len(lows[-1]), number))
    if not units:
        return Spans(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0))
    return Spans(np.concatenate(units), np.concatenate(lows), np.concatenate(highs))
