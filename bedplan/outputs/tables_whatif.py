"""Variants of a layout side by side, as a table and as plain data (layer: outputs).

Public entry points: `whatif_table`, `whatif_record`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from bedplan.outputs.scene_lettering import clean
from bedplan.outputs.table import Column, Row, Table, money
from bedplan.outputs.whatif_axes import told_in
from bedplan.plan.whatif import Comparison, Quantity, Trial, quantities
from bedplan.units import System


def told(value: float | None, quantity: Quantity, show: System) -> str:
    """Return one figure of a quantity in words; a dash where there is none."""
    if value is None:
        return "–"
    match quantity.kind:
        case "count":
            return f"{value:.0f}"
        case "volume":
            unit, size = told_in(quantity, show)
            return f"{value / size:.{1 if unit == 'L' else 2}f}"
        case "money":
            return money(value)


def whatif_table(made: Comparison) -> Table:
    """Return one row a variant, the file as it is first; what stays alike is noted."""
    figures = quantities(made.trials)
    moving = [each for each in figures if each.changes]
    remarks = [_remark(made, trial) for trial in made.trials]
    rows = [_row(made, number, moving) for number in range(len(made.trials))]
    columns = [
        *(
            Column(short(setting.key).replace(".", "\n"), "right" if number else "left")
            for number, setting in enumerate(made.settings)
        ),
        *(Column(_heading(each, made.show)) for each in moving),
    ]
    if any(remarks):
        columns.append(Column("remark", "left"))
        rows = [(*row, remark[0]) for row, remark in zip(rows, _numbered(remarks), strict=True)]
    notes = [" ".join(_notes(made, figures))]
    notes += [
        f"{mark}: {said.partition(': ')[2]}"
        for mark, said in dict.fromkeys(_numbered(remarks))
        if said
    ]
    return Table("What if", tuple(columns), tuple(rows), "\n".join(notes))


def _heading(quantity: Quantity, show: System) -> str:
    """Return a heading on short lines, with the unit if the figures have one."""
    unit, _ = told_in(quantity, show)
    words = re.sub(r",? ", "\n", quantity.name)
    return f"{words}\n{unit}" if unit else words


def short(key: str) -> str:
    """Return a key path without the kind of its table: ``walk.bond`` of ``path.walk.bond``."""
    return clean(key.partition(".")[2] or key)


def _numbered(remarks: list[str]) -> list[tuple[str, str]]:
    """Return mark and words of every remark, alike ones under one mark; empty where none is."""
    marks = {said: number for number, said in enumerate(dict.fromkeys(filter(None, remarks)), 1)}
    return [(f"{said.partition(':')[0]} {marks[said]}" if said else "", said) for said in remarks]


def _row(made: Comparison, number: int, moving: list[Quantity]) -> Row:
    trial = made.trials[number]
    words = [
        clean(setting.word(value)) for setting, value in zip(made.settings, trial.way, strict=True)
    ]
    if made.in_file(trial):
        words[0] += " *"
    return (*words, *(told(each.values[number], each, made.show) for each in moving))


def _remark(made: Comparison, trial: Trial) -> str:
    """Return the fault of a variant, or what it lacks prices for that the file as it is has."""
    if trial.figures is None:
        return f"fault: {clean(trial.fault)}"
    first = made.trials[0].figures
    known = first.missing if first is not None else ()
    more = [name for name in trial.figures.missing if name not in known]
    return f"no price: {', '.join(more)}" if more else ""


def _notes(made: Comparison, figures: tuple[Quantity, ...]) -> Iterator[str]:
    yield "* the file as it is."
    alike = [each for each in figures if not each.changes and each.known]
    if alike:
        words = (
            f"{each.name} {told(each.known[0], each, made.show)} {told_in(each, made.show)[0]}"
            for each in alike
        )
        yield f"The same in all: {'; '.join(map(str.strip, words))}."
    first = made.trials[0].figures if made.trials else None
    if first is not None and first.missing:
        yield f"No price for: {', '.join(first.missing)}."
    if not made.complete:
        yield f"Stopped after {len(made.trials) - 1} of {made.wanted} variants."


def whatif_record(made: Comparison) -> dict[str, Any]:
    """Return variants as plain data in SI units, for ``--json``."""
    return {
        "title": made.title,
        "settings": [
            {"key": each.key, "in_file": each.now or None, "values": list(each.shown)}
            for each in made.settings
        ],
        "variants": [_trial_record(made, trial) for trial in made.trials],
        "same": [each.name for each in quantities(made.trials) if not each.changes],
        "complete": made.complete,
    }


def _trial_record(made: Comparison, trial: Trial) -> dict[str, Any]:
    figures = trial.figures
    return {
        "settings": {
            setting.key: setting.now or None if number is None else setting.shown[number]
            for setting, number in zip(made.settings, trial.way, strict=True)
        },
        "in_file": made.in_file(trial),
        "units": figures and figures.units,
        "boards": figures and figures.boards,
        "loose_m3": figures and figures.loose_m3,
        "cost": figures and figures.cost,
        "missing_prices": figures and list(figures.missing),
        "to_settle": figures and figures.to_settle,
        "fault": trial.fault or None,
    }
