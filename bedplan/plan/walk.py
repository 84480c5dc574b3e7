"""One path with its units: bond and direction chosen, best shift found (layer: plan).

Separate walks of one path are laid separately, each with its own start: no unit crosses from
one to another, and each gets the shift that suits it. Public entry point: `lay_walk`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError, LayoutError
from bedplan.geometry.polygons import parts
from bedplan.model.layout import Layout, Paving
from bedplan.model.materials import Paver
from bedplan.model.site import PlacedPath, Site
from bedplan.paving import (
    Bond,
    Laying,
    basket_weave,
    best_laying,
    directions,
    herringbone,
    open_joints,
    running,
    stack,
    upper_bound,
)
from bedplan.site.paths import paving_region

BONDS: Final = ("stack", "running", "herringbone", "basket weave")


@dataclass(frozen=True)
class Walk:
    """One path worked out.

    Parameters
    ----------
    path
        The path in place.
    ground
        Its area less plants' clear rings and posts: where layers and units may lie.
    paver
        The unit, or None for a path without units.
    layings
        One for each separate walk that holds a unit, the largest walk first.
    upper_bound
        No layout whatever of whole units holds more than this.
    shift_proven
        True if no shift of the bond, in any direction tried, holds more units.
    """

    path: PlacedPath
    ground: BaseGeometry
    paver: Paver | None = None
    layings: tuple[Laying, ...] = ()
    upper_bound: int = 0
    shift_proven: bool = True

    @property
    def count(self) -> int:
        """How many whole units lie in the path."""
        return sum(laying.count for laying in self.layings)

    @property
    def proven(self) -> bool:
        """True if nobody could lay more whole units here, in any way."""
        return self.count == self.upper_bound

    @property
    def paved_area_m2(self) -> float:
        """Area under the units [m^2]."""
        return sum(laying.paved_area_m2 for laying in self.layings)

    @property
    def open_area_m2(self) -> float:
        """Ground of the path the units leave open: joints and margins [m^2]."""
        return float(self.ground.area) - self.paved_area_m2

    @cached_property
    def outlines(self) -> tuple[Polygon, ...]:
        """The outline of every unit."""
        return tuple(outline for laying in self.layings for outline in laying.outlines())


def lay_walk(layout: Layout, site: Site, path: PlacedPath) -> Walk:
    """Return a path with as many whole units as its bond can hold.

    Raises
    ------
    LayoutError
        If the bond is not known or cannot be made with the unit.
    """
    ground = paving_region(site, path.area)
    paving = path.spec.paving
    if paving is None:
        return Walk(path, ground)
    paver = layout.pavers[paving.paver]
    try:
        bond = make_bond(paving, paver)
    except GeometryError as error:
        raise LayoutError.of(("path", layout.paths.index(path.spec), "bond"), str(error),
                             "a bond the unit makes", "choose another bond or unit") from None
    walks = parts(ground)
    layings = [_lay(walk, bond, paving, _directions(site, paving, walk)) for walk in walks]
    bound = sum(upper_bound(walk, paver.length_m, paver.width_m, paving.joint_m[0])
                for walk in walks)
    return Walk(path, ground, paver, _at_most(paver.limit, [x for x in layings if x.count]),
                bound, all(laying.proven for laying in layings))


def make_bond(paving: Paving, paver: Paver) -> Bond:
    """Return the bond a path asks for, made of its unit.

    Raises
    ------
    GeometryError
        If there is no such bond, or the unit does not make it.
    """
    match paving.bond:
        case "stack":
            return stack(paver.length_m, paver.width_m)
        case "running":
            return running(paver.length_m, paver.width_m, paving.offset)
        case "herringbone":
            return herringbone(paver.length_m, paver.width_m)
        case "basket weave":
            return basket_weave(paver.length_m, paver.width_m)
    message = f"no bond is called {paving.bond!r}; there are {', '.join(BONDS)}"
    raise GeometryError(message)


def _directions(site: Site, paving: Paving, walk: Polygon) -> tuple[float, ...]:
    if paving.direction == "best":
        return directions(walk)
    if isinstance(paving.direction, str):
        side = site.enclosure.side(paving.direction)
        if side is None:
            message = f"no side is called {paving.direction!r}"
            raise GeometryError(message)
        return (side.direction_deg,)
    return (float(paving.direction),)


def _lay(walk: Polygon, bond: Bond, paving: Paving, angles: Sequence[float]) -> Laying:
    least_m, greatest_m = paving.joint_m
    return open_joints(walk, best_laying(walk, bond, least_m, angles), greatest_m)


def _at_most(limit: int | None, layings: Sequence[Laying]) -> tuple[Laying, ...]:
    """Keep no more units than the file allows, spread evenly along the courses."""
    total = sum(laying.count for laying in layings)
    if limit is None or total <= limit:
        return tuple(layings)
    kept = {number * total // limit for number in range(limit)}
    thinned, first = [], 0
    for laying in layings:
        chosen = [i for i in range(laying.count) if first + i in kept]
        first += laying.count
        thinned.append(replace(laying, units=tuple(laying.units[i] for i in chosen),
                               faces=tuple(laying.faces[i] for i in chosen)))
    return tuple(laying for laying in thinned if laying.count)
