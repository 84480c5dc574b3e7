"""A set-out as tables with a box to tick in every row (layer: outputs).

Public entry point: `setout_tables`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bedplan.outputs.table import Column, Row, Table
from bedplan.plan.setting_out import CourseLines, Group, RoundBed, SetOut
from bedplan.survey import Frame, Stake, StringLine
from bedplan.survey.stakes import LEAST_CROSSING_DEG
from bedplan.survey.strings import Span, StringEnd
from bedplan.units import System, format_length

BOX: Final = "☐"
"""What the first cell of a row begins with that is to be ticked off."""

HOW: Final = (
    "Hold a tape to each of the first two marks; the stake is where both figures meet, on the "
    "hand told for someone looking from the first mark to the second. The check must read as told."
)


def setout_tables(out: SetOut, show: System) -> tuple[Table, ...]:
    """Return every table of a set-out that has a row, in the order of the work."""
    made = [
        *(_stakes_table(group, show) for group in out.groups),
        _rounds_table(out.rounds, show),
        _frames_table(out.frames, show),
        _strings_table(out.strings, show),
        *(_courses_table(courses, show) for courses in out.courses),
    ]
    return tuple(table for table in made if table.rows)


def _left(*words: str) -> tuple[Column, ...]:
    return tuple(Column(word, "left") for word in words)


def _box(name: str) -> str:
    return f"{BOX} {name}"


def _stakes_table(group: Group, show: System) -> Table:
    rows = tuple(_stake_row(stake, show) for stake in group.stakes)
    title = group.what[:1].upper() + group.what[1:]
    columns = (
        *_left("stake"),
        *map(Column, ("tie", "and tie", "lies", "check", "or along", "in")),
        Column("mind", "left"),
    )
    if not any(row[-1] for row in rows):
        columns, rows = columns[:-1], tuple(row[:-1] for row in rows)
    return Table(title, columns, rows)


def _stake_row(stake: Stake, show: System) -> Row:
    first, second = stake.ties
    beside = stake.beside
    return (
        _box(stake.name),
        f"{first.mark} {format_length(first.tape_m, show)}",
        f"{second.mark} {format_length(second.tape_m, show)}",
        f"{stake.hand} {first.mark}→{second.mark}",
        f"{stake.check.mark} {format_length(stake.check.tape_m, show)}" if stake.check else "–",
        f"{beside.side} {format_length(beside.along.tape_m, show)}" if beside else "–",
        format_length(beside.in_tape_m, show) if beside else "–",
        ", ".join(_cautions(stake)),
    )


def _cautions(stake: Stake) -> Iterator[str]:
    """Yield what makes a stake harder to find: a blocked or long tie, ties that cross flat."""
    if not stake.clear:
        yield "tape not clear"
    if not LEAST_CROSSING_DEG <= stake.crossing_deg <= 180.0 - LEAST_CROSSING_DEG:
        yield "ties cross flat"


def _rounds_table(rounds: tuple[RoundBed, ...], show: System) -> Table:
    rows = tuple(
        (_box(each.bed), each.centre, format_length(each.radius_m, show)) for each in rounds
    )
    return Table("Round beds", _left("bed", "swing from", "radius"), rows)


def _frames_table(frames: tuple[tuple[str, Frame], ...], show: System) -> Table:
    rows = [row for bed, frame in frames for row in _frame_rows(bed, frame, show)]
    return Table("Sides and diagonals", _left("bed", "from", "to", "tape", ""), tuple(rows))


def _frame_rows(bed: str, frame: Frame, show: System) -> Iterator[Row]:
    for span in frame.sides:
        yield _span_row(bed, span, "side", show)
    equal = ", both alike" if frame.square else ""
    for span in frame.diagonals:
        yield _span_row(bed, span, f"diagonal{equal}", show)


def _span_row(bed: str, span: Span, what: str, show: System) -> Row:
    return (_box(bed), span.first, span.second, format_length(span.tape_m, show), what)


def _strings_table(strings: tuple[StringLine, ...], show: System) -> Table:
    rows = tuple((_box(line.name), *(_end(end, show) for end in line.ends)) for line in strings)
    return Table("Strings", _left("over", "tied on side", "and on side"), rows)


def _end(end: StringEnd, show: System) -> str:
    return f"{end.side}, {format_length(end.tape_m, show)} from {end.corner}"


def _courses_table(courses: CourseLines, show: System) -> Table:
    """Return how far each course's near edge is from the first: one running figure a course."""
    rows = tuple(
        (_box(str(number)), format_length(gauge_m, show))
        for number, gauge_m in enumerate(courses.gauge_m, start=1)
    )
    return Table(
        f"Courses of {courses.walk}",
        _left("course", f"near edge from the line {courses.start} to {courses.end}"),
        rows if len(rows) > 1 else (),
    )
