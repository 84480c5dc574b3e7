"""Which unit in which bond suits a walk: every choice of the file side by side (layer: plan).

Public entry point: `choices`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations, product
from typing import Final

from bedplan.errors import GeometryError, LayoutError
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.bonds import TWO_SIZES
from bedplan.model.layout import Layout, Paving
from bedplan.model.materials import Paver
from bedplan.model.site import PlacedPath, Site
from bedplan.paving.patterns import sizes_of
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
    """One unit, or two, in one bond on one path.

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
    second
        The second unit of a bond of two sizes.
    """

    paver: str
    bond: str
    walk: Walk
    cover: float
    cost: float | None
    weight_kg: float | None
    chosen: bool
    second: str | None = None


def choices(layout: Layout, site: Site, path: PlacedPath) -> tuple[Choice, ...]:
    """Return every unit of the layout in every bond, the greatest cover first.

    A bond that units cannot make, or units that fit nowhere, are left out. In a bond of two
    sizes every two units of one thickness are tried. A limited unit is counted as if no other
    path took any.

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
    for asked in _asked(layout, paving):
        tried = replace(path, spec=replace(path.spec, paving=asked))
        specs = tuple(tried.spec if spec is path.spec else spec for spec in layout.paths)
        try:
            laid = lay_walk(replace(layout, paths=specs), site, tried, FreeSearch())
        except (GeometryError, LayoutError):
            continue
        (walk,) = within_limits(layout, (laid,))
        if walk.count:
            yield _choice(walk, asked, paving)


def _asked(layout: Layout, paving: Paving) -> Iterator[Paving]:
    """Yield every bond with every unit, or with every two units, it might be laid of."""
    names = list(layout.pavers)
    own = [name for name in layout.bonds if sizes_of(layout, name) == 1]
    for paver, bond in product(names, (*COMPARED, *own)):
        yield replace(paving, paver=paver, second=None, bond=bond, stride_m=None)
    of_two = [*TWO_SIZES, *(name for name in layout.bonds if name not in own)]
    for (one, other), bond in product(permutations(names, 2), of_two):
        asked = replace(paving, paver=one, second=other, bond=bond, stride_m=None)
        if asked == paving or _level(layout.pavers[one], layout.pavers[other]):
            yield asked


def _level(one: Paver, other: Paver) -> bool:
    """Tell whether two units lie flush on one bed; others are left to the file to ask for."""
    return abs(one.thickness_m - other.thickness_m) < SNAP_M


def _choice(walk: Walk, asked: Paving, paving: Paving) -> Choice:
    laid = [(paver, walk.counts[paver.name]) for paver in walk.pavers]
    costs = [
        None if paver.price is None else paver.price * max(0, count - paver.on_hand)
        for paver, count in laid
    ]
    weights = [None if p.weight_kg is None else p.weight_kg * count for p, count in laid]
    return Choice(
        asked.paver,
        asked.bond,
        walk,
        walk.paved_area_m2 / float(walk.ground.area),
        _total(costs),
        _total(weights),
        asked == paving,
        asked.second,
    )


def _total(figures: Sequence[float | None]) -> float | None:
    """Return a sum, or None where one figure is missing."""
    known = [figure for figure in figures if figure is not None]
    return sum(known) if len(known) == len(figures) else None
