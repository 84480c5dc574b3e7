"""The panel: legend, schedule, scale bars, check square and title (layer: outputs).

The panel is made of *blocks*, each a column wide, written downwards by a `Column`. On a
landscape sheet they stand in one column at the right, the title lowest as is usual on
drawings; on an upright sheet in columns along the foot. Public entry points: `panel_marks`,
`panel_height_mm`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from shapely.geometry import Polygon

from bedplan.model.layout import System
from bedplan.outputs.scene import Mark, Shapes
from bedplan.outputs.scene_column import (
    Column,
    across,
    check_square,
    legend_row,
    scale_bars,
    sheet_rows,
    title_rows,
)
from bedplan.outputs.scene_legend import legend
from bedplan.outputs.scene_lettering import clean
from bedplan.outputs.scene_palette import BORDER, HEADING
from bedplan.outputs.sheet import COLUMN_MM, PAD_MM, Page, Scale
from bedplan.units import format_area

if TYPE_CHECKING:
    from bedplan.plan import Plan

_NOTE: Final = (
    "Bed sizes are to the outer faces of the boards, walks at their narrowest, sides "
    "along the inside face of the fence. Measure on site before cutting."
)


@dataclass(frozen=True)
class Heading:
    """What the panel says besides the plan: scale, page, if wanted a date, names left off."""

    page: Page
    scale: Scale
    date: str = ""
    left_off: int = 0

    @property
    def paper_mm_per_m(self) -> float:
        """Millimetres on the page, before it is enlarged, for a metre of ground."""
        return 1000.0 / (self.scale.denominator * self.page.enlarged)


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
        lowest.marks.append(across(left + PAD_MM, bottom + tall + 2 * PAD_MM))
        columns = [_upper(plan, heading, left + PAD_MM, top - PAD_MM), lowest]
    inside = [mark for column in columns for mark in column.marks]
    return [Shapes("border", (panel,), None, BORDER), *inside]


def _columns(plan: Plan, heading: Heading, left: float, top: float) -> list[Column]:
    """Return the blocks dealt out to the columns of an upright sheet."""
    step = COLUMN_MM + PAD_MM
    first = _title(plan, heading, left, top)
    _schedule(first, plan)
    second = Column(left + step, top)
    _legend(second, plan)
    third = Column(left + 2 * step, top)
    third.rule()
    scale_bars(third, plan.layout.show, heading.paper_mm_per_m)
    third.gap(3.0)
    check_square(third, plan.layout.show, heading.page.enlarged, _NOTE)
    return [first, second, third]


def _upper(plan: Plan, heading: Heading, left: float, top: float) -> Column:
    column = Column(left, top)
    _legend(column, plan)
    _schedule(column, plan)
    column.rule()
    scale_bars(column, plan.layout.show, heading.paper_mm_per_m)
    column.gap(3.0)
    check_square(column, plan.layout.show, heading.page.enlarged, _NOTE)
    return column


def _title(plan: Plan, heading: Heading, left: float, top: float) -> Column:
    column = Column(left, top)
    title_rows(column, plan.layout.title, "Site plan")
    sheet_rows(column, heading.scale, heading.page)
    if heading.date:
        column.pair("Date", clean(heading.date))
    if heading.left_off:
        column.pair("Names without room on this sheet", str(heading.left_off))
    return column


def _legend(column: Column, plan: Plan) -> None:
    column.line("LEGEND", HEADING)
    column.gap(0.8)
    for entry in legend(plan):
        legend_row(column, entry.words, entry.swatch)


def _schedule(column: Column, plan: Plan) -> None:
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
