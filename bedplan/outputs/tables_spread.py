"""How far a heap goes, as a table and in words (layer: outputs)."""

from __future__ import annotations

from bedplan.outputs.table import Column, Table
from bedplan.plan import Plan
from bedplan.takeoff.spreading import Spread
from bedplan.units import format_area, format_length, format_volume


def spread_table(plan: Plan, heap: Spread) -> Table:
    """Return every layer of a heap's material with what the heap does there."""
    show = plan.layout.show
    rows = tuple(
        (
            line.where,
            line.kind,
            format_area(line.area_m2, show),
            format_length(line.depth_m, show),
            format_volume(line.loose_m3, show),
            format_area(area_m2, show),
            format_length(line.there_m + heap.even_m, show),
        )
        for line, area_m2 in heap.layers
    )
    columns = (
        Column("where", "left"),
        Column("as", "left"),
        Column("area"),
        Column("set depth"),
        Column("needs loose"),
        Column("filled in turn"),
        Column("depth if even"),
    )
    return Table(f"A heap of {heap.material}", columns, rows)


def spread_words(plan: Plan, heap: Spread) -> str:
    """Return in a sentence or two how far a heap goes."""
    show = plan.layout.show
    volume = format_volume(heap.heap_m3, show)
    if not heap.layers:
        return f"{volume} of {heap.material}: no bed and no path uses it."
    told = format_volume(abs(heap.short_m3), show)
    rest = f"{told} more are needed" if heap.short_m3 > 0.0 else f"{told} stay over"
    return (
        f"{volume} of {heap.material} over {format_area(heap.area_m2, show)}: "
        f"{format_length(heap.even_m, show)} if spread evenly. At the set depths {rest}."
    )
