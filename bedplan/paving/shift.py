"""The provably best shift of a bond in any region, no unit cut (layer: paving engine).

A unit counts only if it lies wholly inside the region. For every unit of the bond's motif the
places where its centre may be are the region eroded by the unit; how many units a shift lays is
how often the shifted lattice hits those places, and `deepest` finds the most. Of all shifts that
lay so many the most symmetric is taken (`symmetry`); where none is, one in the middle of those
that lay the very same units, so that margins are even (`centring`).

A unit may press `FIT_M` into the edge, so that a walk exactly ten units wide holds ten whatever
the rounding; the proof says that no shift lays more units under that allowance.

Public entry point: `best_shift`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.polygons import EMPTY
from bedplan.geometry.tolerance import FIT_M, GRID_M
from bedplan.paving.bond_symmetry import symmetries_of
from bedplan.paving.bonds import Bond
from bedplan.paving.centre_lines import centre_lines
from bedplan.paving.centring import Field, Way, centred
from bedplan.paving.deepest import deepest
from bedplan.paving.gaps import least_gap_m
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.rows import Rows, edges_of, rows_of, runs_at
from bedplan.paving.symmetry import Choice, most_symmetric

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
    found, proven = search_shift(region, bond, joint_m, direction_deg, beat=0)
    if found is None:
        return Laying(bond, joint_m, direction_deg, (0.0, 0.0), (), (), proven)
    return found.laying()


@dataclass(frozen=True)
class Pattern:
    """A bond in one direction, and a shift that lays more units than was asked to be beaten.

    Which of the shifts with that count is taken, and where the units lie, is worked out when it
    is asked for: most patterns found on the way to the best one are never laid.
    """

    region: BaseGeometry
    bond: Bond
    joint_m: float
    direction_deg: float
    field: Field
    found: tuple[float, float]
    count: int
    proven: bool

    @cached_property
    def choice(self) -> Choice:
        """The most symmetric shift with that count, slack shared out."""
        shift = centred(self.field, self.field.along.rows.metres(np.array([self.found]))[0])
        near_m = 0.25 * float(self.bond.sizes().min())
        about = centre_lines(self.region, middle_of(self.region), self.direction_deg, near_m)
        normals = tuple(line.normal for line in about.lines)
        if not normals and about.centre is None:
            return Choice(shift, 0.0)
        symmetries = symmetries_of(self.bond, self.joint_m, normals)
        return most_symmetric(self.field, symmetries, about, self.count, shift)

    def laying(self) -> Laying:
        """Return the units where they lie."""
        shift, field = self.choice.shift_m, self.field
        sites = field.along.runs(shift).sites()
        centres = _centres(sites, shift, field.along.rows, field.offsets)
        return _laid(self, centres, sites[:, 0])


class Search(NamedTuple):
    """What a search for a better pattern found: the pattern, if any, and whether it is proven."""

    found: Pattern | None
    proven: bool


def search_shift(
    region: BaseGeometry, bond: Bond, joint_m: float, direction_deg: float, *, beat: int
) -> Search:
    """Return the best pattern if it holds more units than `beat`.

    Takes the same arguments as `best_shift`; knowing what to beat makes most of the search
    superfluous. `proven` with no pattern says that none holds more.
    """
    check_bond(bond, joint_m)
    if not math.isfinite(direction_deg):
        message = f"{direction_deg} is no direction to lay a bond in"
        raise GeometryError(message)
    lattice, offsets = bond.lattice(joint_m), bond.offsets(joint_m)
    origin, rows = middle_of(region), rows_of(lattice)

    @cache
    def pressed(press_m: float) -> Field:
        places = [
            unit_places(region, origin, direction_deg, *size, press_m)
            for size in bond.sizes().tolist()
        ]
        return Field(places, offsets, lattice, Way(rows, edges_of(places, offsets, rows)))

    def recount(shift: tuple[float, float]) -> int:
        return runs_at(pressed(2.0 * FIT_M).along.edges, shift, rows.slide).count()

    field = pressed(FIT_M)
    found = deepest(field.along.edges, rows.slide, FIT_M / (2.0 * rows.rise_m), recount, beat=beat)
    if found.depth <= beat:
        return Search(None, found.proven)
    count = runs_at(field.along.edges, found.shift, rows.slide).count()
    if count < found.depth:
        field, count = pressed(2.0 * FIT_M), recount(found.shift)
    proven = found.proven and count >= found.depth
    pattern = Pattern(region, bond, joint_m, direction_deg, field, found.shift, count, proven)
    return Search(pattern, proven)


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


def middle_of(region: BaseGeometry) -> tuple[float, float]:
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


def _laid(pattern: Pattern, at: Array, which: IntArray) -> Laying:
    """Return the laying of a pattern with centres and motif places given in the turned frame."""
    bond, direction_deg = pattern.bond, pattern.direction_deg
    order = np.lexsort((at[:, 0], np.round(at[:, 1] / FIT_M / 10.0)))
    at, which = at[order], which[order]
    shift, origin = pattern.choice.shift_m, middle_of(pattern.region)
    world = _turn(np.vstack((shift, at)), direction_deg) + origin
    turns = np.array([(direction_deg + 90.0 * unit.turned) % 180.0 for unit in bond.motif])
    faces = np.array([unit.face for unit in bond.motif])
    units = map(Placement, *world[1:].T.tolist(), turns[which].tolist())
    return Laying(
        bond,
        pattern.joint_m,
        direction_deg,
        (float(world[0, 0]), float(world[0, 1])),
        tuple(units),
        tuple(faces[which].tolist()),
        pattern.proven and len(at) >= pattern.count,
    )
