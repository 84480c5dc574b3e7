"""The site plan: one sheet with the fence, beds, walks, plants and every name (layer: outputs).

Public entry point: `site_plan`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely.geometry import MultiPoint, Polygon
from shapely.geometry import Point as ShapelyPoint

from bedplan.outputs.labels import Candidate, Label, as_placed, place
from bedplan.outputs.scene import Mark, Scene, Shapes
from bedplan.outputs.scene_callouts import CORNER_RADIUS_MM, callouts, features
from bedplan.outputs.scene_dimensions import (
    measure_label,
    measure_marks,
    outer_extent,
    side_measures,
)
from bedplan.outputs.scene_fence import fence_marks
from bedplan.outputs.scene_ground import ground_marks
from bedplan.outputs.scene_inner import inner_labels
from bedplan.outputs.scene_palette import BORDER, RULE, SPARE_FILL, WHITE
from bedplan.outputs.scene_panel import Heading, panel_height_mm, panel_marks
from bedplan.outputs.sheet import Setting, Sheet, choose

if TYPE_CHECKING:
    from bedplan.plan import Plan


def site_plan(plan: Plan, sheet: Sheet | str = "letter", date: str = "") -> Scene:
    """Return the site plan of a plan, to the largest standard scale the sheet takes.

    Parameters
    ----------
    plan
        What is drawn.
    sheet
        A sheet, or the name of one: ``letter``, ``tabloid``, ``a4``, ``a3``.
    date
        Written in the title block as it is given; none is written otherwise, so that the same
        plan gives the same drawing.

    Raises
    ------
    OutputError
        If there is no such sheet, or the ground does not fit on it.
    """
    paper = Sheet(sheet) if isinstance(sheet, str) else sheet
    show = plan.layout.show
    setting = choose(paper, show, lambda page: panel_height_mm(plan, page),
                     lambda per_m: _extent(plan, per_m))
    placed = _lettered(plan, setting)
    marks = [*_ground(plan, setting), *_lettering(placed),
             *panel_marks(plan, Heading(setting.page, setting.scale, date), setting.panel),
             Shapes("border", (setting.page.border,), None, BORDER)]
    return Scene(plan.layout.title, setting.page.width_mm, setting.page.height_mm,
                 setting.scale.denominator, setting.scale.words, tuple(marks),
                 tuple(as_placed(label, candidate) for label, candidate in placed))


def _extent(plan: Plan, per_m: float) -> Polygon:
    points = outer_extent(plan.site, per_m, plan.layout.show)
    return MultiPoint(points).envelope


def _ground(plan: Plan, setting: Setting) -> list[Mark]:
    frame, show = setting.frame, plan.layout.show
    marks: list[Mark] = [
        Shapes("spare", (frame.shape(plan.site.enclosure.polygon),), SPARE_FILL),
        *ground_marks(plan, frame), *fence_marks(plan.site, frame)]
    for measure in side_measures(plan.site, frame, show):
        marks.extend(measure_marks(measure))
    return marks


def _lettered(plan: Plan, setting: Setting) -> list[tuple[Label, Candidate]]:
    frame, show = setting.frame, plan.layout.show
    measures = side_measures(plan.site, frame, show)
    labels = [*callouts(plan, frame), *(measure_label(measure, 1) for measure in measures),
              *inner_labels(plan, frame)]
    return place(labels, features(plan, frame, measures), setting.field)


def _lettering(placed: list[tuple[Label, Candidate]]) -> list[Mark]:
    marks: list[Mark] = []
    for label, candidate in placed:
        marks.extend(candidate.marks())
        if candidate.plate is not None:
            marks.append(Shapes("plate", (candidate.box,), candidate.plate))
        if label.subject.startswith("corner "):
            ring = ShapelyPoint(candidate.center).buffer(CORNER_RADIUS_MM)
            marks.append(Shapes("dimensions", (ring,), WHITE, RULE))
    return marks
