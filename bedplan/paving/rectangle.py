"""The most whole units a rectangle can hold, both ways round (layer: paving).

Like rectangles in a rectangle: each unit lies along the length or across it, none is cut, none
overlap. Three means, each called only if the one before has left a doubt: blocks cut again and
again, an arithmetic bound over the class of equal instances, and a search led by the weights
of a linear programme. The answer says whether it is proven.

Public entry point: `pack_rectangle`.

References
----------
R. Morabito and S. Morales, Journal of the Operational Research Society 49, 1998;
F. W. Barnes, Discrete Mathematics 26, 1979; K. A. Dowsland, European Journal of Operational
Research 1984-87; E. G. Birgin, R. D. Lobato and R. Morabito, Journal of the Operational
Research Society 61, 2010.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd, lcm
from numbers import Integral
from time import perf_counter

from bedplan.errors import GeometryError
from bedplan.paving.rectangle_blocks import search_blocks
from bedplan.paving.rectangle_bounds import class_bound, critical_ratios
from bedplan.paving.rectangle_cover import cover_model, search, weigh
from bedplan.paving.rectangle_layout import lay
from bedplan.paving.rectangle_sizes import (
    SIZES_AT_MOST,
    Spot,
    Unit,
    decompose,
    normal_size,
)

UNITS_AT_MOST = 200_000
"""More units than this are refused: the list of places alone would fill the memory."""

SEARCH_SHARE = 0.9
"""Part of the time allowed after which nothing new is begun."""

PERIODS_KEPT = 3
"""A long side is shortened to this many common multiples of the unit's sides."""


@dataclass(frozen=True, order=True)
class Placement:
    """One unit in its place.

    Parameters
    ----------
    x, y
        Lower left corner, in the length units of the call; x runs along the length.
    turned
        Whether the unit's length lies across the rectangle's length.
    """

    x: int
    y: int
    turned: bool


@dataclass(frozen=True)
class RectanglePacking:
    """How many whole units a rectangle holds, and where.

    Parameters
    ----------
    count
        Units placed.
    upper_bound
        No packing holds more.
    proven
        Whether the two are equal, so that nothing better exists.
    placements
        The units in their places, from left to right.
    """

    count: int
    upper_bound: int
    proven: bool
    placements: tuple[Placement, ...]


def pack_rectangle(
    length: int, width: int, unit_length: int, unit_width: int, *, time_limit_s: float = 5.0
) -> RectanglePacking:
    """Return the most whole units found in a rectangle, and a bound no packing can pass.

    Parameters
    ----------
    length, width
        The rectangle in whole length units of any kind, > 0.
    unit_length, unit_width
        The unit in the same length units, > 0; joints are to be added to both by the caller.
    time_limit_s
        When to stop improving [s], > 0.

    Returns
    -------
    packing
        Count, bound, whether proven, and places inside the rectangle, none overlapping.

    Raises
    ------
    GeometryError
        If a side is not a whole number above 0, the time is not above 0, or more than
        `UNITS_AT_MOST` units might fit.

    References
    ----------
    See the module.

    Examples
    --------
    >>> packing = pack_rectangle(5, 5, 3, 2)
    >>> packing.count, packing.upper_bound, packing.proven
    (4, 4, True)
    >>> pack_rectangle(5, 5, 3, 0)
    Traceback (most recent call last):
    ...
    bedplan.errors.GeometryError: unit width must be a whole number above 0, not 0
    """
    sides = checked(length, width, unit_length, unit_width)
    if not time_limit_s > 0:
        message = f"time limit must be above 0 s, not {time_limit_s}"
        raise GeometryError(message)
    deadline = perf_counter() + SEARCH_SHARE * time_limit_s
    common = gcd(sides[2], sides[3])
    scaled = [side // common for side in sides]
    bound, spots = pack(scaled[0], scaled[1], Unit(max(scaled[2:]), min(scaled[2:])), deadline)
    placements = tuple(
        Placement(x * common, y * common, along != scaled[2]) for x, y, along, _ in sorted(spots)
    )
    return RectanglePacking(len(spots), bound, len(spots) == bound, placements)


def checked(length: int, width: int, unit_length: int, unit_width: int) -> list[int]:
    """Return the four sides as plain whole numbers, or say which of them cannot be."""
    names = ("length", "width", "unit length", "unit width")
    sides = (length, width, unit_length, unit_width)
    for name, side in zip(names, sides, strict=True):
        if isinstance(side, bool) or not isinstance(side, Integral) or side <= 0:
            message = f"{name} must be a whole number above 0, not {side!r}"
            raise GeometryError(message)
    if int(length) * int(width) > UNITS_AT_MOST * int(unit_length) * int(unit_width):
        message = (
            f"{length} × {width} may hold more than {UNITS_AT_MOST:,} units of "
            f"{unit_length} × {unit_width}; lay it out in parts"
        )
        raise GeometryError(message)
    return [int(side) for side in sides]


def pack(length: int, width: int, unit: Unit, deadline: float) -> tuple[int, list[Spot]]:
    """Return a bound and the best packing found, for a unit whose sides share no factor."""
    length, width = normal_size(length, unit), normal_size(width, unit)
    if length < width:
        bound, spots = pack(width, length, unit, deadline)
        return bound, [(y, x, across, along) for x, y, along, across in spots]
    if width == 0 or length < unit.long:
        return 0, []
    bound = class_bound(length, width, unit, critical_ratios(length, width, unit))
    spots = blocks(length, width, unit, deadline)
    if len(spots) == bound or perf_counter() > deadline:
        return bound, spots
    return settle(length, width, unit, (bound, spots), deadline)


def blocks(length: int, width: int, unit: Unit, deadline: float) -> list[Spot]:
    """Return a packing by blocks; of a very long rectangle, whole periods are filled first."""
    length, width = normal_size(length, unit), normal_size(width, unit)
    if length < width:
        return [
            (y, x, across, along) for x, y, along, across in blocks(width, length, unit, deadline)
        ]
    strip = surplus(length, unit)
    if strip:
        rest = blocks(length - strip, width, unit, deadline)
        moved = [(x + strip, y, along, across) for x, y, along, across in rest]
        return full_strip(strip, width, unit) + moved
    shapes = critical_ratios(length, width, unit)
    return lay(search_blocks(length, width, unit, shapes, deadline))


def surplus(length: int, unit: Unit) -> int:
    """Return the whole periods a length can spare; 0 where all its sizes can be listed."""
    sums = (length // unit.long + 1) * (length // unit.short + 1) // 2
    if min(length, sums) <= SIZES_AT_MOST:
        return 0
    period = lcm(unit.long, unit.short)
    return max(0, length // period - PERIODS_KEPT) * period


def full_strip(length: int, width: int, unit: Unit) -> list[Spot]:
    """Return a strip filled without waste: a common multiple of both sides long.

    Its width is a sum of unit sides, so it parts into rows of units across and rows of units
    along, and both close. First principles.
    """
    longs, shorts = decompose(width, unit)
    across = [
        (x, row * unit.long, unit.short, unit.long)
        for row in range(longs)
        for x in range(0, length, unit.short)
    ]
    base = longs * unit.long
    along = [
        (x, base + row * unit.short, unit.long, unit.short)
        for row in range(shorts)
        for x in range(0, length, unit.long)
    ]
    return across + along


def settle(
    length: int, width: int, unit: Unit, known: tuple[int, list[Spot]], deadline: float
) -> tuple[int, list[Spot]]:
    """Close the gap between the best packing and the bound, as far as time allows."""
    bound, spots = known
    model = cover_model(length, width, unit)
    weights = weigh(model, deadline - perf_counter()) if model else None
    if model is None or weights is None:
        return bound, spots
    bound = min(bound, weights.bound)
    while len(spots) < bound:
        outcome, better = search(model, weights, bound, deadline)
        if outcome == "none":
            bound -= 1
        else:
            return bound, better or spots
    return bound, spots
