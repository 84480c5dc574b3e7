"""The most symmetric of the shifts that lay the most units (layer: paving engine).

A walk four and a half units wide is laid with the same open ground left and right. If three
units or four fit, either a unit lies on the centre line or a joint does, whichever holds more;
so a paver tries both. The same is done here for every bond: its pattern is its own mirror image
about some lines only, so just a few shifts bring one onto a centre line of the region, and
likewise one of the points about which it looks the same after half a turn onto the centre.
Each is tried for the best count; counts and proofs are those of the search and never change.

*Symmetry* is a figure: for every centre line the share of units that have a mirror image among
the units, and for the centre the share that have one turned by half a turn, added up. A share
counts only where the pattern without end is its own image, and from a third on; else a few
units have images by chance.

Public entry point: `most_symmetric`.

References
----------
First principles. The shifts follow from writing "mirrored and moved by a step of the lattice,
the pattern lies on itself" for the shifted pattern and solving for the shift.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from bedplan.geometry.tolerance import FIT_M, SNAP_M
from bedplan.paving.bond_symmetry import HALF_TURN, Change, Symmetries, among
from bedplan.paving.centre_lines import CentreLines, Line, Point
from bedplan.paving.centring import Field
from bedplan.paving.rows import Rows, Runs

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SEEN: Final = 0.05
"""A lesser difference in symmetry is not seen, and chance in a crooked region."""

_LEAST_SHARE: Final = 1 / 3
"""A lesser share of units with a mirror image is chance; a leg of a bent walk has more."""


class Choice(NamedTuple):
    """A shift and how symmetric the layout is."""

    shift_m: Array
    symmetry: float


def most_symmetric(
    field: Field, symmetries: Symmetries, about: CentreLines, count: int, shift_m: Array
) -> Choice:
    """Return the shift whose layout is the most symmetric of those that hold a count.

    Parameters
    ----------
    field
        The bond over its ground.
    symmetries
        How the bond lies on itself, for the normals of `about.lines`.
    about
        What the region is symmetric about.
    count
        The most units any shift lays.
    shift_m
        A shift that lays so many, with the slack shared out; taken unless another is visibly
        more symmetric.

    Returns
    -------
    choice
        A shift with that count. Of those about as symmetric the one with the evenest slack,
        then with the most slack.
    """
    acts = acts_of(about, symmetries)
    best = Choice(shift_m, symmetry_at(field, symmetries.rows, acts, shift_m))
    tried: list[Choice] = []
    if best.symmetry >= len(acts) - SEEN:
        return best
    for shift in _candidates(field, symmetries, about, count):
        choice = Choice(shift, symmetry_at(field, symmetries.rows, acts, shift))
        if choice.symmetry >= len(acts) - SEEN:
            return choice
        tried.append(choice)
    tried = [choice for choice in tried if choice.symmetry > best.symmetry + SEEN]
    most = max((choice.symmetry for choice in tried), default=0.0)
    alike = [choice for choice in tried if choice.symmetry >= most - SEEN]
    if len(alike) > 1:
        alike.sort(key=lambda choice: _unevenness(field, choice.shift_m))
    return alike[0] if alike else best


def acts_of(about: CentreLines, symmetries: Symmetries) -> list[tuple[Change, Point]]:
    """Return the mirrorings and half turns a region and a bond both have, with their moves [m]."""
    acts = [
        (symmetries.changes[x, y], (2.0 * at_m * x, 2.0 * at_m * y))
        for (x, y), at_m in about.lines
        if symmetries.mirrors[x, y]
    ]
    if about.centre is not None and symmetries.centres:
        x, y = about.centre
        acts.append((symmetries.changes[HALF_TURN], (2.0 * x, 2.0 * y)))
    return acts


def symmetry_at(
    field: Field, rows: Rows, acts: Sequence[tuple[Change, Point]], shift: Array
) -> float:
    """Return for how many acts, in shares of all units, units have an image among the units."""
    units = field.along.runs(shift).sites()
    if not len(units):
        return 0.0
    low, high = units.min(axis=0), units.max(axis=0)
    counts, keys, share = high - low + 1, _keys(units, low, high - low + 1), 0.0
    for change, move in acts:
        images = _images(rows, change, move, units, shift)
        if images is not None:
            wanted = _keys(images, low, counts)
            matched = float(np.mean(keys[np.searchsorted(keys[:-1], wanted)] == wanted))
            share += matched if matched >= _LEAST_SHARE else 0.0
    return share


def _keys(sites: IntArray, low: IntArray, counts: IntArray) -> IntArray:
    """Return a number for every site, rising in the order of sites; -1 for one beyond."""
    which, row, place = (sites - low).T
    inside = (row >= 0) & (row < counts[1]) & (place >= 0) & (place < counts[2])
    return np.where(inside, (which * counts[1] + row) * counts[2] + place, -1)


def _images(
    rows: Rows, change: Change, move: Point, units: IntArray, shift: Array
) -> IntArray | None:
    """Return the sites units come to; None where the whole pattern does not lie on itself."""
    x, y = (change.matrix @ shift - shift).tolist()
    for closing in change.closings:
        steps = _step_to(x + move[0] - closing.move[0], y + move[1] - closing.move[1], rows)
        if steps is not None:
            images = np.empty_like(units)
            images[:, 0] = closing.onto[units[:, 0]]
            images[:, 1:] = units[:, 1:] @ change.steps.T + (closing.steps + steps)[units[:, 0]]
            return images
    return None


def _step_to(x: float, y: float, rows: Rows) -> tuple[int, int] | None:
    """Return the row and place of a lattice point, None for a point off the lattice [m]."""
    cos, sin = rows.along
    t = (y * cos - x * sin) / rows.rise_m
    u = (x * cos + y * sin) / rows.pitch_m - round(t) * rows.slide
    off_m = math.hypot((u - round(u)) * rows.pitch_m, (t - round(t)) * rows.rise_m)
    return (round(t), round(u)) if off_m < FIT_M else None


def _candidates(
    field: Field, symmetries: Symmetries, about: CentreLines, count: int
) -> Iterator[Array]:
    """Yield shifts with a count that lay the pattern symmetric to lines or the centre."""
    held = [
        (line, shift, spans)
        for line in about.lines
        for shift, spans in _held(field, line, symmetries.mirrors[line.normal], count)
    ]
    crossings = [
        one + other
        for (first, one, _), (second, other, _) in itertools.combinations(held, 2)
        if first is not second
    ]
    crossed = [shift for shift in crossings if _holds(field, shift, count)]
    yield from crossed
    for centre in symmetries.centres if about.centre is not None else ():
        shift = np.array(about.centre) - centre
        if _holds(field, shift, count) and not among(crossed, shift, symmetries.rows):
            yield shift
    for line, across, spans in () if crossed else held:
        widest = spans[np.argmax(np.abs(spans[:, 1] - spans[:, 0]))]
        yield across + float(np.mean(widest)) * np.array((-line.normal[1], line.normal[0]))


def _holds(field: Field, shift: Array, count: int) -> bool:
    return field.along.runs(shift).count() >= count


def _held(
    field: Field, line: Line, places: Sequence[float], count: int
) -> Iterator[tuple[Array, Array]]:
    """Yield shifts that bring one of a bond's mirror lines onto a line, and where they hold.

    A shift stands for all along the line; it comes with from where to where along the line a
    count is held, ``(n, 2)`` [m].
    """
    way = field.way((-line.normal[1], line.normal[0])) if places else None
    if way is None:
        return
    (x, y), (cos, sin) = line.normal, way.rows.along
    pitch_m = way.rows.pitch_m * (x * sin - y * cos)  # less than nothing if rows run back
    for place in places:
        shift = (line.at_m - place) * np.array(line.normal)
        levels, depth = depth_along(way.runs(shift))
        deep = (depth >= count) & (levels[1:] > levels[:-1])
        if np.any(deep):
            yield shift, np.column_stack((levels[:-1], levels[1:]))[deep] * pitch_m


def depth_along(runs: Runs) -> tuple[Array, IntArray]:
    """Return how many lattice points are on the ground as the lattice moves on by one pitch.

    Returns
    -------
    levels, depth
        ``(n + 1,)`` rising from 0 to 1 [pitch], and ``(n,)`` the count between each level and
        the next, if that is above it.

    Examples
    --------
    >>> zero = np.zeros(1, dtype=np.int64)
    >>> levels, depth = depth_along(Runs(zero, zero, np.array([0.25]), np.array([2.5])))
    >>> levels.tolist(), depth.tolist()
    ([0.0, 0.25, 0.5, 1.0], [2, 3, 2])
    """
    begin, end = runs.begin - np.floor(runs.begin), runs.end - np.floor(runs.end)
    begin[begin == 0.0] = 1.0
    levels = np.sort(np.concatenate(([0.0, 1.0], begin, end)))
    middles = 0.5 * (levels[:-1] + levels[1:])
    entered = np.searchsorted(np.sort(begin), middles)
    left = np.searchsorted(np.sort(end), middles)
    start = int(np.sum(np.floor(runs.end) - np.ceil(runs.begin) + 1.0))
    return levels, start + entered - left


def _unevenness(field: Field, shift: Array) -> tuple[int, float]:
    """Return how uneven the slack is, in steps nobody sees, and how little there is of it."""
    slacks = np.array([way.slack_m(shift) for way in (field.along, field.across)])
    uneven = float(np.abs(slacks[:, 0] - slacks[:, 1]).sum())
    return round(uneven / (10.0 * SNAP_M)), -float(slacks.sum(axis=1).min())
