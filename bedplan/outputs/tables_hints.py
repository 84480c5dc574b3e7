"""Hints at sizes as a table and as plain data (layer: outputs)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
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
        Column("margin"),
        Column("in path", "left"),
    )
    note = (
        "Each change by itself, up to one unit and its joint. Units +0: the path gives ground up "
        "and keeps every unit; margin: what is left then at the border that moves."
    )
    rows = tuple(_row(hint, show) for hint in search.hints)
    return Table("Size hints", columns, rows, " ".join([note, *hint_notes(search)]))


def hint_notes(search: HintSearch) -> Iterator[str]:
    """Yield sentences that say what the search did not look at, or not closely."""
    if not search.complete:
        yield "Time ran out: there may be more; give --seconds."
    if search.tried:
        named = ", ".join(dict.fromkeys(f"{name}: {key}" for _, name, key in search.tried))
        yield f"Only some sizes were tried, and gains between them may be missed, of {named}."
    if search.freely:
        named = ", ".join(search.freely)
        yield f"Laid freely in the file, in courses for these hints: {named}."
    reasons = defaultdict(list)
    for each in search.left_out:
        reasons[each.why].append(each.name)
    for why, names in reasons.items():
        yield f"Left out: {', '.join(dict.fromkeys(names))} ({why})."


def _row(hint: Hint, show: System) -> tuple[str, ...]:
    return (
        f"{hint.name}: {hint.key}",
        format_length(hint.from_m, show),
        format_length(hint.to_m, show),
        f"+{hint.gained}",
        str(hint.count),
        _change(hint.bed_area_m2, show),
        "" if hint.margin_m is None else format_length(hint.margin_m, show),
        hint.path,
    )


def _change(area_m2: float, show: System) -> str:
    return ("-" if area_m2 < 0 else "+") + format_area(abs(area_m2), show)


def hints_record(search: HintSearch) -> dict[str, Any]:
    """Return hints as plain data in SI units, for ``--json``."""
    return {
        "hints": [asdict(hint) for hint in search.hints],
        "complete": search.complete,
        "tried": [{"path": path, "name": name, "key": key} for path, name, key in search.tried],
        "freely": list(search.freely),
        "left_out": [asdict(each) for each in search.left_out],
    }
