"""Cut and fill between the ground and a plane, exact (layer: engines).

*Cut* is ground above the plane, to dig; *fill* is room under it, to make up. Volumes are in the
bank: as the ground lies, before it swells. On each triangle the difference of ground and plane is
linear, so the part of one sign is a triangle or a quad with a known volume. Public entry points:
`earthwork`, `work_on`, `contour`.

References
----------
Volume of a prism over a triangle: area times mean height. Where the difference changes sign, the
corner cut off is a pyramid on the triangle's share ``d1²/((d1 − d2)(d1 − d3))``; first principles.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import Point
from bedplan.ground.patch import Patch, patch_of
from bedplan.ground.plane import Plane
from bedplan.ground.surface import Surface

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Earthwork:
    """What must be dug and made up.

    Parameters
    ----------
    cut_m3, fill_m3
        Volumes in the bank [m^3].
    cut_area_m2, fill_area_m2
        Ground that is dug, and ground that is made up [m^2]; what is flush is neither.
    greatest_cut_m, greatest_fill_m
        Greatest depth of each [m]; 0 where there is none.
    greatest_cut_at, greatest_fill_at
        Where; None where there is none.
    """

    cut_m3: float
    fill_m3: float
    cut_area_m2: float
    fill_area_m2: float
    greatest_cut_m: float
    greatest_fill_m: float
    greatest_cut_at: Point | None
    greatest_fill_at: Point | None

    @property
    def surplus_m3(self) -> float:
        """Cut less fill [m^3], negative where ground is wanting."""
        return self.cut_m3 - self.fill_m3


def earthwork(surface: Surface, plane: Plane, outline: BaseGeometry) -> Earthwork:
    """Return the cut and fill that bring the ground under an outline to a plane.

    Parameters
    ----------
    surface
        The ground.
    plane
        Finish or formation.
    outline
        Polygon or multipolygon [m], holes allowed.

    Raises
    ------
    GeometryError
        If the outline is no valid area or reaches beyond the ground.

    Examples
    --------
    >>> from bedplan.ground.plane import level
    >>> from bedplan.ground.surface import surface_of
    >>> yard = shapely.box(0, 0, 4, 3)
    >>> ground = surface_of([(0, 0, 0), (4, 0, 1), (4, 3, 1), (0, 3, 0)], yard)
    >>> work = earthwork(ground, level(0.5), yard)
    >>> round(work.cut_m3, 9), round(work.fill_m3, 9), round(work.greatest_cut_m, 9)
    (1.5, 1.5, 0.5)
    """
    return work_on(patch_of(surface, outline), plane)


def work_on(patch: Patch, plane: Plane) -> Earthwork:
    """Return the cut and fill on a patch of ground: `earthwork` for outlines used again."""
    above = patch.heights - plane.heights_at(patch.places)
    cut_m3, cut_area_m2 = positive_part(patch.areas_m2, above)
    fill_m3, fill_area_m2 = positive_part(patch.areas_m2, -above)
    cut_m, cut_at = _greatest(patch, above)
    fill_m, fill_at = _greatest(patch, -above)
    return Earthwork(cut_m3, fill_m3, cut_area_m2, fill_area_m2, cut_m, fill_m, cut_at, fill_at)


def sum_of(works: Iterable[Earthwork]) -> Earthwork:
    """Return the earthwork of several outlines together."""
    every = [*works]
    deepest = max(every, key=lambda work: work.greatest_cut_m, default=NONE)
    highest = max(every, key=lambda work: work.greatest_fill_m, default=NONE)
    return Earthwork(
        sum(work.cut_m3 for work in every),
        sum(work.fill_m3 for work in every),
        sum(work.cut_area_m2 for work in every),
        sum(work.fill_area_m2 for work in every),
        deepest.greatest_cut_m,
        highest.greatest_fill_m,
        deepest.greatest_cut_at,
        highest.greatest_fill_at,
    )


ROUNDED = 7
"""Decimals of a contour's places [m]."""

NONE = Earthwork(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, None, None)
"""No earthwork at all."""


def positive_part(areas_m2: Array, values: Array) -> tuple[float, float]:
    """Return the integral of a piecewise linear function where it is positive, and that area.

    Parameters
    ----------
    areas_m2
        ``(n,)`` areas of triangles [m^2].
    values
        ``(n, 3)`` values at their corners [m].

    Examples
    --------
    >>> positive_part(np.array([1.0]), np.array([[1.0, -1.0, -1.0]]))
    (0.08333333333333333, 0.25)
    """
    low, mid, high = np.sort(values, axis=1).T
    one_up = (mid <= 0.0) & (high > 0.0)
    two_up = (mid > 0.0) & (low < 0.0)
    all_up = (low >= 0.0) & (high > 0.0)
    # share of the triangle on the side of its odd corner: the highest one, or the lowest
    odd, near, far = np.where(one_up, (high, mid, low), (low, mid, high))
    split = one_up | two_up
    share = np.where(split, odd**2 / np.where(split, (odd - near) * (odd - far), 1.0), 0.0)
    corner = share * odd / 3.0
    mean = (low + mid + high) / 3.0
    heights = np.where(one_up, corner, np.where(two_up, mean - corner, np.where(all_up, mean, 0)))
    shares = np.where(one_up, share, np.where(two_up, 1.0 - share, np.where(all_up, 1.0, 0.0)))
    return float(areas_m2 @ heights), float(areas_m2 @ shares)


def _greatest(patch: Patch, values: Array) -> tuple[float, Point | None]:
    """Return the greatest positive value and its place: linear functions peak at corners."""
    if not values.size or values.max() <= 0.0:
        return 0.0, None
    triangle, corner = divmod(int(values.argmax()), 3)
    x, y = patch.places[triangle, corner].tolist()
    return float(values.max()), (x, y)


def contour(patch: Patch, plane: Plane) -> BaseGeometry:
    """Return the line along which the ground meets a plane: a contour, or where cut meets fill.

    Parameters
    ----------
    patch
        The ground to draw it on.
    plane
        A level plane for a contour, a finish or formation for the line of no work.

    Returns
    -------
    line
        Lines joined end to end; empty if they do not meet.
    """
    above = patch.heights - plane.heights_at(patch.places)
    after, above_after = np.roll(patch.places, -1, axis=1), np.roll(above, -1, axis=1)
    # a corner on the plane counts as above it, so every triangle has none or two crossings
    crossed = (above >= 0.0) != (above_after >= 0.0)
    share = above / np.where(crossed, above - above_after, 1.0)
    ends = patch.places + share[..., None] * (after - patch.places)
    # neighbours find their common end each on its own: rounding makes the two one place
    segments = np.round(ends[crossed].reshape(-1, 2, 2), ROUNDED)
    long = np.hypot(*(segments[:, 1] - segments[:, 0]).T) > 0.0
    return shapely.line_merge(shapely.multilinestrings(shapely.linestrings(segments[long])))
