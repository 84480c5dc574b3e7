"""Strips of weed barrier in the order they are laid, and openings in them (layer: outputs)."""

from __future__ import annotations

from bedplan.outputs.table import Column, Table
from bedplan.plan import BarrierPlan, Plan
from bedplan.plan.openings import OPENING_SOURCE, barrier_openings
from bedplan.units import System, format_length


def strips_table(part: BarrierPlan, show: System) -> Table:
    """Return every strip of one fabric by number, with its pieces and what it laps over."""
    rows = tuple(
        (
            str(number),
            str(strip.number),
            format_length(strip.length_m, show),
            " + ".join(format_length(piece, show) for piece in strip.pieces_m),
            str(len(strip.pieces_m) - 1) if len(strip.pieces_m) > 1 else "",
        )
        for number, laying in enumerate(part.layings, start=1)
        for strip in laying.strips
    )
    columns = (
        Column("area"),
        Column("strip"),
        Column("covers"),
        Column("cut", "left"),
        Column("end laps"),
    )
    lap, up = (format_length(each, show) for each in (part.fabric.lap_m, part.fabric.turn_up_m))
    note = (
        f"Lay them in this order, each {lap} over its neighbour; end laps are {lap} too. "
        f"The lengths hold {up} turned up at both ends."
    )
    return Table(f"Strips in laying order, {part.fabric.name}", columns, rows, note)


def openings_table(plan: Plan, part: BarrierPlan) -> Table:
    """Return the openings in one fabric, alike ones of a kind of plant on one row."""
    counts: dict[tuple[str, ...], int] = {}
    for each in barrier_openings(plan, part):
        row = (
            str(each.area),
            each.plant,
            each.kind,
            format_length(each.width_m, plan.layout.show),
            " and ".join(map(str, each.strips)),
        )
        counts[row] = counts.get(row, 0) + 1
    rows = tuple((*row, str(count)) for row, count in counts.items())
    columns = (
        Column("area"),
        Column("plant", "left"),
        Column("opening", "left"),
        Column("width"),
        Column("in strip"),
        Column("openings"),
    )
    note = f"A ring is slit from the nearest edge of its strip. {OPENING_SOURCE}."
    return Table(f"Openings for plants, {part.fabric.name}", columns, rows, note)
