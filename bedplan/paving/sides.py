"""The best of several bonds along several directions (layer: paving engine).

Courses look right along a side of what they pave, so the directions worth trying are those of
the region's own sides, the longest side first. A bond that is not the same when turned by a
right angle or seen in a mirror is tried those ways too.

Public entry points: `directions`, `best_laying`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import SNAP_M
from bedplan.paving.bonds import Bond, same_when
from bedplan.paving.laying import Laying
from bedplan.paving.shift import Search, search_shift

Array = npt.NDArray[np.float64]


def directions(region: BaseGeometry, most: int = 12) -> tuple[float, ...]:
    """Return the directions of a region's sides, the greatest total length first [deg].

    Parameters
    ----------
    region
        Polygon or multipolygon [m].
    most
        How many directions at most; a round edge has as many as it has facets.

    Returns
    -------
    angles
        Distinct directions, 0 ≤ angle < 90: sides square to each other are one direction, and
        so are two whose difference could not be measured on the shorter (`SNAP_M`).

    Examples
    --------
    >>> directions(shapely.Polygon([(0, 0), (4, 0), (4, 3), (1, 3)]))
    (0.0, 71.56505117707799)
    """
    lengths, angles = _sides(region)
    order = np.argsort(-lengths, kind="stable")
    found: list[list[float]] = []
    for length, angle in zip(lengths[order].tolist(), angles[order].tolist(), strict=True):
        for group in found:
            apart = abs((angle - group[0] + 45.0) % 90.0 - 45.0)
            if np.radians(apart) * length < SNAP_M:
                group[1] += length
                break
        else:
            found.append([angle, length])
    found.sort(key=lambda group: -group[1])
    return tuple(group[0] for group in found[:most])


def best_laying(
    region: BaseGeometry,
    bonds: Bond | Sequence[Bond],
    joint_m: float,
    directions_deg: Iterable[float] | None = None,
) -> Laying:
    """Return the laying with the most whole units over bonds and directions.

    Parameters
    ----------
    region
        Where units may lie [m].
    bonds
        One bond or several, the favoured one first.
    joint_m
        Gap between units [m], ≥ 0.
    directions_deg
        Directions to try, the favoured one first [deg]; the region's own sides if None. Each
        bond is also tried turned by right angles and mirrored, where that changes it.

    Returns
    -------
    laying
        The most units; of equal counts the earlier direction, then the earlier bond. `proven`
        says that no other shift of any of these bonds in any of these directions lays more.

    Raises
    ------
    GeometryError
        If there is no bond or no direction, and as for `best_shift`.
    """
    tried = (bonds,) if isinstance(bonds, Bond) else tuple(bonds)
    angles = directions(region) if directions_deg is None else tuple(directions_deg)
    if not tried:
        message = "no bond to lay"
        raise GeometryError(message)
    best, proven = Search(None, True), True
    for angle, bond in itertools.product(angles or (0.0,), tried):
        for version, turn_deg in versions(bond, joint_m):
            count = best.found.count if best.found else 0
            search = search_shift(region, version, joint_m, (angle + turn_deg) % 360.0, beat=count)
            best, proven = (search if search.found else best), proven and search.proven
    if best.found is None:
        return Laying(tried[0], joint_m, (angles or (0.0,))[0], (0.0, 0.0), (), (), proven)
    return replace(best.found.laying(), proven=proven)


def versions(bond: Bond, joint_m: float) -> list[tuple[Bond, float]]:
    """Return the ways a bond can be laid along one direction that differ by more than a shift.

    Returns
    -------
    ways
        The bond, or the bond mirrored, and the turn to lay it with: 0, 90, 180 or 270 [deg].
    """
    kept: list[tuple[Bond, float, Array]] = []
    for mirrored, turn in itertools.product((False, True), (0, 1, 2, 3)):
        change = np.linalg.matrix_power(np.array([[0.0, -1.0], [1.0, 0.0]]), turn)
        if mirrored:
            change = change @ np.diag([-1.0, 1.0])
        if not any(same_when(bond, joint_m, earlier.T @ change) for _, _, earlier in kept):
            kept.append((bond.mirrored() if mirrored else bond, 90.0 * turn, change))
    return [(version, turn_deg) for version, turn_deg, _ in kept]


def _sides(region: BaseGeometry) -> tuple[Array, Array]:
    """Return the length [m] and the direction, 0 ≤ angle < 90 [deg], of every side."""
    runs = [
        np.diff(shapely.get_coordinates(ring), axis=0)
        for ring in shapely.get_rings(shapely.get_parts(region))
    ]
    run = np.concatenate(runs) if runs else np.empty((0, 2))
    lengths = np.hypot(run[:, 0], run[:, 1])
    run, lengths = run[lengths > SNAP_M], lengths[lengths > SNAP_M]
    angles = np.degrees(np.arctan2(run[:, 1], run[:, 0])) % 90.0
    return lengths, np.where(90.0 - angles < 1e-9, 0.0, angles)
