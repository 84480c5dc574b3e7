"""Which unit in which bond suits a walk: every choice of the file side by side (layer: plan).

Public entry point: `choices`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from bedplan.errors import GeometryError, LayoutError
from bedplan.model.layout import Layout, Paving
from bedplan.model.site import PlacedPath, Site
from bedplan.plan.walk import FreeSearch, Walk, lay_walk, within_limits

COMPARED: Final = (
    "stack",
    "running",
    "herringbone",
    "herringbone 45",
    "basket weave",
    "courses",
)
"""Bonds compared; `free` takes a search of its own and is left to the file."""


@dataclass(frozen=True)
class Choice:
    """One unit in one bond on one path.

    Parameters
    ----------
    cover
        Share of the path's ground under units [-].
    cost
        Of the units to buy, after those on hand; None without a price.
    weight_kg
        Of all units [kg]; None where the file gives none.
    chosen
        True for what the file asks for now.
    """

    paver: str
    bond: str
    walk: Walk
    cover: float
    cost: float | None
    weight_kg: float | None
    chosen: bool


def choices(layout: Layout, site: Site, path: PlacedPath) -> tuple[Choice, ...]:
    """Return every unit of the layout in every bond, the greatest cover first.

    A bond that a unit cannot make, or a unit that fits nowhere, is left out. A limited unit is
    counted as if no other path took any.

    Raises
    ------
    LayoutError
        If the path has no units to choose for.
    """
    paving = path.spec.paving
    if paving is None:
        number = layout.paths.index(path.spec)
        raise LayoutError.of(
            ("path", number),
            f"path {path.spec.name!r} has no pavers",
            "a path that is paved",
            "give it pavers, and compare then",
        )
    made = list(_choices(layout, site, path, paving))
    return tuple(sorted(made, key=lambda choice: -choice.cover))


def _choices(layout: Layout, site: Site, path: PlacedPath, paving: Paving) -> Iterator[Choice]:
    for paver in layout.pavers.values():
        for bond in COMPARED:
            whole = replace(paving, paver=paver.name, bond=bond, stride_m=None)
            tried = replace(path, spec=replace(path.spec, paving=whole))
            asked = replace(
                layout,
                paths=tuple(tried.spec if spec is path.spec else spec for spec in layout.paths),
            )
            try:
                laid = lay_walk(asked, site, tried, FreeSearch())
            except (GeometryError, LayoutError):
                continue
            (walk,) = within_limits(asked, (laid,))
            if not walk.count:
                continue
            to_buy = max(0, walk.count - paver.on_hand)
            yield Choice(
                paver.name,
                bond,
                walk,
                walk.paved_area_m2 / float(walk.ground.area),
                None if paver.price is None else paver.price * to_buy,
                None if paver.weight_kg is None else paver.weight_kg * walk.count,
                whole == paving,
            )
