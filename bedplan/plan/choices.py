"""Which unit in which bond suits a walk: every choice of the file side by side (layer: plan).

Public entry points: `choices`, `uneven_pairs`.
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
from bedplan.plan.apart import Beside
from bedplan.plan.limits import within_limits
from bedplan.plan.walk import FreeSearch, Walk, lay_walk
from bedplan.plan.walks import units_before

COMPARED: Final = (
    "stack",
    "running",
    "herringbone",
    "herringbone 45",
    "basket weave",
    "courses",
)
"""Bonds compared; `free` takes a search of its own and comes when it is asked for."""


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
    share
        Count as a share of `Walk.upper_bound`, the most that any layout at all could hold [-].
    chosen
        True for what the file asks for now.
    second
        The second unit of a bond of two sizes.
    """

    paver: str
    bond: str
    walk: Walk
    cover: float
    share: float
    cost: float | None
    weight_kg: float | None
    chosen: bool
    second: str | None = None


def choices(
    layout: Layout,
    site: Site,
    path: PlacedPath,
    *,
    free: bool = False,
    search: FreeSearch | None = None,
) -> tuple[Choice, ...]:
    """Return every unit of the layout in every bond, the greatest cover first.

    A bond that units cannot make, or units that fit nowhere, are left out. In a bond of two
    sizes every two units of one thickness are tried. A limited unit is counted as if no other
    path took any. What the file asks for is always among them.

    Parameters
    ----------
    layout, site, path
        The path to choose for, in its place.
    free
        True to lay every unit freely as well.
    search
        How long each free laying may search each separate walk.

    Raises
    ------
    LayoutError
        If the path has no units to choose for.
    """
    paving = path.spec.paving
    number = [spec.name for spec in layout.paths].index(path.spec.name)
    if paving is None:
        raise LayoutError.of(
            ("path", number),
            f"path {path.spec.name!r} has no pavers",
            "a path that is paved",
            "give it pavers, and compare then",
        )
    wanted = list(_asked(layout, paving, free=free))
    if paving not in wanted:  # laid freely, or stepping stones
        wanted.append(paving)
    beside = units_before(layout, site, number, search)
    trial = _Trial(layout, site, path, beside, search or FreeSearch())
    made = [choice for asked in wanted if (choice := trial.choice(asked)) is not None]
    return tuple(sorted(made, key=lambda choice: -choice.cover))


def uneven_pairs(layout: Layout) -> bool:
    """Tell whether two units are not tried side by side for their different thickness."""
    return any(not _level(one, other) for one, other in permutations(layout.pavers.values(), 2))


@dataclass(frozen=True)
class _Trial:
    """A path to be laid in one way after another."""

    layout: Layout
    site: Site
    path: PlacedPath
    beside: Sequence[Beside]
    search: FreeSearch

    def choice(self, asked: Paving) -> Choice | None:
        """Return what comes of one way to lay the path; None if no unit fits so."""
        path = replace(self.path, spec=replace(self.path.spec, paving=asked))
        specs = tuple(path.spec if spec is self.path.spec else spec for spec in self.layout.paths)
        layout = replace(self.layout, paths=specs)
        try:
            laid = lay_walk(layout, self.site, path, self.search, beside=self.beside)
        except (GeometryError, LayoutError):
            return None
        (walk,) = within_limits(layout, (laid,))
        return _choice(walk, asked, asked == self.path.spec.paving) if walk.count else None


def _asked(layout: Layout, paving: Paving, *, free: bool) -> Iterator[Paving]:
    """Yield every bond with every unit, or with every two units, it might be laid of."""
    names = list(layout.pavers)
    own = [name for name in layout.bonds if sizes_of(layout, name) == 1]
    of_one = (*COMPARED, *own, *(("free",) if free else ()))
    for paver, bond in product(names, of_one):
        yield replace(paving, paver=paver, second=None, bond=bond, stride_m=None)
    of_two = [*TWO_SIZES, *(name for name in layout.bonds if name not in own)]
    for (one, other), bond in product(permutations(names, 2), of_two):
        asked = replace(paving, paver=one, second=other, bond=bond, stride_m=None)
        if asked == paving or _level(layout.pavers[one], layout.pavers[other]):
            yield asked


def _level(one: Paver, other: Paver) -> bool:
    """Tell whether two units lie flush on one bed; others are left to the file to ask for."""
    return abs(one.thickness_m - other.thickness_m) < SNAP_M


def _choice(walk: Walk, asked: Paving, chosen: bool) -> Choice:
    laid = [(paver, walk.counts[paver.name]) for paver in walk.pavers]
    costs = [
        None if paver.price is None else paver.price * max(0, count - paver.on_hand)
        for paver, count in laid
    ]
    weights = [None if p.weight_kg is None else p.weight_kg * count for p, count in laid]
    return Choice(
        asked.paver,
        asked.pattern,
        walk,
        walk.paved_area_m2 / float(walk.ground.area),
        walk.count / walk.upper_bound,
        _total(costs),
        _total(weights),
        chosen,
        asked.second,
    )


def _total(figures: Sequence[float | None]) -> float | None:
    """Return a sum, or None where one figure is missing."""
    known = [figure for figure in figures if figure is not None]
    return sum(known) if len(known) == len(figures) else None
