"""The panel: legend, schedule, scale bars, check square and title (layer: outputs).

The panel is made of *blocks*, each a column wide, written downwards by a `_Column`. On a
landscape sheet they stand in one column at the right, the title lowest as is usual on
drawings; on an upright sheet in columns along the foot. Public entry points: `panel_marks`,
`panel_height_mm`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from shapely.geometry import Polygon, box

from bedplan.model.layout import System
from bedplan.outputs.scene import POINT_MM, Anchor, Mark, Shapes, Strokes, Text
from bedplan.outputs.scene_legend import SWATCH_MM, legend
from bedplan.outputs.scene_lettering import ASCENT_EM, PITCH_EM, clean, width_mm, wrap
from bedplan.outputs.scene_palette import (
    BODY,
    BORDER,
    HEADING,
    INK,
    RULE,
    SMALL,
    SUBTITLE,
    TITLE,
    WHITE,
    Style,
)
from bedplan.outputs.sheet import COLUMN_MM, PAD_MM, Page, Scale
from bedplan.units import FOOT_M, format_area

if TYPE_CHECKING:
    from bedplan.plan import Plan

CHECK_MM: Final[dict[System, tuple[float, str]]] = {
    "imperial": (25.4, "1 in"),
    "metric": (25.0, "25 mm"),
}
"""Side of the check square and how it is said."""

_NOTE: Final = (
    "Bed sizes are to the outer faces of the boards, walks at their narrowest, sides "
    "along the inside face of the fence. Measure on site before cutting."
)
_FEET: Final = (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
_METRES: Final = (0.1, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)


@dataclass(frozen=True)
class Heading:
    """What the panel says besides the plan: scale, page, if wanted a date, names left off."""

    page: Page
    scale: Scale
    date: str = ""
    left_off: int = 0


class _Column:
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
        self.marks.append(_across(self.left, self.y))
        self.y -= 2.2


def _across(left: float, y: float) -> Strokes:
    return Strokes("panel", (((left, y), (left + COLUMN_MM, y)),), RULE)


def panel_height_mm(plan: Plan, page: Page) -> float:
    """Return how tall the panel must be on a page [mm]; on a landscape page it has it all."""
    heading = Heading(page, Scale(100.0, "1\" = 1000'"), "2000-01-01", left_off=1)
    columns = _columns(plan, heading, 0.0, 0.0)
    return max(-column.y for column in columns)


def panel_marks(plan: Plan, heading: Heading, panel: Polygon) -> list[Mark]:
    """Return the panel's marks and its border line."""
    left, bottom, _, top = panel.bounds
    columns = _columns(plan, heading, left + PAD_MM, top - PAD_MM)
    if heading.page.landscape:
        tall = -_title(plan, heading, left + PAD_MM, 0.0).y
        lowest = _title(plan, heading, left + PAD_MM, bottom + PAD_MM + tall)
        lowest.marks.append(_across(left + PAD_MM, bottom + tall + 2 * PAD_MM))
        columns = [_upper(plan, heading, left + PAD_MM, top - PAD_MM), lowest]
    inside = [mark for column in columns for mark in column.marks]
    return [Shapes("border", (panel,), None, BORDER), *inside]


def _columns(plan: Plan, heading: Heading, left: float, top: float) -> list[_Column]:
    """Return the blocks dealt out to the columns of an upright sheet."""
    step = COLUMN_MM + PAD_MM
    first = _title(plan, heading, left, top)
    _schedule(first, plan)
    second = _Column(left + step, top)
    _legend(second, plan)
    third = _Column(left + 2 * step, top)
    _bars(third, plan, heading)
    third.gap(3.0)
    _check(third, plan.layout.show, heading.page.enlarged)
    return [first, second, third]


def _upper(plan: Plan, heading: Heading, left: float, top: float) -> _Column:
    column = _Column(left, top)
    _legend(column, plan)
    _schedule(column, plan)
    _bars(column, plan, heading)
    column.gap(3.0)
    _check(column, plan.layout.show, heading.page.enlarged)
    return column


def _title(plan: Plan, heading: Heading, left: float, top: float) -> _Column:
    column = _Column(left, top)
    title = clean(plan.layout.title) or "Site plan"
    size = next(
        (
            size
            for size in (14.0, 12.5, 11.0, 9.5)
            if len(wrap(title, TITLE.sized(size), COLUMN_MM)) <= 2
        ),
        9.5,
    )
    column.paragraph(title, TITLE.sized(size))
    column.gap(0.8)
    column.line("Site plan", SUBTITLE)
    column.gap(1.2)
    turned = "landscape" if heading.page.landscape else "upright"
    name = (
        heading.page.name.upper()
        if heading.page.name[0] == "a"
        else (heading.page.name.capitalize())
    )
    column.pair("Scale", heading.scale.words)
    if not heading.scale.words.startswith("1:"):
        column.pair("", f"1:{heading.scale.denominator:g}")
    column.pair("Sheet", f"{name}, {turned}")
    if heading.date:
        column.pair("Date", clean(heading.date))
    if heading.left_off:
        column.pair("Names without room on this sheet", str(heading.left_off))
    return column


def _legend(column: _Column, plan: Plan) -> None:
    column.line("LEGEND", HEADING)
    column.gap(0.8)
    wide, tall = SWATCH_MM
    for entry in legend(plan):
        swatch = box(column.left, column.y - tall, column.left + wide, column.y)
        column.marks.extend(entry.swatch(swatch))
        top = column.y
        rows = wrap(entry.words, BODY, COLUMN_MM - wide - 2.5)
        em = BODY.size_pt * POINT_MM
        column.gap(max(0.0, (tall - len(rows) * PITCH_EM * em) / 2))
        for row in rows:
            column.line(row, BODY, wide + 2.5)
        column.y = min(top - tall, column.y) - 1.4


def _schedule(column: _Column, plan: Plan) -> None:
    show, site = plan.layout.show, plan.site
    column.rule()
    column.line("AT A GLANCE", HEADING)
    column.gap(0.6)
    column.pair("inside the fence", _area(site.enclosure.area_m2, show))
    planting = sum(edging.planting.area for edging in plan.edging)
    if site.beds:
        word = "bed" if len(site.beds) == 1 else "beds"
        column.pair(f"{len(site.beds)} {word}, planting area", _area(planting, show))
    for walk in plan.walks:
        column.pair(clean(walk.path.spec.name), _area(walk.path.area.area, show))
        for name, count in walk.counts.items():
            column.pair(f"  whole {clean(name)} units", str(count))


def _area(area_m2: float, show: System) -> str:
    return format_area(area_m2, show).replace("^2", "²")


def _bars(column: _Column, plan: Plan, heading: Heading) -> None:
    column.rule()
    feet = (FOOT_M, _FEET, "ft")
    metres = (1.0, _METRES, "m")
    order = (feet, metres) if plan.layout.show == "imperial" else (metres, feet)
    for unit_m, steps, word in order:
        per_unit = 1000.0 * unit_m / (heading.scale.denominator * heading.page.enlarged)
        step = next((step for step in steps if 4 * step * per_unit > 30.0), steps[-1])
        if 4 * step * per_unit > COLUMN_MM - 6.0:
            step = max(
                (size for size in steps if 4 * size * per_unit <= COLUMN_MM - 6.0),
                default=steps[0],
            )
        _bar(column, step, per_unit, word)


def _bar(column: _Column, step: float, per_unit: float, word: str) -> None:
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


def _check(column: _Column, show: System, enlarged: float) -> None:
    size, words = CHECK_MM[show]
    side = size / enlarged
    square = box(column.left, column.y - side, column.left + side, column.y)
    column.marks.append(Shapes("panel", (square,), None, RULE))
    beside = _Column(column.left + side + 2.5, column.y)
    room = COLUMN_MM - side - 2.5
    beside.paragraph("Print at 100 %.", BODY, room)
    beside.paragraph(f"The square measures {words} each way.", SMALL, room)
    beside.gap(1.0)
    beside.paragraph(_NOTE, SMALL, room)
    middle = _Column(column.left, column.y - side / 2 + 1.5)
    middle.line(words, BODY, side / 2, "middle")
    column.marks.extend([*beside.marks, *middle.marks])
    column.y = min(column.y - side, beside.y) - 1.5
