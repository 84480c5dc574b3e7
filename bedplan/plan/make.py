"""A layout worked out: everything computed, nothing drawn (layer: plan).

Public entry point: `make_plan`. A `Plan` is frozen and complete; outputs only read it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from bedplan.edging import BedEdging, edge_beds
from bedplan.errors import Finding
from bedplan.geometry.polygons import minus
from bedplan.model.layout import Layout
from bedplan.model.site import Site
from bedplan.plan.sawn import BarrierPlan, BoardPlan, plan_barriers, plan_boards
from bedplan.plan.walk import FreeSearch, Walk, lay_walk, within_limits
from bedplan.practice import Caution, Subject, cautions, check
from bedplan.site import resolve
from bedplan.takeoff.fill import (
    FillLine,
    FillTotal,
    PavedArea,
    bed_fill,
    path_fill,
    sum_by_material,
)
from bedplan.takeoff.order import Needs, Order, make_order


@dataclass(frozen=True)
class Plan:
    """Everything a layout comes to. `edging` and `walks` follow the order of beds and paths."""

    layout: Layout
    site: Site
    edging: tuple[BedEdging, ...]
    boards: tuple[BoardPlan, ...]
    walks: tuple[Walk, ...]
    barriers: tuple[BarrierPlan, ...]
    fill: tuple[FillLine, ...]
    totals: tuple[FillTotal, ...]
    order: Order
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]


def make_plan(layout: Layout, search: FreeSearch | None = None) -> Plan:
    """Return a layout worked out.

    Parameters
    ----------
    layout
        From `load_layout`, or built in Python. Replace its enclosure and call again to see what
        a re-measured fence changes.
    search
        How long a path with the bond ``free`` may be searched; five seconds if None.

    Raises
    ------
    LayoutError
        With every fault of the layout's geometry.
    StockError
        If boards or rolls come in no length that gives a piece, or a material sold by weight
        has no density.
    """
    site = resolve(layout)
    edging = edge_beds(site, layout.boards)
    boards = tuple(plan_boards(layout, edging))
    laid = [lay_walk(layout, site, path, search or FreeSearch()) for path in site.paths]
    walks = within_limits(layout, laid)
    barriers = tuple(plan_barriers(layout, site, edging))
    fill = tuple(_fill(layout, site, edging, walks))
    totals = tuple(sum_by_material(fill))
    units: dict[str, int] = defaultdict(int)
    for walk in walks:
        for name, count in walk.counts.items():
            units[name] += count
    order = make_order(
        Needs(
            [(part.board, part.cut) for part in boards],
            [(layout.pavers[name], count) for name, count in units.items()],
            [(part.fabric, part.cut, part.pins) for part in barriers],
            totals,
            layout.materials,
        ),
        layout.show,
    )
    subject = Subject(layout, site, edging)
    findings = (*check(subject), *_unplaced(laid))
    return Plan(
        layout,
        site,
        edging,
        boards,
        walks,
        barriers,
        fill,
        totals,
        order,
        findings,
        cautions(subject),
    )


def _fill(
    layout: Layout, site: Site, edging: Sequence[BedEdging], walks: Sequence[Walk]
) -> Iterator[FillLine]:
    materials = layout.materials
    for bed, edged in zip(site.beds, edging, strict=True):
        yield from bed_fill(bed.spec, _mulched(site, edged.planting), edged.planting, materials)
    for walk in walks:
        yield from path_fill(
            walk.path.spec,
            PavedArea(
                float(walk.ground.area),
                walk.paved_area_m2,
                walk.paver.thickness_m if walk.paver else 0.0,
            ),
            materials,
        )


def _mulched(site: Site, planting: BaseGeometry) -> BaseGeometry:
    rings = [
        plant.ring
        for plant in site.plants
        if plant.plant.ring_m > 0.0 and plant.ring.intersects(planting)
    ]
    return minus(planting, *rings) if rings else planting


def _unplaced(walks: Sequence[Walk]) -> Iterator[Finding]:
    """Yield a finding for every unit none of which lies in its path."""
    for walk in walks:
        for name in (name for name, count in walk.counts.items() if not count):
            of = f" of {name}" if walk.second else ""
            yield Finding(
                "no-unit-fits",
                "warning" if walk.count else "error",
                walk.path.spec.name,
                f"0 whole units{of}",
                "at least one",
                "first principles: no unit is ever cut",
                "choose a smaller unit, another bond or direction, or widen the path",
            )
