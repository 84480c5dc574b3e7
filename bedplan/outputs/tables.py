"""A plan as tables of text, in the units people read (layer: outputs).

What stands in a table is decided here; `text` and the file writers only set it.
Public entry point: `tables`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from bedplan.edging import Piece
from bedplan.model.materials import Material
from bedplan.plan import BarrierPlan, BoardPlan, Plan, Walk
from bedplan.plan.choices import Choice
from bedplan.takeoff.loose import bags_for
from bedplan.takeoff.order import bag_size
from bedplan.units import (
    FOOT3_M3,
    YARD3_M3,
    System,
    format_area,
    format_length,
    format_mass,
    format_volume,
    nanometres,
)

Align = Literal["left", "right"]
Row = tuple[str, ...]


@dataclass(frozen=True)
class Column:
    """A column's heading and which way it is set."""

    heading: str
    align: Align = "right"


@dataclass(frozen=True)
class Table:
    """A titled table of texts; `note` stands below it."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""


def tables(plan: Plan) -> tuple[Table, ...]:
    """Return every table of a plan that has a row, in the order of the work."""
    show = plan.layout.show
    made = [_ground(plan, show), _beds(plan, show), _paths(plan, show)]
    for part in plan.boards:
        made += [_pieces(part, show), _cut_plan(part, show)]
    made += [_barrier(part, show) for part in plan.barriers]
    made += [
        _fill(plan, show),
        _totals(plan, show),
        order_table(plan),
        findings_table(plan),
        cautions_table(plan),
    ]
    return tuple(table for table in made if table.rows)


def _named(heading: str, *rest: str) -> tuple[Column, ...]:
    return (Column(heading, "left"), *(Column(word) for word in rest))


def _ground(plan: Plan, show: System) -> Table:
    site = plan.site
    beds = sum(bed.outline.area for bed in site.beds)
    paths = sum(path.area.area for path in site.paths)
    rows = [
        ("beds", beds),
        ("paths", paths),
        ("neither", float(site.spare.area)),
        ("inside the fence", site.enclosure.area_m2),
    ]
    note = f"Fence line {format_length(site.enclosure.perimeter_m, show)} round."
    return Table(
        "Ground",
        _named("", "area", "share"),
        tuple(
            (name, format_area(area, show), f"{area / site.enclosure.area_m2:.0%}")
            for name, area in rows
        ),
        note,
    )


def _beds(plan: Plan, show: System) -> Table:
    rows = []
    for bed, edged in zip(plan.site.beds, plan.edging, strict=True):
        mulch = [
            line for line in plan.fill if line.where == bed.spec.name and line.kind == "mulch"
        ]
        rows.append(
            (
                bed.spec.name,
                format_area(bed.outline.area, show),
                format_area(edged.planting.area, show),
                format_length(edged.length_m, show) if edged.runs else "none",
                format_volume(mulch[0].loose_m3, show) if mulch else "none",
            )
        )
    return Table("Beds", _named("bed", "outline", "planting", "edging", "mulch"), tuple(rows))


def _paths(plan: Plan, show: System) -> Table:
    rows = [_path_row(walk, plan, show) for walk in plan.walks]
    note = (
        "So turned: no layout of whole units all turned like these holds more. At all: no "
        "layout of whole units whatever does. Open: joints and margins, filled with stone."
        if any(walk.paver for walk in plan.walks)
        else ""
    )
    return Table(
        "Paths",
        _named(
            "path",
            "area",
            "units",
            "most so turned",
            "most at all",
            "bond",
            "courses",
            "joint",
            "open",
        ),
        tuple(rows),
        note,
    )


def _path_row(walk: Walk, plan: Plan, show: System) -> Row:
    area = format_area(walk.path.area.area, show)
    if walk.paver is None or walk.path.spec.paving is None:
        return (walk.path.spec.name, area, *[""] * 7)
    ways = list(
        dict.fromkeys(direction_words(plan, laying.direction_deg) for laying in walk.layings)
    )
    return (
        walk.path.spec.name,
        area,
        str(walk.count),
        str(walk.line_bound),
        str(walk.upper_bound),
        walk.path.spec.paving.bond,
        ", ".join(ways),
        _joints(walk, show),
        format_area(walk.open_area_m2, show),
    )


def _joints(walk: Walk, show: System) -> str:
    return ", ".join(sorted({format_length(laying.joint_m, show, 32) for laying in walk.layings}))


def direction_words(plan: Plan, direction_deg: float) -> str:
    """Return a direction as ``along AB`` or ``square to AB`` where a side has it, else degrees."""
    for side in plan.site.enclosure.sides:
        apart = (direction_deg - side.direction_deg) % 180.0
        if min(apart, 180.0 - apart) < 0.005:
            return f"along {side.name}"
        if abs(apart - 90.0) < 0.005:
            return f"square to {side.name}"
    return f"{direction_deg % 180.0:.1f}°"


def _pieces(part: BoardPlan, show: System) -> Table:
    rows = tuple(
        (
            piece.label,
            piece.bed,
            format_length(piece.long_m, show),
            format_length(piece.short_m, show),
            _end(piece, 0),
            _end(piece, 1),
        )
        for piece in part.pieces
    )
    columns = (
        Column("piece", "left"),
        Column("bed", "left"),
        Column("long point"),
        Column("short point"),
        Column("first end", "left"),
        Column("last end", "left"),
    )
    return Table(
        f"Edging pieces, {part.board.name}",
        columns,
        rows,
        "Saw settings as a mitre saw reads them, 0° square. Piece 2.3a is bed 2, run 3, "
        "first length of a splice; runs are numbered with the bed on the left.",
    )


def _end(piece: Piece, which: int) -> str:
    end = piece.ends[which]
    return f"{end.joint} {end.saw_deg:.1f}°"


def _cut_plan(part: BoardPlan, show: System) -> Table:
    """Set every board with its pieces by label, alike boards on one row each."""
    waiting: dict[int, list[str]] = {}
    for piece in part.pieces:
        waiting.setdefault(nanometres(piece.long_m), []).append(piece.label)
    rows = []
    for number, board in enumerate(part.cut.boards, start=1):
        cuts = ", ".join(
            f"{waiting[length].pop(0)} ({format_length(length * 1e-9, show)})"
            for length in board.pieces
        )
        rows.append(
            (
                str(number),
                format_length(board.stock_length * 1e-9, show),
                "on hand" if board.on_hand else "buy",
                cuts,
                format_length(board.offcut * 1e-9, show),
            )
        )
    columns = (
        Column("board"),
        Column("length"),
        Column("from", "left"),
        Column("saw in this order", "left"),
        Column("offcut"),
    )
    return Table(f"Cut plan, {part.board.name}", columns, tuple(rows), _proof(part))


def _proof(part: BoardPlan) -> str:
    what = f"{part.cut.cost:.2f}" if part.cut.cost is not None else "cost unknown"
    if part.cut.proven:
        return f"{what}: proven, no plan costs less."
    return f"{what}: no plan costs less than {part.cut.lower_bound:.2f}."


def _barrier(part: BarrierPlan, show: System) -> Table:
    rows: list[Row] = []
    for number, laying in enumerate(part.layings, start=1):
        lengths = Counter(
            format_length(length, show) for strip in laying.strips for length in strip.pieces_m
        )
        strips = ", ".join(
            f"{count} × {length}" if count > 1 else length for length, count in lengths.items()
        )
        rows.append(
            (
                str(number),
                format_area(laying.net_area_m2, show),
                format_area(laying.fabric_area_m2, show),
                strips,
            )
        )
    columns = (Column("area"), Column("to cover"), Column("fabric"), Column("strips", "left"))
    pins = f" {part.pins} pins." if part.pins else ""
    return Table(
        f"Weed barrier, {part.fabric.name}",
        columns,
        tuple(rows),
        f"Lap {format_length(part.fabric.lap_m, show)}, turned up "
        f"{format_length(part.fabric.turn_up_m, show)} at edges.{pins}",
    )


def _fill(plan: Plan, show: System) -> Table:
    rows: list[Row] = [
        (
            line.material,
            line.where,
            line.kind,
            format_area(line.area_m2, show),
            format_length(line.depth_m, show),
            format_volume(line.in_place_m3, show),
            format_volume(line.loose_m3, show),
            _mass(line.mass_kg, show),
        )
        for line in plan.fill
    ]
    columns = (
        Column("material", "left"),
        Column("where", "left"),
        Column("as", "left"),
        Column("area"),
        Column("depth"),
        Column("in place"),
        Column("loose"),
        Column("weight"),
    )
    return Table("Fill", columns, tuple(rows))


def _totals(plan: Plan, show: System) -> Table:
    rows = tuple(
        (
            total.material,
            format_volume(total.in_place_m3, show),
            f"{total.loose_m3 / YARD3_M3:.2f}",
            f"{total.loose_m3 / FOOT3_M3:.1f}",
            f"{total.loose_m3:.3f}",
            _mass(total.mass_kg, show),
            _as_bags(plan.layout.materials[total.material], total.loose_m3, show),
        )
        for total in plan.totals
    )
    columns = (
        *_named("material", "in place", "loose yd^3", "ft^3", "m^3", "weight"),
        Column("all in bags", "left"),
    )
    return Table("Fill, all of each material", columns, rows)


def _as_bags(material: Material, loose_m3: float, show: System) -> str:
    """Return how many bags of each size would hold it all; what to buy stands in the order."""
    return " or ".join(
        f"{bags_for(loose_m3, bag)} × {bag_size(bag, show)}" for bag in material.bags
    )


def _mass(mass_kg: float | None, show: System) -> str:
    return "no density" if mass_kg is None else format_mass(mass_kg, show)


def choices_table(path: str, made: Sequence[Choice], show: System) -> Table:
    """Return every unit and bond for one path side by side, the file's own marked."""
    rows = tuple(
        (
            choice.paver,
            choice.bond,
            str(choice.walk.count),
            str(choice.walk.line_bound),
            f"{choice.cover:.0%}",
            _joints(choice.walk, show),
            _money(choice.cost),
            "no weight" if choice.weight_kg is None else format_mass(choice.weight_kg, show),
            "in the file" if choice.chosen else "",
        )
        for choice in made
    )
    columns = (
        Column("unit", "left"),
        Column("bond", "left"),
        Column("count"),
        Column("most so turned"),
        Column("cover"),
        Column("joint"),
        Column("cost"),
        Column("weight"),
        Column("", "left"),
    )
    return Table(
        f"Choices for {path}",
        columns,
        rows,
        "Cover: share of the path's ground under units. Cost: units to buy after those on hand.",
    )


def order_table(plan: Plan) -> Table:
    """Return the order, with its sum and whatever has no price."""
    rows = [
        (line.group, line.item, f"{line.quantity:g}", line.unit, _money(line.cost), line.note)
        for line in plan.order.lines
    ]
    rows.append(("", "sum of the priced lines", "", "", _money(plan.order.cost), ""))
    columns = (
        Column("for", "left"),
        Column("item", "left"),
        Column("quantity"),
        Column("unit", "left"),
        Column("cost"),
        Column("note", "left"),
    )
    missing = f"No price for: {', '.join(plan.order.missing)}." if plan.order.missing else ""
    return Table(
        "Order, after what is on hand", columns, tuple(rows) if plan.order.lines else (), missing
    )


def _money(cost: float | None) -> str:
    return "no price" if cost is None else f"{cost:.2f}"


def findings_table(plan: Plan) -> Table:
    """Return every finding with its limit, its source and its remedy."""
    rows = tuple(
        (
            f"{finding.severity}: {finding.rule}",
            finding.where,
            f"{finding.figure}; {finding.limit}",
            finding.remedy,
            finding.source,
        )
        for finding in plan.findings
    )
    words: Sequence[str] = ("finding", "where", "is; should be", "remedy", "source")
    return Table("Findings", tuple(Column(word, "left") for word in words), rows)


def cautions_table(plan: Plan) -> Table:
    """Return the cautions that bear on this plan."""
    return Table(
        "Cautions",
        (Column("on", "left"), Column("mind", "left"), Column("source", "left")),
        tuple(_caution_rows(plan)),
    )


def _caution_rows(plan: Plan) -> Iterator[Row]:
    return ((caution.topic, caution.text, caution.source) for caution in plan.cautions)
