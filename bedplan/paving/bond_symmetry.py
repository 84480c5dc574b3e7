"""How a bond's pattern lies on itself: its mirror lines and centres (layer: paving engine).

A pattern is its own mirror image about some lines only, and looks the same after half a turn
about some points only. Mirrored or turned about any other, it lies on itself once it is moved by
the right *closing* move, if at all: a herringbone is nowhere its own mirror image.

Public entry point: `symmetries_of`.

References
----------
First principles.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.bonds import Bond
from bedplan.paving.rows import Rows, rows_of

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Point = tuple[float, float]

_ALIKE_M: Final = 0.005
"""A unit this near to another's mirror image is taken for it [m]: half a wide joint.

A basket weave of bricks twice as long as wide has no mirror lines but for the joint.
"""

HALF_TURN: Final = (0.0, 0.0)
"""Half a turn, among changes named by the normal of their mirror lines."""

_STEPS: Final = np.array([*itertools.product(range(-6, 7), repeat=2)], dtype=np.float64)
"""Steps of a lattice, in multiples of its two, that may close a mirror image."""


class Closing(NamedTuple):
    """A move that brings a mirrored or turned pattern back onto itself.

    `onto`: which motif unit each becomes. `steps`: how many rows and places on, ``(n, 2)``.
    """

    move: Point
    onto: IntArray
    steps: IntArray


class Change(NamedTuple):
    """A mirroring or half turn, and how a pattern lies on itself after it.

    `matrix`: of points; `steps`: of rows and places, ``(2, 2)`` each.
    """

    matrix: Array
    steps: IntArray
    closings: tuple[Closing, ...]


class Symmetries(NamedTuple):
    """How a bond's pattern lies on itself, its lattice through the origin.

    Parameters
    ----------
    rows
        The lattice as rows.
    changes
        By the normal of the mirror lines; the half turn under (0, 0).
    mirrors
        By the same normals, where the pattern's own mirror lines are, within one step [m].
    centres
        Points about which half a turn changes nothing, within one cell [m].
    """

    rows: Rows
    changes: dict[Point, Change]
    mirrors: dict[Point, tuple[float, ...]]
    centres: tuple[Point, ...]


def mirroring(normal: Point) -> Array:
    """Return the mirroring about a line through the origin square to a unit normal."""
    return np.eye(2) - 2.0 * np.outer(normal, normal)


@lru_cache(maxsize=64)
def symmetries_of(bond: Bond, joint_m: float, normals: tuple[Point, ...]) -> Symmetries:
    """Return how a bond's pattern lies on itself.

    Parameters
    ----------
    bond, joint_m
        The pattern and its joint [m].
    normals
        Square to which mirror lines are wanted: along x or y, or at 45° to them.

    Examples
    --------
    >>> from bedplan.paving.bonds import running, stack
    >>> found = symmetries_of(stack(0.5, 0.25), 0.0, ((1.0, 0.0),))
    >>> found.mirrors[1.0, 0.0], len(found.centres)
    ((0.0, 0.25), 4)
    >>> symmetries_of(running(0.3, 0.1, 1 / 3), 0.0, ((1.0, 0.0),)).mirrors[1.0, 0.0]
    ()
    """
    lattice, rows = bond.lattice(joint_m), rows_of(bond.lattice(joint_m))
    changes = {
        normal: _change(bond, joint_m, rows, matrix)
        for normal, matrix in [*((n, mirroring(n)) for n in normals), (HALF_TURN, -np.eye(2))]
    }
    mirrors = {
        normal: tuple(_mirror_places(normal, lattice, changes[normal])) for normal in normals
    }
    half_steps = [np.array(step) @ lattice for step in itertools.product((0, 1), repeat=2)]
    centres: list[Array] = []
    for closing in changes[HALF_TURN].closings:
        at = [0.5 * (closing.move + step) for step in half_steps]
        centres += [centre for centre in at if not among(centres, centre, rows)]
    return Symmetries(rows, changes, mirrors, tuple((float(x), float(y)) for x, y in centres))


def _change(bond: Bond, joint_m: float, rows: Rows, matrix: Array) -> Change:
    """Return how a bond lies on itself after a change; without closings if it never does."""
    offsets, sizes = bond.offsets(joint_m), bond.sizes()
    basis = rows.metres(np.array([[rows.slide, 1.0], [1.0, 0.0]]))
    steps, off_m = _steps_of(basis @ matrix.T, rows)
    if not np.all(off_m < FIT_M):
        return Change(matrix, steps.T, ())
    alike = np.all(np.abs((sizes @ np.abs(matrix).T)[:, None] - sizes) < FIT_M, axis=-1)
    onto = (offsets @ matrix.T)[:, None] - offsets
    closings = []
    for move in -onto[0]:
        on, off_m = _steps_of(onto + move, rows)
        closes = (off_m < _ALIKE_M) & alike
        if np.all(np.any(closes, axis=1)):
            unit = np.argmax(closes, axis=1)
            closings.append(Closing((move[0], move[1]), unit, on[np.arange(len(unit)), unit]))
    return Change(matrix, steps.T, tuple(closings))


def _steps_of(points: Array, rows: Rows) -> tuple[IntArray, Array]:
    """Return the rows and places of the nearest lattice points, and how far they are off [m]."""
    u, t = np.moveaxis(rows.measure(points.reshape(-1, 2)).reshape(points.shape), -1, 0)
    row = np.rint(t)
    place = np.rint(u - row * rows.slide)
    off_m = np.hypot((u - row * rows.slide - place) * rows.pitch_m, (t - row) * rows.rise_m)
    return np.stack((row, place), axis=-1).astype(np.int64), off_m


def _mirror_places(normal: Point, lattice: Array, change: Change) -> Iterator[float]:
    """Yield where the mirror lines square to a normal are, each once within a step that way."""
    steps, along = _STEPS @ lattice, np.array([-normal[1], normal[0]])
    level = steps[np.abs(steps @ along) < FIT_M] @ normal
    if not np.any(level > FIT_M):
        return
    pitch, found = float(np.min(level[level > FIT_M])), np.empty(0)
    for closing in change.closings:
        moves = steps + closing.move
        level = moves[np.abs(moves @ along) < FIT_M] @ normal
        found = np.append(found, 0.5 * level % pitch)
    found = np.sort(np.where(pitch - found < FIT_M, 0.0, found))
    yield from found[np.diff(found, prepend=-pitch) > _ALIKE_M].tolist()


def among(shifts: Sequence[Array], shift: Array, rows: Rows) -> bool:
    """Tell whether a shift is one of several but for steps of the lattice."""
    return bool(shifts) and bool(np.any(_steps_of(np.array(shifts) - shift, rows)[1] < _ALIKE_M))
