"""A landscape sheet with the fence at the left and a panel at the right (layer: outputs).

What the edging plan, the barrier sheet and the sheets about the tape have in common: the page, the
labels with a place for each, the panel with legend, scale bars, check square and title. Public
entry points: `set_sheet`, `panel_sheet`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from shapely.geometry import MultiPoint, Polygon

from bedplan.model.layout import System
from bedplan.model.site import Site
from bedplan.outputs.label import Feature, Label, as_placed
from bedplan.outputs.labels import place
from bedplan.outputs.scene import Mark, Point, Scene, Shapes
from bedplan.outputs.scene_column import (
    Column,
    across,
    check_square,
    legend_row,
    scale_bars,
    sheet_rows,
    title_rows,
)
from bedplan.outputs.scene_fence import fence_band
from bedplan.outputs.scene_palette import BODY, BORDER, HEADING
from bedplan.outputs.sheet import PAD_MM, Frame, Setting, Sheet, choose

AROUND_MM: Final = 9.0
"""Room outside the fence for the corners' letters [mm]."""


@dataclass(frozen=True)
class Words:
    """What stands in the panel of a sheet.

    Parameters
    ----------
    title, what
        Of the layout, and of the sheet.
    show
        Which scale bar comes first.
    legend
        Words and swatch of every row.
    note
        Beside the check square.
    said
        Heading of the sentences under the check square, and the sentences, if any.
    """

    title: str
    what: str
    show: System
    legend: Sequence[tuple[str, Callable[[Polygon], list[Mark]]]]
    note: str
    said: tuple[str, Sequence[str]] = ("", ())


def set_sheet(site: Site, show: System, sheet: Sheet | str, more: Sequence[Point] = ()) -> Setting:
    """Return the landscape page with the fence, and other points, as large as they fit.

    Raises
    ------
    OutputError
        If there is no such sheet, or the ground does not fit on it.
    """
    name = sheet if isinstance(sheet, str) else sheet.name

    def extent(per_m: float) -> Polygon:
        band = fence_band(site, Frame(per_m))
        spots = [*band.exterior.coords, *((x * per_m, y * per_m) for x, y in more)]
        return MultiPoint(spots).envelope.buffer(AROUND_MM, join_style="mitre")

    return choose(Sheet(name, landscape=True), show, lambda _: 0.0, extent)


def panel_sheet(
    setting: Setting,
    words: Words,
    ground: Sequence[Mark],
    labels: Sequence[Label],
    covered: Sequence[Feature],
) -> Scene:
    """Return a finished sheet: the ground, its labels where they have room, and the panel.

    Parameters
    ----------
    setting
        Page, scale and frame, from `set_sheet`.
    words
        What the panel says.
    ground
        All marks of the drawing but its labels.
    labels
        What is to be written on it.
    covered
        What labels had better not cover.
    """
    placed = place(labels, covered, setting.field)
    left_off = len(labels) - len(placed)
    marks = [
        *ground,
        *(mark for _, candidate in placed for mark in candidate.marks()),
        *_panel(words, setting, left_off),
        Shapes("border", (setting.page.border, setting.panel), None, BORDER),
    ]
    labelled = [as_placed(label, candidate) for label, candidate in placed]
    title = f"{words.title}, {words.what.lower()}"
    return setting.page.printed(title, marks, labelled, setting.scale)


def _panel(words: Words, setting: Setting, left_off: int) -> list[Mark]:
    left, bottom, _, top = setting.panel.bounds
    tall = -_title(words, setting, left_off, left, 0.0).y
    lowest = _title(words, setting, left_off, left, bottom + PAD_MM + tall)
    lowest.marks.append(across(left + PAD_MM, bottom + tall + 2 * PAD_MM))
    upper = Column(left + PAD_MM, top - PAD_MM)
    upper.line("LEGEND", HEADING)
    upper.gap(0.8)
    for said, swatch in words.legend:
        legend_row(upper, said, swatch)
    upper.rule()
    scale_bars(upper, words.show, setting.frame.mm_per_m)
    upper.gap(3.0)
    check_square(upper, words.show, setting.page.enlarged, words.note)
    _say(upper, words.said, bottom + tall + 2 * PAD_MM)
    return [*upper.marks, *lowest.marks]


def _say(column: Column, said: tuple[str, Sequence[str]], floor: float) -> None:
    """Write sentences as far as there is room for whole ones."""
    heading, sentences = said
    if not sentences:
        return
    column.rule()
    column.line(heading, HEADING)
    column.gap(0.6)
    for sentence in sentences:
        trial = Column(column.left, column.y)
        trial.paragraph(sentence, BODY)
        if trial.y < floor:
            break
        column.marks.extend(trial.marks)
        column.y = trial.y - 0.8


def _title(words: Words, setting: Setting, left_off: int, left: float, top: float) -> Column:
    column = Column(left + PAD_MM, top)
    title_rows(column, words.title, words.what)
    sheet_rows(column, setting.scale, setting.page)
    if left_off:
        column.pair("Labels without room on this sheet", str(left_off))
    return column
