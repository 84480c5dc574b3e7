"""What a path asks to be laid of, and how: units, bond, directions (layer: plan).

Public entry points: `units_of`, `bond_of`, `directions_of`, `own_turn`.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.model.layout import Layout, Paving
from bedplan.model.materials import Paver
from bedplan.model.site import Site
from bedplan.paving import Bond, directions
from bedplan.paving.patterns import make_bond, sizes_of


def units_of(layout: Layout, paving: Paving) -> tuple[Paver, ...]:
    """Return the units a path is laid of, as many as its bond has sizes.

    Raises
    ------
    GeometryError
        If the path names too few or too many.
    """
    names = [name for name in (paving.paver, paving.second) if name is not None]
    if len(names) != (1 if paving.stride_m is not None else sizes_of(layout, paving.bond)):
        wanted = "one unit" if len(names) == 2 else "two units"
        message = f"bond {paving.pattern!r} is laid of {wanted}, and the path names {len(names)}"
        raise GeometryError(message)
    return tuple(layout.pavers[name] for name in names)


def bond_of(layout: Layout, paving: Paving, pavers: Sequence[Paver]) -> Bond | None:
    """Return the bond a path asks for; None where its units keep no pattern that repeats."""
    if paving.stride_m is not None or paving.bond in ("courses", "free"):
        return None
    return make_bond(paving, pavers, layout.bonds.get(paving.bond))


def own_turn(paving: Paving) -> float:
    """Return how far a bond is turned from the direction its path asks for [deg]."""
    return 45.0 * (paving.bond == "herringbone 45")


def directions_of(site: Site, paving: Paving, walk: BaseGeometry) -> tuple[float, ...]:
    """Return the directions to lay a walk in, the favoured one first [deg].

    Raises
    ------
    GeometryError
        If the path names a side that the fence has not.
    """
    if paving.direction == "best":
        return directions(walk)
    if isinstance(paving.direction, str):
        side = site.enclosure.side(paving.direction)
        if side is None:
            message = f"no side is called {paving.direction!r}"
            raise GeometryError(message)
        return (side.direction_deg,)
    return (float(paving.direction),)
