"""Hints at sizes as a table and as plain data (layer: outputs)."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from bedplan.outputs.table import Column, Table
from bedplan.plan.hints import Hint, HintSearch
from bedplan.units import System, format_area, format_length


def hints_table(search: HintSearch, show: System) -> Table:
    """Return the hints of a layout, best first."""
    columns = (
        Column("change", "left"),
        Column("from"),
        Column("to"),
        Column("units"),
        Column("then"),
        Column("beds"),
        Column("in path", "left"),
    )
    note = "Each change by itself. Units +0: no unit is lost, and the margin at that side is gone."
    if not search.complete:
        note += " Time ran out: there may be more; give --seconds."
    rows = tuple(_row(hint, show) for hint in search.hints)
    return Table("Size hints", columns, rows, note)


def _row(hint: Hint, show: System) -> tuple[str, ...]:
    sign = "-" if hint.bed_area_m2 < 0 else "+"
    return (
        f"{hint.name}: {hint.key}",
        format_length(hint.from_m, show),
        format_length(hint.to_m, show),
        f"+{hint.gained}",
        str(hint.count),
        sign + format_area(abs(hint.bed_area_m2), show),
        hint.path,
    )


def hints_record(search: HintSearch) -> dict[str, Any]:
    """Return hints as plain data in SI units, for ``--json``."""
    return {"hints": [asdict(hint) for hint in search.hints], "complete": search.complete}
