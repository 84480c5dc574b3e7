"""Columns of words, scale bars and the check square beside a drawing (layer: outputs).

A column is written from the top down. Public entry points: `Column`, `title_rows`, `sheet_rows`,
`legend_row`, `scale_bars`, `check_square`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from shapely.geometry import Polygon, box

from bedplan.model.layout import System
from bedplan.outputs.scene import POINT_MM, Anchor, Mark, Shapes, Strokes, Text
from bedplan.outputs.scene_lettering import ASCENT_EM, PITCH_EM, clean, width_mm, wrap
from bedplan.outputs.scene_palette import (
    BODY,
    INK,
    RULE,
    SMALL,
    SUBTITLE,
    TITLE,
    WHITE,
    Style,
)
from bedplan.outputs.sheet import COLUMN_MM, Page, Scale
from bedplan.units import FOOT_M

CHECK_MM: Final[dict[System, tuple[float, str]]] = {
    "imperial": (25.4, "1 in"),
    "metric": (25.0, "25 mm"),
}
"""Side of the check square and how it is said."""

_FEET: Final = (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
_METRES: Final = (0.1, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)


SWATCH_MM: Final = (10.0, 5.0)
"""Width and height of one swatch of a legend [mm]."""


class Column:
    """A column being written from the top down; `y` is where the next thing begins [mm]."""

    def __init__(self, left: float, top: float) -> None:
        self.left = left
        self.top = self.y = top
        self.marks: list[Mark] = []

    def gap(self, height: float) -> None:
        """Leave room."""
        self.y -= height

    def line(self, words: str, style: Style, indent: float = 0.0, anchor: Anchor = "left") -> None:
        """Write one line."""
        em = style.size_pt * POINT_MM
        at = (self.left + indent, self.y - ASCENT_EM * em)
        if words:
            self.marks.append(
                Text(
                    "panel lettering",
                    words,
                    at,
                    style.size_pt,
                    anchor,
                    0.0,
                    style.bold,
                    style.colour,
                )
            )
        self.y -= PITCH_EM * em

    def paragraph(
        self, words: str, style: Style, room: float = COLUMN_MM, indent: float = 0.0
    ) -> None:
        """Write text broken into lines."""
        for row in wrap(words, style, room):
            self.line(row, style, indent)

    def pair(self, words: str, figure: str) -> None:
        """Write words at the left and a figure at the right of one line, or on two lines."""
        top = self.y
        room = COLUMN_MM - width_mm(figure, BODY) - 2.0
        self.paragraph(words, BODY, room)
        bottom, self.y = self.y, top
        self.line(figure, BODY, COLUMN_MM, "right")
        self.y = min(bottom, self.y)

    def rule(self) -> None:
        """Draw a line across the column, unless nothing stands above it."""
        if self.y == self.top:
            return
        self.y -= 1.0
        self.marks.append(across(self.left, self.y))
        self.y -= 2.2


def across(left: float, y: float) -> Strokes:
    """Return a line across a column [mm]."""
    return Strokes("panel", (((left, y), (left + COLUMN_MM, y)),), RULE)


def legend_row(column: Column, words: str, swatch: Callable[[Polygon], list[Mark]]) -> None:
    """Write one row of a legend: a swatch and the words beside it."""
    wide, tall = SWATCH_MM
    at = box(column.left, column.y - tall, column.left + wide, column.y)
    column.marks.extend(swatch(at))
    top = column.y
    rows = wrap(words, BODY, COLUMN_MM - wide - 2.5)
    em = BODY.size_pt * POINT_MM
    column.gap(max(0.0, (tall - len(rows) * PITCH_EM * em) / 2))
    for row in rows:
        column.line(row, BODY, wide + 2.5)
    column.y = min(top - tall, column.y) - 1.4


def title_rows(column: Column, title: str, what: str) -> None:
    """Write the title of a sheet, on two lines at most where a smaller size allows it."""
    words = clean(title) or what
    sizes = (14.0, 12.5, 11.0, 9.5)
    fitting = (size for size in sizes if len(wrap(words, TITLE.sized(size), COLUMN_MM)) <= 2)
    column.paragraph(words, TITLE.sized(next(fitting, 9.5)))
    column.gap(0.8)
    column.line(what, SUBTITLE)
    column.gap(1.2)


def sheet_rows(column: Column, scale: Scale, page: Page) -> None:
    """Write the scale, in words and as a ratio, and the sheet."""
    turned = "landscape" if page.landscape else "upright"
    name = page.name.upper() if page.name[0] == "a" else page.name.capitalize()
    column.pair("Scale", scale.words)
    if not scale.words.startswith("1:"):
        column.pair("", f"1:{scale.denominator:g}")
    column.pair("Sheet", f"{name}, {turned}")


def scale_bars(column: Column, show: System, paper_mm_per_m: float) -> None:
    """Draw a bar in feet and one in metres, the system of the drawing first.

    Parameters
    ----------
    paper_mm_per_m
        Millimetres on the page, before it is enlarged, for a metre of ground.
    """
    feet = (FOOT_M, _FEET, "ft")
    metres = (1.0, _METRES, "m")
    order = (feet, metres) if show == "imperial" else (metres, feet)
    for unit_m, steps, word in order:
        per_unit = paper_mm_per_m * unit_m
        step = next((step for step in steps if 4 * step * per_unit > 30.0), steps[-1])
        if 4 * step * per_unit > COLUMN_MM - 6.0:
            step = max(
                (size for size in steps if 4 * size * per_unit <= COLUMN_MM - 6.0),
                default=steps[0],
            )
        _bar(column, step, per_unit, word)


def _bar(column: Column, step: float, per_unit: float, word: str) -> None:
    """Draw a bar of four steps, filled in turn, with figures over every other one."""
    wide, tall = step * per_unit, 1.6
    column.gap(0.4)
    top = column.y - 2.9
    for number in range(5):
        if number % 2 == 0:
            figure = f"{number * step:g}" + (f" {word}" if number == 4 else "")
            column.marks.append(
                Text(
                    "panel lettering",
                    figure,
                    (column.left + number * wide, top + 0.8),
                    SMALL.size_pt,
                    "left" if number in (0, 4) else "middle",
                    0.0,
                    False,
                    SMALL.colour,
                )
            )
    cells = [
        box(column.left + n * wide, top - tall, column.left + (n + 1) * wide, top)
        for n in range(4)
    ]
    column.marks.append(Shapes("panel", tuple(cells[0::2]), INK, RULE))
    column.marks.append(Shapes("panel", tuple(cells[1::2]), WHITE, RULE))
    column.y = top - tall - 1.6


def check_square(column: Column, show: System, enlarged: float, note: str) -> None:
    """Draw a square that measures an inch or 25 mm on the finished sheet, a note beside it."""
    size, words = CHECK_MM[show]
    side = size / enlarged
    square = box(column.left, column.y - side, column.left + side, column.y)
    column.marks.append(Shapes("panel", (square,), None, RULE))
    beside = Column(column.left + side + 2.5, column.y)
    room = COLUMN_MM - side - 2.5
    beside.paragraph("Print at 100 %.", BODY, room)
    beside.paragraph(f"The square measures {words} each way.", SMALL, room)
    beside.gap(1.0)
    beside.paragraph(note, SMALL, room)
    middle = Column(column.left, column.y - side / 2 + 1.5)
    middle.line(words, BODY, side / 2, "middle")
    column.marks.extend([*beside.marks, *middle.marks])
    column.y = min(column.y - side, beside.y) - 1.5
