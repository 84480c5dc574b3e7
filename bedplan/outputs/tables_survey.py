"""A survey as tables: ties with residuals, corners, and what it comes to (layer: outputs).

Public entry points: `survey_tables`, `corners_table`, `survey_words`.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedplan.model.site import Enclosure
from bedplan.model.ties import TiedRing, tie_name
from bedplan.outputs.table import Column, Row, Table, named
from bedplan.plan.survey_findings import names, suspect_remedy, suspect_words, told
from bedplan.survey import CornerAngle, Mark, Survey, TieCheck
from bedplan.survey.next_tie import tie_to_add
from bedplan.survey.solve import NEAR_SQUARE_DEG
from bedplan.units import System, format_length

NOBODY = "nothing checks it"
"""Of a tie without which no other tie would notice its error."""


def survey_tables(survey: Survey, show: System) -> tuple[Table, ...]:
    """Return the ties with their residuals, the corners with their angles, and other marks."""
    count = len(survey.corners)
    made = (
        _ties_table(survey, show),
        _corners_table(survey, show),
        _marks_table(survey.marks[count:], show),
    )
    return tuple(table for table in made if table.rows)


def _ties_table(survey: Survey, show: System) -> Table:
    columns = (
        Column("tie", "left"),
        *map(Column, ("taped", "computed", "residual", "standardised", "checked")),
        Column("least error seen"),
        Column("", "left"),
    )
    note = (
        "Residual: taped less computed. Standardised: over its own standard deviation; suspect "
        "above 3.29. Checked: share of an error that the residual shows."
    )
    rows = tuple(_tie_row(check, survey, show) for check in survey.ties)
    return Table("Ties", columns, rows, note)


def _tie_row(check: TieCheck, survey: Survey, show: System) -> Row:
    suspect = survey.suspect
    remark = ""
    if suspect is not None and check.tie in (suspect.tie, *suspect.alike):
        remark = "suspect" if suspect.certain else "suspect, as others"
    return (
        check.tie.name,
        format_length(check.tie.length_m, show),
        format_length(check.computed_m, show),
        signed(check.residual_m, show),
        "–" if check.standardised is None else f"{check.standardised:+.1f}".replace("-", "−"),
        f"{100 * check.redundancy:.0f} %",
        "–" if check.visible_m is None else told(check.visible_m, show),
        NOBODY if check.standardised is None else remark,
    )


def signed(length_m: float, show: System) -> str:
    """Return a small length with its sign, ``0`` where it rounds to nothing."""
    words = told(abs(length_m), show)
    if words.split()[0].strip('"') in ("0", "0.0"):
        return "0"
    return ("+" if length_m > 0.0 else "−") + words


def _corners_table(survey: Survey, show: System) -> Table:
    pairs = zip(survey.corners, survey.marks, strict=False)
    return Table(
        "Corners",
        named("corner", "inside angle", "±", "out of square", "x", "y", "place ±"),
        tuple(_corner_row(corner, mark, show) for corner, mark in pairs),
        "Out of square is told where a corner is within "
        f"{NEAR_SQUARE_DEG:g}° of 90° or 270°. ± is one standard deviation.",
    )


def _corner_row(corner: CornerAngle, mark: Mark, show: System) -> Row:
    off = corner.off_square_deg
    return (
        corner.name,
        f"{corner.interior_deg:.2f}°",
        f"{corner.sigma_deg:.2f}°",
        "–" if off is None else f"{off:+.2f}°".replace("-", "−"),
        *_place(mark, show),
    )


def _place(mark: Mark, show: System) -> tuple[str, str, str]:
    x, y = (format_length(value, show) for value in mark.at)
    return x, y, "held" if mark.error is None else told(mark.error.semi_major_m, show)


def _marks_table(marks: tuple[Mark, ...], show: System) -> Table:
    rows = tuple((mark.name, *_place(mark, show)) for mark in marks)
    return Table("Other marks", named("mark", "x", "y", "place ±"), rows)


def corners_table(enclosure: Enclosure, show: System) -> Table:
    """Return the corners of a fence whose places are given."""
    rows = []
    for number, (name, at) in enumerate(enclosure.corners):
        angle = enclosure.interior_deg(number)
        off = min(angle - 90.0, angle - 270.0, key=abs)
        rows.append(
            (
                name,
                f"{angle:.2f}°",
                f"{off:+.2f}°".replace("-", "−") if abs(off) <= NEAR_SQUARE_DEG else "–",
                format_length(at[0], show),
                format_length(at[1], show),
            )
        )
    return Table(
        "Corners", named("corner", "inside angle", "out of square", "x", "y"), tuple(rows)
    )


def survey_words(ring: TiedRing, survey: Survey, show: System) -> Iterator[str]:
    """Yield what a survey comes to, a sentence at a time."""
    yield _fit(survey)
    yield _closing(survey, show)
    if survey.suspect is not None:
        yield (
            f"Suspect: {suspect_words(survey.suspect, show)}. "
            f"{capital(suspect_remedy(survey.suspect))}."
        )
    for rival in survey.rivals:
        inward = ", ".join(sorted(rival.inward)) or "no corner"
        yield (
            f"The ties fit another figure too, with {inward} pointing inward. Tape "
            f"{tie_name(*rival.settle)}: {format_length(rival.here_m, show)} in the figure taken, "
            f"{format_length(rival.there_m, show)} in the other."
        )
    if survey.unchecked:
        yield f"Nothing checks {names(survey.unchecked)}."
    add = tie_to_add(ring, survey)
    if add is not None:
        yield f"Tape {tie_name(*add)} next: of all ties not taped yet it checks the most."


def capital(sentence: str) -> str:
    """Return a sentence with its first letter as a capital."""
    return sentence[:1].upper() + sentence[1:]


def _fit(survey: Survey) -> str:
    count, spare = len(survey.ties), survey.redundancy
    ties = f"{count} {'tie' if count == 1 else 'ties'}"
    if not spare or survey.unit_weight is None:
        return f"{ties}, none to spare: a wrong one cannot be seen."
    verdict = "sound" if survey.sound else "not sound"
    return (
        f"{ties}, {spare} to spare; they disagree {survey.unit_weight:.2f} times as much as the "
        f"tape promises: {verdict}."
    )


def _closing(survey: Survey, show: System) -> str:
    closure = survey.closure
    taped = f"{closure.taped_sides} of {len(survey.corners)} sides taped"
    if closure.ratio is None:
        return f"The fence line closes ({taped})."
    return (
        f"Walked by its taped lengths the fence line misses by {told(closure.gap_m, show)} in "
        f"{format_length(closure.perimeter_m, show)}, 1 in {closure.ratio:.0f} ({taped})."
    )
