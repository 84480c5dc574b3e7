"""The provably best shift of a bond in any region, no unit cut (layer: paving engine).

A unit counts only if it lies wholly inside the region. For every unit of the bond's motif the
places where its centre may be are the region eroded by the unit; how many units a shift lays is
how often the shifted lattice hits those places, and `deepest` finds the most. Among the shifts
that lay the very same units a middle one is taken, so that margins are even.

A unit may press `FIT_M` into the edge, so that a walk exactly ten units wide holds ten whatever
the rounding; the proof says that no shift lays more units under that allowance.

Public entry point: `best_shift`.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.polygons import EMPTY
from bedplan.geometry.tolerance import FIT_M, GRID_M
from bedplan.paving.bonds import Bond
from bedplan.paving.centring import centred
from bedplan.paving.deepest import deepest
from bedplan.paving.gaps import least_gap_m
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.rows import Edges, Rows, edges_of, rows_of, runs_at

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def best_shift(
    region: BaseGeometry, bond: Bond, joint_m: float, direction_deg: float = 0.0
) -> Laying:
    """Return the laying of a bond in one direction that holds the most whole units.

    Parameters
    ----------
    region
        Where units may lie [m]: polygon or multipolygon, holes allowed; may be empty.
    bond
        The pattern.
    joint_m
        Gap between units [m], ≥ 0.
    direction_deg
        Direction of the bond's courses [deg].

    Returns
    -------
    laying
        The units by course; none, and proven, where nothing fits.

    Raises
    ------
    GeometryError
        If the region is no valid area, the joint is negative or no number, or units of the
        bond come nearer to each other than the joint.

    Examples
    --------
    >>> from bedplan.paving.bonds import stack
    >>> walk = shapely.box(0, 0, 3.0, 1.0)
    >>> laying = best_shift(walk, stack(0.4, 0.4), 0.01)
    >>> laying.count, laying.proven
    (14, True)
    """
    search = search_shift(region, bond, joint_m, direction_deg, beat=0)
    return search.laying or Laying(bond, joint_m, direction_deg, (0.0, 0.0), (), (), search.proven)


class Search(NamedTuple):
    """What a search for a better laying found: the laying, if any, and whether it is proven."""

    laying: Laying | None
    proven: bool


def search_shift(
    region: BaseGeometry, bond: Bond, joint_m: float, direction_deg: float, *, beat: int
) -> Search:
    """Return the best laying if it holds more units than `beat`.

    Takes the same arguments as `best_shift`; knowing what to beat makes most of the search
    superfluous. `proven` with no laying says that none holds more.
    """
    check_bond(bond, joint_m)
    if not math.isfinite(direction_deg):
        message = f"{direction_deg} is no direction to lay a bond in"
        raise GeometryError(message)
    lattice, offsets = bond.lattice(joint_m), bond.offsets(joint_m)
    origin, rows = _middle(region), rows_of(lattice)

    @cache
    def pressed(press_m: float) -> tuple[list[BaseGeometry], Edges]:
        places = [
            unit_places(region, origin, direction_deg, *size, press_m)
            for size in bond.sizes().tolist()
        ]
        return places, edges_of(places, offsets, rows)

    def recount(shift: tuple[float, float]) -> int:
        return runs_at(pressed(2.0 * FIT_M)[1], shift, rows.slide).count()

    places, edges = pressed(FIT_M)
    found = deepest(edges, rows.slide, FIT_M / (2.0 * rows.rise_m), recount, beat=beat)
    if found.depth <= beat:
        return Search(None, found.proven)
    if runs_at(edges, found.shift, rows.slide).count() < found.depth:
        places, edges = pressed(2.0 * FIT_M)
    shift = centred(places, offsets, lattice, rows, edges, rows.metres(np.array([found.shift]))[0])
    sites = runs_at(edges, rows.measure(shift[None])[0], rows.slide).sites()
    proven = found.proven and len(sites) >= found.depth
    laying = _laid(
        bond,
        joint_m,
        direction_deg,
        origin,
        (shift, _centres(sites, shift, rows, offsets), sites[:, 0]),
        proven,
    )
    return Search(laying, proven)


@lru_cache(maxsize=64)
def unit_places(
    region: BaseGeometry,
    origin: tuple[float, float],
    direction_deg: float,
    length_m: float,
    width_m: float,
    press_m: float,
) -> BaseGeometry:
    """Return where the centre of an upright unit may be, in a frame turned to a direction.

    Parameters
    ----------
    region
        Where units may lie [m].
    origin
        Point of the region that becomes the origin of the frame [m].
    direction_deg
        Direction that becomes the frame's x axis [deg].
    length_m, width_m
        Size of the unit along the frame's x and y [m].
    press_m
        How far the unit may press into the region's edge [m].
    """
    least = 2.0 * press_m + GRID_M
    kernel = rectangle_kernel(
        max(length_m - 2.0 * press_m, least), max(width_m - 2.0 * press_m, least)
    )
    if region.is_empty:
        return EMPTY
    turned = shapely.transform(region, lambda points: _turn(points - origin, -direction_deg))
    if region.is_valid and not turned.is_valid:
        # rings that touch in a point may cross by a rounding once they are turned
        turned = shapely.set_precision(turned, GRID_M)
    return erode(turned, kernel)


@lru_cache(maxsize=256)
def check_bond(bond: Bond, joint_m: float) -> None:
    """Raise `GeometryError` unless a bond keeps its units a joint apart."""
    if not 0.0 <= joint_m < math.inf:
        message = f"a joint of {joint_m} m cannot be laid; it must be 0 or more"
        raise GeometryError(message)
    gap_m = least_gap_m(bond, joint_m)
    if gap_m < joint_m - GRID_M:
        message = (
            f"units of bond {bond.name!r} come within {gap_m:.6g} m of each other; "
            f"the joint is {joint_m:.6g} m"
        )
        raise GeometryError(message)


def _middle(region: BaseGeometry) -> tuple[float, float]:
    """Return the middle of a region's bounding box, to keep numbers small."""
    if region.is_empty:
        return (0.0, 0.0)
    west, south, east, north = region.bounds
    return (0.5 * (west + east), 0.5 * (south + north))


def _turn(points: Array, angle_deg: float) -> Array:
    """Return points turned about the origin."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned: Array = points @ np.array([[cos, sin], [-sin, cos]])
    return turned


def _centres(sites: IntArray, shift: Array, rows: Rows, offsets: Array) -> Array:
    """Return the unit centres of lattice sites in the turned frame, ``(n, 2)`` [m]."""
    row, place = sites[:, 1], sites[:, 2]
    steps = np.column_stack((place + row * rows.slide, row))
    return rows.metres(steps) + shift + offsets[sites[:, 0]]


def _laid(
    bond: Bond,
    joint_m: float,
    direction_deg: float,
    origin: tuple[float, float],
    pattern: tuple[Array, Array, IntArray],
    proven: bool,
) -> Laying:
    """Return the laying of a pattern (shift, centres, motif places) given in the turned frame."""
    shift, at, which = pattern
    order = np.lexsort((at[:, 0], np.round(at[:, 1] / FIT_M / 10.0)))
    at, which = at[order], which[order]
    world = _turn(np.vstack((shift, at)), direction_deg) + origin
    turns = np.array([(direction_deg + 90.0 * unit.turned) % 180.0 for unit in bond.motif])
    faces = np.array([unit.face for unit in bond.motif])
    units = map(Placement, *world[1:].T.tolist(), turns[which].tolist())
    return Laying(
        bond,
        joint_m,
        direction_deg,
        (float(world[0, 0]), float(world[0, 1])),
        tuple(units),
        tuple(faces[which].tolist()),
        proven,
    )
