"""Most points of a lattice inside an area: plants at a spacing (layer: paving engine).

The points of a square or triangular lattice are laid over the ground that keeps the edge distance.
The shift that puts most of them there is found like that of a bond, see `deepest`: the count is
the depth of the ground folded onto one cell of the lattice, and it is proven.

Public entry points: `best_points`, `plants_per_m2`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point
from bedplan.geometry.polygons import EMPTY, as_area, minus
from bedplan.geometry.tolerance import FIT_M, GRID_M
from bedplan.model.planting import Grid
from bedplan.paving.centring import Field, Way, centred
from bedplan.paving.deepest import deepest
from bedplan.paving.rows import edges_of, rows_of, runs_at
from bedplan.paving.shift import middle_of

Array = npt.NDArray[np.float64]


NONE = np.zeros((1, 2))
"""A lattice of single points: no offset within the cell."""


@dataclass(frozen=True)
class Points:
    """Points of a lattice inside an area.

    Parameters
    ----------
    points
        Row by row [m].
    direction_deg
        The way the rows run [deg].
    proven
        True if no shift of the lattice in the directions tried puts more points there.
    """

    points: tuple[Point, ...]
    direction_deg: float
    proven: bool


def lattice_of(spacing_m: float, grid: Grid) -> Array:
    """Return the two steps of a lattice as rows [m].

    Examples
    --------
    >>> lattice_of(0.5, "square").tolist()
    [[0.5, 0.0], [0.0, 0.5]]
    """
    rise = np.array([0.0, 1.0]) if grid == "square" else np.array([0.5, math.sqrt(0.75)])
    steps: Array = spacing_m * np.vstack(([1.0, 0.0], rise))
    return steps


def plants_per_m2(spacing_m: float, grid: Grid) -> float:
    """Return how many plants stand on a square metre far from any edge [1/m^2].

    Examples
    --------
    >>> round(plants_per_m2(0.3048, "square") * 0.3048**2, 4)
    1.0
    """
    return 1.0 / abs(float(np.linalg.det(lattice_of(spacing_m, grid))))


def best_points(
    area: BaseGeometry,
    spacing_m: float,
    grid: Grid,
    edge_m: float,
    directions_deg: Sequence[float],
    keep_off: Sequence[BaseGeometry] = (),
) -> Points:
    """Return the most points at a spacing, none nearer to the edge than given.

    Parameters
    ----------
    area
        Polygon or multipolygon [m].
    spacing_m
        From a point to the next [m], > 0.
    grid
        ``square`` or ``triangular``.
    edge_m
        Least distance from the area's edge [m], ≥ 0. A point that far to a hundredth of a
        millimetre counts.
    directions_deg
        Ways the rows may run [deg].
    keep_off
        Ground no point may stand on.

    Raises
    ------
    GeometryError
        If the spacing is not positive or the edge distance is negative.

    Examples
    --------
    >>> bed = shapely.box(0, 0, 2.4, 1.2)
    >>> len(best_points(bed, 0.3, "square", 0.15, [0.0]).points)
    32
    """
    if not spacing_m > 0.0 or not edge_m >= 0.0:
        message = f"points every {spacing_m:g} m, {edge_m:g} m from the edge, cannot be set out"
        raise GeometryError(message)
    best = Points((), 0.0, True)
    proven = True
    for direction_deg in directions_deg:
        ground = _Ground(area, edge_m, tuple(keep_off), direction_deg)
        found = _laid(ground, lattice_of(spacing_m, grid), beat=len(best.points))
        proven = proven and (found is None or found.proven)
        best = best if found is None or len(found.points) <= len(best.points) else found
    return Points(best.points, best.direction_deg, proven)


@dataclass(frozen=True)
class _Ground:
    """Where points may stand, in a frame turned to a direction."""

    area: BaseGeometry
    edge_m: float
    keep_off: tuple[BaseGeometry, ...]
    direction_deg: float

    def places(self, press_m: float) -> BaseGeometry:
        """Return the ground, points pressing so far into its margin."""
        inner = as_area(
            self.area.buffer(press_m - self.edge_m, quad_segs=32, join_style="mitre")
            if press_m >= self.edge_m
            else self.area.buffer(press_m - self.edge_m, quad_segs=32)
        )
        inner = minus(inner, *self.keep_off) if self.keep_off else inner
        if inner.is_empty:
            return EMPTY
        turned = shapely.transform(inner, self.to_frame)
        return turned if turned.is_valid else shapely.set_precision(turned, GRID_M)

    def to_frame(self, points: Array) -> Array:
        """Return plan coordinates in the frame."""
        return _turned(points - np.array(middle_of(self.area)), -self.direction_deg)

    def to_plan(self, points: Array) -> tuple[Point, ...]:
        """Return coordinates of the frame in the plan."""
        back = _turned(points, self.direction_deg) + np.array(middle_of(self.area))
        return tuple((float(x), float(y)) for x, y in back)


def _laid(ground: _Ground, lattice: Array, *, beat: int) -> Points | None:
    """Return the best shift's points if there are more than `beat`."""
    rows = rows_of(lattice)

    @cache
    def pressed(press_m: float) -> Field:
        places = [ground.places(press_m)]
        return Field(places, NONE, lattice, Way(rows, edges_of(places, NONE, rows)))

    def recount(shift: tuple[float, float]) -> int:
        return runs_at(pressed(2.0 * FIT_M).along.edges, shift, rows.slide).count()

    field = pressed(FIT_M)
    if field.places[0].is_empty:
        return None
    found = deepest(field.along.edges, rows.slide, FIT_M / (2.0 * rows.rise_m), recount, beat=beat)
    if found.depth <= beat:
        return None if found.proven else Points((), ground.direction_deg, False)
    if runs_at(field.along.edges, found.shift, rows.slide).count() < found.depth:
        field = pressed(2.0 * FIT_M)
    shift = centred(field, rows.metres(np.array([found.shift]))[0])
    sites = field.along.runs(shift).sites()
    steps = np.column_stack((sites[:, 2] + sites[:, 1] * rows.slide, sites[:, 1]))
    at = rows.metres(steps) + shift
    at = at[np.lexsort((at[:, 0], np.round(at[:, 1] / FIT_M / 10.0)))]
    proven = found.proven and len(at) >= found.depth
    return Points(ground.to_plan(at), ground.direction_deg, proven)


def _turned(points: Array, angle_deg: float) -> Array:
    """Return points turned about the origin."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned: Array = points @ np.array([[cos, sin], [-sin, cos]])
    return turned
