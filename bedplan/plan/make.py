"""A layout worked out: everything computed, nothing drawn (layer: plan).

Public entry point: `make_plan`. A `Plan` is frozen and complete; outputs only read it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from bedplan.edging import BedEdging, Hardware, count_hardware
from bedplan.errors import Finding
from bedplan.ground.works import Works
from bedplan.model.layout import Layout
from bedplan.model.site import Site
from bedplan.plan.filled import fill_lines
from bedplan.plan.grounding import work_ground
from bedplan.plan.heaped import spread_on_hand
from bedplan.plan.limits import within_limits
from bedplan.plan.planted import PlantedBed, plant_beds
from bedplan.plan.sawn import BarrierPlan, BoardPlan, plan_barriers, plan_boards
from bedplan.plan.splicing import edge_spliced
from bedplan.plan.survey_findings import survey_findings
from bedplan.plan.walk import FreeSearch, Walk
from bedplan.plan.walks import lay_walks
from bedplan.practice import Caution, Subject, cautions, check
from bedplan.site import resolve
from bedplan.survey import Survey, surveyed
from bedplan.takeoff.fill import FillLine, FillTotal, sum_by_material
from bedplan.takeoff.order import HardwareNeed, Needs, make_order
from bedplan.takeoff.order_lines import Order


@dataclass(frozen=True)
class Plan:
    """Everything a layout comes to. `edging` and `walks` follow the order of beds and paths.

    `survey` is None where the corners are given, not taped; `works` where the file says nothing
    of its ground.
    """

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
    hardware: Hardware = field(default_factory=Hardware)
    survey: Survey | None = None
    works: Works | None = None
    planted: tuple[PlantedBed, ...] = ()


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
    layout, survey = surveyed(layout)
    site = resolve(layout)
    edging = edge_spliced(layout, site)
    hardware = count_hardware(edging, layout.boards)
    boards = tuple(plan_boards(layout, edging))
    laid = lay_walks(layout, site, search or FreeSearch())
    walks = within_limits(layout, laid)
    layout, site = spread_on_hand(layout, site, edging, walks)
    barriers = tuple(plan_barriers(layout, site, edging))
    works = work_ground(layout, site, edging, walks)
    fill = tuple(fill_lines(layout, site, edging, walks, works))
    totals = tuple(sum_by_material(fill))
    units: dict[str, int] = defaultdict(int)
    for walk in walks:
        for name, count in walk.counts.items():
            units[name] += count
    planted = tuple(plant_beds(layout, site, edging))
    order = make_order(
        Needs(
            [(part.board, part.cut) for part in boards],
            [(layout.pavers[name], count) for name, count in units.items()],
            [(part.fabric, part.cut, part.pins) for part in barriers],
            totals,
            layout.materials,
            hardware_needs(layout, hardware),
            [(part.spec, part.count) for part in planted],
        ),
        layout.show,
        layout.terms.tax,
    )
    subject = Subject(layout, site, edging)
    findings = (
        *survey_findings(layout.enclosure.ties, survey, layout.show),
        *check(subject, works),
        *_unplaced(laid),
    )
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
        hardware,
        survey=survey,
        works=works,
        planted=planted,
    )


def hardware_needs(layout: Layout, hardware: Hardware) -> tuple[HardwareNeed, ...]:
    """Return stakes, screws and connectors as the order wants them: packs, prices, on hand."""
    stakes = [(layout.stakes[name], count) for name, count in hardware.stakes.items()]
    screws = [(layout.screws[name], count) for name, count in hardware.screws.items()]
    joined = [(layout.boards[name], count) for name, count in hardware.connectors.items()]
    return (
        *(
            HardwareNeed(f"{each.name} stake", count, each.on_hand, each.pack, each.price)
            for each, count in stakes
        ),
        *(
            HardwareNeed(each.plural, count, each.on_hand, each.pack, each.price)
            for each, count in screws
        ),
        *(
            HardwareNeed(f"{each.name} connector", count, 0, 1, each.connector_price)
            for each, count in joined
        ),
    )


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
