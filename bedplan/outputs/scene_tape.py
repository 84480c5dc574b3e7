"""What the sheets about the tape have in common (layer: outputs).

A landscape page with the ground at the left and a panel at the right, labels along a taped line,
names beside a point. Public entry points: `tape_sheet`, `along_line`, `beside_point`, `nice`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shapely.geometry import MultiPoint, Polygon

from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.model.layout import System
from bedplan.model.site import Site
from bedplan.outputs.label import Candidate, Feature, Label, as_placed
from bedplan.outputs.labels import place
from bedplan.outputs.scene import Mark, Point, Scene, Shapes, enlarged
from bedplan.outputs.scene_column import (
    Column,
    across,
    check_square,
    legend_row,
    scale_bars,
    sheet_rows,
    title_rows,
)
from bedplan.outputs.scene_dimensions import led
from bedplan.outputs.scene_fence import fence_band
from bedplan.outputs.scene_lettering import Line, block_size_mm, upright
from bedplan.outputs.scene_palette import BODY, BORDER, HEADING
from bedplan.outputs.sheet import PAD_MM, Frame, Setting, Sheet, choose

AROUND_MM: Final = 9.0
"""Room outside the fence for the corners' letters [mm]."""

BARE_MM: Final = 0.9
"""From a line to the words beside it [mm]."""

_SHARES: Final = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82)
_REACHES: Final = (5.0, 7.0, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0, 45.0)


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
    said
        Heading of the sentences under the legend, and the sentences.
    note
        Beside the check square.
    """

    title: str
    what: str
    show: System
    legend: Sequence[tuple[str, Callable[[Polygon], list[Mark]]]]
    said: tuple[str, Sequence[str]]
    note: str


def set_sheet(site: Site, show: System, sheet: str, more: Sequence[Point] = ()) -> Setting:
    """Return the landscape page with the fence, and other points, as large as they fit."""

    def extent(per_m: float) -> Polygon:
        band = fence_band(site, Frame(per_m))
        spots = [*band.exterior.coords, *((x * per_m, y * per_m) for x, y in more)]
        return MultiPoint(spots).envelope.buffer(AROUND_MM, join_style="mitre")

    return choose(Sheet(sheet, landscape=True), show, lambda _: 0.0, extent)


def tape_sheet(
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
    page, factor = setting.page, setting.page.enlarged
    return Scene(
        f"{words.title}, {words.what.lower()}",
        page.width_mm * factor,
        page.height_mm * factor,
        setting.scale.denominator,
        setting.scale.words,
        tuple(enlarged(mark, factor) for mark in marks),
        tuple(as_placed(label, candidate).enlarged(factor) for label, candidate in placed),
    )


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
    upper.rule()
    _say(upper, words.said, bottom + tall + 2 * PAD_MM)
    return [*upper.marks, *lowest.marks]


def _say(column: Column, said: tuple[str, Sequence[str]], floor: float) -> None:
    """Write sentences as far as there is room for whole ones."""
    heading, sentences = said
    if not sentences:
        return
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


def along_line(
    subject: str, lines: tuple[Line, ...], line: tuple[Point, Point], rank: int, bare: float = 0.0
) -> Label:
    """Return a label beside a line, along it where it can be, else led to its middle.

    Parameters
    ----------
    bare
        What the words keep from the line besides the usual gap [mm].
    """
    start, end = line
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return Label(
        subject,
        tuple(_along(lines, start, end, bare + BARE_MM)),
        rank,
        more=lambda: led_round(lines, middle),
    )


def _along(lines: tuple[Line, ...], start: Point, end: Point, bare: float) -> Iterator[Candidate]:
    angle = upright(direction_deg(start, end))
    x, y = unit_vector(angle + 90.0)
    reach = block_size_mm(lines)[1] / 2 + bare
    for share in _SHARES:
        at = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
        for way in (1.0, -1.0):
            center = (at[0] + way * reach * x, at[1] + way * reach * y)
            yield Candidate(lines, center, angle, 8.0 * abs(share - 0.5) + (way < 0.0))


def beside_point(subject: str, lines: tuple[Line, ...], at: Point, off: float, rank: int) -> Label:
    """Return a label close by a point, or led to it.

    Parameters
    ----------
    off
        Radius of what is drawn at the point [mm].
    """
    wide, tall = block_size_mm(lines)
    spots = []
    for order, angle in enumerate((0.0, 180.0, 90.0, 270.0, 45.0, 135.0, 315.0, 225.0)):
        x, y = unit_vector(angle)
        for out in (0.8, 1.8, 3.0):
            center = (at[0] + x * (wide / 2 + off + out), at[1] + y * (tall / 2 + off + out))
            spots.append(Candidate(lines, center, 0.0, 0.4 * order + out))
    return Label(subject, tuple(spots), rank, more=lambda: led_round(lines, at))


def led_round(lines: tuple[Line, ...], at: Point) -> tuple[Candidate, ...]:
    """Return places all round a point, each led back to it."""
    return tuple(led(lines, at, reach, angle) for reach in _REACHES for angle in range(0, 360, 15))


def nice(factor: float) -> float:
    """Return the largest of 1, 2, 5, 10, 20, … that is no more than a factor, at least 1.

    Examples
    --------
    >>> nice(730.0), nice(49.9), nice(0.3)
    (500.0, 20.0, 1.0)
    """
    if factor <= 1.0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(factor))
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= factor)
