"""How many units of one direction a region holds at the very most (layer: paving engine).

Much nearer the truth than the area, for it knows that a strip three and a half units wide
holds three. Cover the places where centres may be with *boxes* just smaller than a unit and its
joint: no box can hold two centres, so there are no more units than boxes. Boxes are set in
level strips or in upright ones, or the ground is first cut in two, and each part again, by the
cuts that need fewest boxes.

Public entry point: `line_bound`.

References
----------
First principles. The best cover made by cuts from side to side is found by dynamic programming
over all parts between main cuts (P. C. Gilmore and R. E. Gomory, Operations Research, 1965,
from memory).
"""

from __future__ import annotations

import itertools
import math
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.shift import unit_places
from bedplan.paving.slabs import slabs_of
from bedplan.paving.strips import fine_cuts, main_cuts, strip_covers

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

Effort = tuple[tuple[int, int], ...]
"""Rounds of a search: main cuts each way, and regular cuts a module."""

QUICK: Final[Effort] = ((0, 8),)
"""Whole strips only: a hundredth of a second for some hundred units."""

GOOD: Final[Effort] = ((0, 8), (4, 6))
"""Three times the time, for two or three boxes less in ground with beds in it."""

_BEST: Final[Effort] = ((0, 16), (4, 6), (8, 8))


def line_bound(
    region: BaseGeometry,
    length_m: float,
    width_m: float,
    joint_m: float,
    direction_deg: float = 0.0,
    *,
    enough: int = 0,
) -> int:
    """Return a number that no set of whole units in one direction can exceed.

    Parameters
    ----------
    region
        Where units may lie [m]; may be empty.
    length_m, width_m
        Face of the unit along and across the direction [m], > 0.
    joint_m
        Least gap between units [m], ≥ 0.
    direction_deg
        Direction of all the units' lengths [deg].
    enough
        A count already reached; a bound that meets it ends the search.

    Returns
    -------
    most
        Whole number, ≥ 0. It holds for units in any pattern or none, all turned the same way,
        even if each presses twice `tolerance.FIT_M` into the edge of the region.

    Raises
    ------
    GeometryError
        If the region is no valid area, or the unit, joint or direction is impossible.

    Notes
    -----
    The joint is measured along and across: of any two units, one lies at least a joint beyond
    the other either along the direction or across it. Units corner to corner nearer than that
    both ways are not counted on.

    Examples
    --------
    >>> line_bound(shapely.box(0, 0, 4.5, 1.7), 0.5, 0.4, 0.0)
    36
    """
    if not (
        0.0 < length_m < math.inf
        and 0.0 < width_m < math.inf
        and 0.0 <= joint_m < math.inf
        and math.isfinite(direction_deg)
    ):
        message = (
            f"no unit of {length_m} by {width_m} m with a joint of {joint_m} m "
            f"in direction {direction_deg}"
        )
        raise GeometryError(message)
    return boxes_over(
        region,
        (length_m, width_m),
        (length_m + joint_m, width_m + joint_m),
        direction_deg,
        enough=enough,
    )


def boxes_over(
    region: BaseGeometry,
    face_m: tuple[float, float],
    module_m: tuple[float, float],
    direction_deg: float,
    *,
    enough: int = 0,
    effort: Effort = _BEST,
) -> int:
    """Return how few boxes were found to cover the places of centres.

    Parameters
    ----------
    region
        Where units may lie [m].
    face_m
        What of each unit surely lies inside the region: length and width [m].
    module_m
        Length and width of what surely belongs to no other unit's like [m].
    direction_deg
        Direction of the lengths [deg].
    enough
        A number of boxes at which the search may end.
    effort
        Rounds to search by.
    """
    if region.is_empty:
        return 0
    west, south, east, north = region.bounds
    origin = (0.5 * (west + east), 0.5 * (south + north))
    places = unit_places(region, origin, direction_deg, *face_m, 2.0 * FIT_M)
    if places.is_empty:
        return 0
    fewest = math.inf
    for main, parts in effort:
        fewest = min(fewest, _boxes(places, module_m, main, parts))
        if fewest <= enough:
            break
    return int(fewest)


def _boxes(places: BaseGeometry, module_m: tuple[float, float], main: int, parts: int) -> int:
    """Return the boxes of the best cover with so many main cuts each way."""
    length, width = module_m
    across, along = slabs_of(places), slabs_of(shapely.transform(places, _swapped))
    levels, stations = main_cuts(across, main, 0.1 * width), main_cuts(along, main, 0.1 * length)
    level = strip_covers(
        across, fine_cuts(levels, width, parts), levels, _pairs(stations), (length, width)
    )
    upright = strip_covers(
        along, fine_cuts(stations, length, parts), stations, _pairs(levels), (width, length)
    )
    n, m = len(stations), len(levels)
    boxes = np.zeros((n, n, m, m), dtype=np.int64)
    left, right = np.triu_indices(n, 1)
    low, high = np.triu_indices(m, 1)
    boxes[left, right] = np.moveaxis(level, 2, 0)
    boxes[:, :, low, high] = np.minimum(
        np.where(
            np.arange(n)[:, None, None] < np.arange(n)[None, :, None], boxes[:, :, low, high], 0
        ),
        upright,
    )
    return int(_cut_down(boxes)[0, -1, 0, -1])


def _cut_down(boxes: IntArray) -> IntArray:
    """Return the boxes of all parts when each may be cut in two, and its parts again.

    Parameters
    ----------
    boxes
        ``(n, n, m, m)`` boxes of the uncut part between stations a, b and levels c, d, at
        ``[a, b, c, d]``; changed in place.
    """
    n, m = boxes.shape[0], boxes.shape[2]
    for wide, high in itertools.product(range(1, n), range(1, m)):
        a, c = np.arange(n - wide)[:, None], np.arange(m - high)[None]
        b, d = a + wide, c + high
        best = boxes[a, b, c, d]
        for cut in range(1, wide):
            best = np.minimum(best, boxes[a, a + cut, c, d] + boxes[a + cut, b, c, d])
        for cut in range(1, high):
            best = np.minimum(best, boxes[a, b, c, c + cut] + boxes[a, b, c + cut, d])
        boxes[a, b, c, d] = best
    return boxes


def _pairs(cuts: Array) -> Array:
    """Return every two cuts, the lesser first, ``(k, 2)``."""
    first, second = np.triu_indices(len(cuts), 1)
    return np.column_stack((cuts[first], cuts[second]))


def _swapped(points: Array) -> Array:
    """Return points mirrored so that x and y change places."""
    return points[:, ::-1]
