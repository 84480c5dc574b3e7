"""The build order in words, as pages to tick off and as plain data (layer: outputs).

Public entry points: `steps_text`, `steps_sheets`, `steps_record`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import zip_longest
from typing import Any, Final

from bedplan.outputs.scene import Scene
from bedplan.outputs.scene_lettering import clean
from bedplan.outputs.table import Column, Row, Table
from bedplan.outputs.tables_setout import BOX
from bedplan.outputs.ticked_pages import ticked_pages
from bedplan.plan import Plan
from bedplan.plan.steps import BuildStep, Check, Quantity
from bedplan.units import System, format_area, format_length, format_volume

WIDE: Final = 100
"""Characters of a line on the screen."""

CELL: Final = 50
"""Characters of one line of a cell on paper; longer words run on in the next row."""

FOOT: Final = (
    "Local codes, permits and licensed professionals come before anything written here. Finish "
    'the steps named under "after" first; do not pass a figure that fails its check.'
)


def steps_text(plan: Plan, steps: Sequence[BuildStep]) -> str:
    """Return the steps numbered, with quantities, tools, checks, and the cautions in full."""
    numbers = _numbers(steps)
    blocks = ["\n".join(_step_lines(step, numbers, plan.layout.show)) for step in steps]
    minded = [
        _wrapped(f"{each.topic}: ", f"{each.text} ({each.source})", 2) for each in plan.cautions
    ]
    return "\n\n".join([*blocks, "\n".join(["What to mind", *minded])])


def _numbers(steps: Sequence[BuildStep]) -> dict[str, int]:
    return {step.key: number for number, step in enumerate(steps, start=1)}


def _step_lines(step: BuildStep, numbers: dict[str, int], show: System) -> Iterator[str]:
    yield _wrapped(f"{numbers[step.key]:3}. ", f"{step.title} – {step.where}", 0)
    parts = (
        ("takes", _takes(step, show)),
        ("tools", ", ".join(step.tools)),
        ("after", _after(step, numbers)),
        *(
            ("check", f"{each.what}: {_allowed(each, show)} [{each.source}]")
            for each in step.checks
        ),
        ("mind", ", ".join(step.cautions)),
    )
    yield from (_wrapped(f"{word}: ", words, 5) for word, words in parts if words)


def _wrapped(head: str, words: str, indent: int) -> str:
    lead = " " * indent + head
    return textwrap.fill(
        words,
        WIDE,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_on_hyphens=False,
    )


def _after(step: BuildStep, numbers: dict[str, int]) -> str:
    return ", ".join(str(number) for number in sorted(numbers[key] for key in step.before))


def _takes(step: BuildStep, show: System) -> str:
    """Return what a step takes; what lies in place is told in brackets after what comes loose."""
    words: list[str] = []
    placed = [each for each in step.quantities if each.kind == "in place"]
    for each in step.quantities:
        mine = [other for other in placed if other.name == each.name]
        if each.kind == "loose" and mine:
            told = format_volume(sum(other.amount for other in mine), show)
            words.append(f"{format_volume(each.amount, show)} of {each.name} ({told} in place)")
            placed = [other for other in placed if other.name != each.name]
        elif each.kind != "in place" or each in placed:
            words.append(_quantity(each, show))
    return ", ".join(words)


def _quantity(each: Quantity, show: System) -> str:
    match each.kind:
        case "count":
            return f"{each.name}: {each.amount:.0f}"
        case "length":
            return f"{format_length(each.amount, show)} of {each.name}"
        case "area":
            return f"{format_area(each.amount, show)} of {each.name}"
        case _:
            return f"{format_volume(each.amount, show)} of {each.name} ({each.kind})"


def _allowed(check: Check, show: System) -> str:
    """Return what a figure should be, and how far it may be off."""

    def told(figure: float) -> str:
        return _figure(figure, check, show)

    figure, least, most = check.figure, check.least, check.most
    if figure is None:
        return _between(
            None if least is None else told(least), None if most is None else told(most)
        )
    if least is None or most is None:
        return told(figure) + (", no less" if least == figure else "")
    off = (figure - least, most - figure)
    if max(off) <= 0.0:
        return told(figure)
    if abs(off[0] - off[1]) <= 1e-9:
        return f"{told(figure)} ± {told(off[1])}"
    return f"{told(figure)} ({told(least)} to {told(most)})"


def _figure(figure: float, check: Check, show: System) -> str:
    if check.kind == "count":
        return f"{figure:.0f}"
    if check.kind == "slope":
        return f"{100 * figure:.1f} %"
    return format_length(figure, show)


def _between(least: str | None, most: str | None) -> str:
    if least is None and most is None:
        return ""
    if most is None:
        return f"at least {least}"
    if least is None:
        return f"at most {most}"
    return least if least == most else f"{least} to {most}"


def steps_sheets(plan: Plan, steps: Sequence[BuildStep], sheet: str) -> list[Scene]:
    """Return the steps, their checks and the cautions as pages to tick off.

    Raises
    ------
    OutputError
        If there is no such sheet.
    """
    title = clean(plan.layout.title)
    return ticked_pages(title, "build order", steps_tables(plan, steps), FOOT, sheet)


def steps_tables(plan: Plan, steps: Sequence[BuildStep]) -> tuple[Table, ...]:
    """Return the steps with what they take, what to check at each, tools, and the cautions."""
    show, numbers = plan.layout.show, _numbers(steps)
    left = [Column(word, "left") for word in ("", "step", "where", "takes", "after", "mind")]
    rows = [row for step in steps for row in _step_rows(step, numbers, show)]
    checks = [row for step in steps for row in _check_rows(step, numbers, show)]
    checked = [Column(word, "left") for word in ("step", "measure", "figure", "limits from")]
    minded = [
        row
        for each in plan.cautions
        for row in _rows((each.topic, f"{each.text} ({each.source})"), (20, 130))
    ]
    made = (
        Table("Build order", tuple(left), tuple(rows)),
        Table("What to check", tuple(checked), tuple(checks)),
        Table("Tools", (Column("tool", "left"), Column("steps", "left")), _tool_rows(steps)),
        Table("What to mind", (Column("", "left"), Column("", "left")), tuple(minded)),
    )
    return tuple(table for table in made if table.rows)


def _tool_rows(steps: Sequence[BuildStep]) -> tuple[Row, ...]:
    """Return every tool with the numbers of the steps it is for, in the order it is needed."""
    tools = dict.fromkeys(tool for step in steps for tool in step.tools)
    numbered = list(enumerate(steps, start=1))
    return tuple(
        row
        for tool in tools
        for row in _rows(
            (f"{BOX} {tool}", ", ".join(str(n) for n, step in numbered if tool in step.tools)),
            (60, 80),
        )
    )


def _step_rows(step: BuildStep, numbers: dict[str, int], show: System) -> Iterator[Row]:
    takes = _takes(step, show)
    cells = (
        f"{BOX} {numbers[step.key]}",
        step.title,
        step.where,
        takes,
        _after(step, numbers),
        ", ".join(step.cautions),
    )
    yield from _rows(cells, (10, CELL, 24, CELL, 8, 14))


def _check_rows(step: BuildStep, numbers: dict[str, int], show: System) -> Iterator[Row]:
    for each in step.checks:
        head = f"{BOX} {numbers[step.key]}"
        cells = (head, each.what, _allowed(each, show), each.source)
        yield from _rows(cells, (10, 60, 32, 60))


def _rows(cells: Sequence[str], widths: Sequence[int]) -> Iterator[Row]:
    """Yield a row of cells, each as many lines as it takes."""
    lines = [
        textwrap.wrap(cell, wide, break_on_hyphens=False) or [""]
        for cell, wide in zip(cells, widths, strict=True)
    ]
    yield from zip_longest(*lines, fillvalue="")


def steps_record(plan: Plan, steps: Sequence[BuildStep]) -> dict[str, Any]:
    """Return the steps in order as plain data in SI units."""
    return {
        "title": plan.layout.title,
        "steps": [asdict(step) for step in steps],
        "cautions": [asdict(each) for each in plan.cautions],
    }
