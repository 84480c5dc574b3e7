"""Tables of an order: groups, tax, leftovers, loads, published figures (layer: outputs)."""

from __future__ import annotations

from bedplan.outputs.table import Column, Row, Table, mass, money, named
from bedplan.plan import Plan
from bedplan.practice.goods import beside_published
from bedplan.takeoff.haul import Load, haul
from bedplan.units import System, format_mass, format_volume


def groups_table(plan: Plan) -> Table:
    """Return what each group of the order costs, the tax, and all of it."""
    order, tax = plan.order, plan.layout.terms.tax
    rows: list[Row] = [
        (group.group, money(group.cost), str(group.missing) if group.missing else "")
        for group in order.groups
    ]
    missing = str(len(order.missing)) if order.missing else ""
    if rows:
        rows.append(("sum of the priced lines", money(order.cost), missing))
    if rows and tax:
        rows.append((f"tax {100 * tax:g} %", money(order.tax), ""))
        rows.append(("sum with tax", money(order.total), missing))
    return Table("Cost by group", named("for", "cost", "without a price"), tuple(rows))


def surplus_table(plan: Plan) -> Table:
    """Return what stays over once the work is done."""
    rows = tuple((left.item, f"{left.quantity:g}", left.unit) for left in plan.order.surplus)
    columns = (Column("item", "left"), Column("quantity"), Column("unit", "left"))
    note = "Offcuts of boards and rolls stand in the cut plans."
    return Table("Left over", columns, rows, note)


def loads_of(plan: Plan) -> tuple[Load, ...]:
    """Return what it takes to bring and to place everything of an order."""
    return haul(plan.order.lines, plan.totals, plan.layout.terms)


def loads_table(plan: Plan, show: System) -> Table:
    """Return weights, trips with the vehicle and barrow loads."""
    loads, terms = loads_of(plan), plan.layout.terms
    hauled = terms.payload_kg is not None or terms.payload_m3 is not None
    rows = [
        (
            load.item,
            mass(load.mass_kg, show),
            "" if load.volume_m3 is None else format_volume(load.volume_m3, show),
            *(("not known" if load.trips is None else str(load.trips),) if hauled else ()),
            str(load.barrows) if load.barrows else "",
        )
        for load in loads
    ]
    if hauled and rows:
        known = [load.trips for load in loads if load.trips is not None]
        rows.append(("all with a known weight", "", "", str(sum(known)), ""))
    words = ["weight", "volume", *(["trips"] if hauled else []), "barrow loads"]
    return Table("Loads", named("bought", *words), tuple(rows), _carried(plan, show))


def _carried(plan: Plan, show: System) -> str:
    terms = plan.layout.terms
    limits = [
        *([format_mass(terms.payload_kg, show)] if terms.payload_kg is not None else []),
        *([format_volume(terms.payload_m3, show)] if terms.payload_m3 is not None else []),
    ]
    trip = f"A trip carries one thing, at most {' and '.join(limits)}. " if limits else ""
    barrow = format_volume(terms.barrow_m3, show)
    return f"{trip}A barrow load is {barrow}; all that is placed is wheeled, on hand or bought."


def published_table(plan: Plan, show: System) -> Table:
    """Return compaction and weight of materials of a known kind beside the published ones."""
    rows: list[Row] = []
    for each in beside_published(plan.layout):
        for number, (words, figure) in enumerate(
            zip(each.ranges(show), each.published, strict=True)
        ):
            own = each.tell(each.own, show) if number == 0 else ""
            name = each.material if number == 0 else ""
            what = each.figure if number == 0 else ""
            rows.append((name, what, own, words, figure.source))
    columns = (
        Column("material", "left"),
        Column("figure", "left"),
        Column("the file's"),
        Column("published"),
        Column("source", "left"),
    )
    note = "Compaction is loose volume for each volume in place; weights are loose."
    return Table("Published figures beside the file's", columns, tuple(rows), note)
