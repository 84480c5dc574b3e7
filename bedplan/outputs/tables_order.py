"""Tables of fill, the order, findings and cautions (layer: outputs)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bedplan.model.materials import Material
from bedplan.outputs.table import Column, Row, Table, mass, money, named
from bedplan.plan import Plan
from bedplan.takeoff.fill import FillLine
from bedplan.takeoff.loose import bags_for
from bedplan.takeoff.loose_lines import bag_size
from bedplan.units import FOOT3_M3, YARD3_M3, System, format_area, format_length, format_volume


def fill_table(plan: Plan, show: System) -> Table:
    """Return every layer of every bed and path."""
    rows: list[Row] = [
        (
            line.material,
            line.where,
            line.kind,
            format_area(line.area_m2, show),
            _depth(line, show),
            format_volume(line.in_place_m3, show),
            format_volume(line.loose_m3, show),
            mass(line.mass_kg, show),
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


def _depth(line: FillLine, show: System) -> str:
    """Return a finished depth; how deep it is laid to settle to it, and in how many lifts."""
    words = [format_length(line.depth_m, show)]
    if line.laid_m > line.depth_m:
        words.append(f"laid {format_length(line.laid_m, show)}")
    if line.there_m:
        words.append(f"{format_length(line.there_m, show)} there")
    if line.lifts > 1:
        words.append(f"{line.lifts} lifts")
    return ", ".join(words)


def totals_table(plan: Plan, show: System) -> Table:
    """Return the total of every material, in all the units it is sold by."""
    rows = tuple(
        (
            total.material,
            format_volume(total.in_place_m3, show),
            f"{total.loose_m3 / YARD3_M3:.2f}",
            f"{total.loose_m3 / FOOT3_M3:.1f}",
            f"{total.loose_m3:.3f}",
            mass(total.mass_kg, show),
            _as_bags(plan.layout.materials[total.material], total.loose_m3, show),
        )
        for total in plan.totals
    )
    columns = (
        *named("material", "in place", "loose yd^3", "ft^3", "m^3", "weight"),
        Column("all in bags", "left"),
    )
    return Table("Fill, all of each material", columns, rows)


def _as_bags(material: Material, loose_m3: float, show: System) -> str:
    """Return how many bags of each size would hold it all; what to buy stands in the order."""
    return " or ".join(
        f"{bags_for(loose_m3, bag)} × {bag_size(bag, show)}" for bag in material.bags
    )


def order_table(plan: Plan) -> Table:
    """Return the order, with its sum and whatever has no price."""
    rows = [
        (line.group, line.item, f"{line.quantity:g}", line.unit, money(line.cost), line.note)
        for line in plan.order.lines
    ]
    rows.append(("", "sum of the priced lines", "", "", money(plan.order.cost), ""))
    if tax := plan.layout.terms.tax:
        words = f"tax {100 * tax:g} %"
        rows.append(("", words, "", "", money(plan.order.tax), ""))
        rows.append(("", "sum with tax", "", "", money(plan.order.total), ""))
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
