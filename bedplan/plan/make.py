"""A layout worked out: everything computed, nothing drawn (layer: plan).

Public entry point: `make_plan`. A `Plan` is frozen and complete; outputs only read it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from bedplan.edging import BedEdging, Piece, edge_beds
from bedplan.errors import Finding, StockError
from bedplan.geometry.polygons import minus, parts, union
from bedplan.model.layout import Layout
from bedplan.model.materials import Board, Fabric, StockItem
from bedplan.model.site import Site
from bedplan.plan.walk import FreeSearch, Walk, lay_walk
from bedplan.practice import Caution, Subject, cautions, check
from bedplan.site import resolve
from bedplan.stock import CutPlan, StockLength, cut
from bedplan.takeoff.barrier import StripLaying, lay_strips
from bedplan.takeoff.barrier_pins import pin_count
from bedplan.takeoff.fill import (
    FillLine,
    FillTotal,
    PavedArea,
    bed_fill,
    path_fill,
    sum_by_material,
)
from bedplan.takeoff.order import Needs, Order, make_order
from bedplan.units import nanometres


@dataclass(frozen=True)
class BoardPlan:
    """All pieces of one kind of board and how they are cut."""

    board: Board
    pieces: tuple[Piece, ...]
    cut: CutPlan


@dataclass(frozen=True)
class BarrierPlan:
    """All strips of one fabric, area by area, and how they are cut from rolls."""

    fabric: Fabric
    layings: tuple[StripLaying, ...]
    cut: CutPlan
    pins: int | None


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
    boards = tuple(_plan_boards(layout, edging))
    walks = tuple(lay_walk(layout, site, path, search or FreeSearch()) for path in site.paths)
    barriers = tuple(_plan_barriers(layout, site, edging))
    fill = tuple(_fill(layout, site, edging, walks))
    totals = tuple(sum_by_material(fill))
    units: dict[str, int] = defaultdict(int)
    for walk in walks:
        if walk.paver is not None:
            units[walk.paver.name] += walk.count
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
    findings = (*check(subject), *_unplaced(walks))
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


def _plan_boards(layout: Layout, edging: Sequence[BedEdging]) -> Iterator[BoardPlan]:
    for name, board in layout.boards.items():
        pieces = tuple(piece for bed in edging for piece in bed.pieces if piece.board == name)
        if pieces:
            yield BoardPlan(
                board,
                pieces,
                cut(
                    [nanometres(piece.long_m) for piece in pieces],
                    _stock(board.stock),
                    nanometres(board.kerf_m),
                    end_trim=nanometres(board.end_trim_m),
                    on_hand=[nanometres(length) for length in board.on_hand_m],
                ),
            )


def _stock(items: Iterable[StockItem]) -> list[StockLength]:
    return [StockLength(nanometres(item.length_m), item.price, item.limit) for item in items]


def _plan_barriers(
    layout: Layout, site: Site, edging: Sequence[BedEdging]
) -> Iterator[BarrierPlan]:
    for name, fabric in layout.fabrics.items():
        covered = _barrier_areas(name, site, edging)
        if not covered:
            continue
        longest_m = max(
            (*(item.length_m for item in fabric.rolls), *fabric.on_hand_m), default=0.0
        )
        if longest_m <= 0.0:
            message = f"fabric {name!r} has no roll on sale and none on hand"
            raise StockError(message)
        layings = tuple(
            lay_strips(
                area,
                roll_width_m=fabric.width_m,
                lap_m=fabric.lap_m,
                turn_up_m=fabric.turn_up_m,
                longest_m=longest_m,
            )
            for area in covered
        )
        lengths = [
            nanometres(length)
            for laying in layings
            for strip in laying.strips
            for length in strip.pieces_m
        ]
        pins = (
            sum(pin_count(laying, fabric.pin_every_m) for laying in layings)
            if fabric.pin_every_m
            else None
        )
        yield BarrierPlan(
            fabric,
            layings,
            cut(
                lengths,
                _stock(fabric.rolls),
                on_hand=[nanometres(length) for length in fabric.on_hand_m],
            ),
            pins,
        )


def _barrier_areas(name: str, site: Site, edging: Sequence[BedEdging]) -> list[BaseGeometry]:
    """Return the grounds a fabric covers: walks that touch as one, and each bed by itself."""
    walks = [path.area for path in site.paths if path.spec.barrier == name]
    grounds: list[BaseGeometry] = list(parts(union(walks))) if walks else []
    grounds += [
        part
        for bed, edged in zip(site.beds, edging, strict=True)
        if bed.spec.barrier == name
        for part in parts(edged.planting)
    ]
    return grounds


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
    for walk in walks:
        if walk.paver is not None and walk.count == 0:
            yield Finding(
                "no-unit-fits",
                "error",
                walk.path.spec.name,
                "0 whole units",
                "at least one",
                "first principles: no unit is ever cut",
                "choose a smaller unit, another bond or direction, or widen the path",
            )
