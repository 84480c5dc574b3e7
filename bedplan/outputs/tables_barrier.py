"""Strips of weed barrier in the order they are laid, and openings in them (layer: outputs)."""

from __future__ import annotations

from bedplan.outputs.table import Column, Table
from bedplan.plan import BarrierPlan, Plan
from bedplan.plan.openings import OPENING_SOURCE, barrier_openings
from bedplan.plan.shingling import LaidArea, laid_areas
from bedplan.practice.ground import percent
from bedplan.units import format_length


def strips_table(plan: Plan, part: BarrierPlan) -> Table:
    """Return every strip of one fabric in the order it is laid: what it lies on, its pieces."""
    show = plan.layout.show
    areas = tuple(laid_areas(plan, part))
    rows = tuple(
        (
            str(area.area),
            str(laid.order),
            str(laid.strip.number),
            " and ".join(map(str, laid.over)),
            format_length(laid.strip.length_m, show),
            " + ".join(format_length(piece, show) for piece in laid.pieces_m),
            str(len(laid.pieces_m) - 1) if len(laid.pieces_m) > 1 else "",
        )
        for area in areas
        for laid in area.strips
    )
    columns = (
        Column("area"),
        Column("laid"),
        Column("strip"),
        Column("on top of"),
        Column("covers"),
        Column("cut", "left"),
        Column("end laps"),
    )
    lap, up = (format_length(each, show) for each in (part.fabric.lap_m, part.fabric.turn_up_m))
    note = (
        f"Lay them in this order, each {lap} over its neighbour; end laps are {lap} too. "
        f"The lengths hold {up} turned up at both ends."
    )
    words = " ".join([note, *(shingle_words(area) for area in areas if area.way != "as numbered")])
    return Table(f"Strips in laying order, {part.fabric.name}", columns, rows, words)


def shingle_words(area: LaidArea) -> str:
    """Return how the strips of a sloping area are laid so that water runs over their laps."""
    falls = "does not lie level" if area.fall_deg is None else f"falls {percent(area.slope)}"
    words = f"Area {area.area} {falls}"
    if any(laid.over for laid in area.strips):
        words += {
            "shingled": ": begin at the low side, each strip on top of those "
            "below it, so that water runs over the laps",
            "down the slope": ": laps run down the slope and take water from neither side",
            "as numbered": "",
        }[area.way]
    if any(len(laid.pieces_m) > 1 for laid in area.strips):
        words += "; cut lengths begin at the low end, the upper on top at every end lap"
    return words + "."


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
