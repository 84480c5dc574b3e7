"""The site plan: one sheet with the fence, beds, walks, plants and every name (layer: outputs).

Public entry point: `site_plan`.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from shapely.geometry import MultiPoint, Polygon

from bedplan.outputs.label import Candidate, Label, as_placed
from bedplan.outputs.labels import place
from bedplan.outputs.scene import Mark, Scene, Shapes
from bedplan.outputs.scene_callouts import callouts
from bedplan.outputs.scene_dimensions import (
    measure_label,
    measure_marks,
    outer_extent,
    side_measures,
)
from bedplan.outputs.scene_features import features
from bedplan.outputs.scene_fence import fence_marks
from bedplan.outputs.scene_ground import ground_marks
from bedplan.outputs.scene_heights import height_features, height_labels, height_marks
from bedplan.outputs.scene_inner import SIZE_OF, inner_labels
from bedplan.outputs.scene_palette import BORDER, SPARE_FILL
from bedplan.outputs.scene_panel import Heading, panel_height_mm, panel_marks
from bedplan.outputs.scene_pipes import pipe_features, pipe_labels, pipe_marks, stake_marks
from bedplan.outputs.sheet import Setting, Sheet, choose

if TYPE_CHECKING:
    from bedplan.plan import Plan


PASSES: Final = 3
"""The lettering is laid out again, at most so often, for beds whose dimensions found no room."""


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
    setting = choose(
        paper, show, lambda page: panel_height_mm(plan, page), lambda per_m: _extent(plan, per_m)
    )
    placed, left_off = _lettered(plan, setting)
    lettering = [mark for _, candidate in placed for mark in candidate.marks()]
    marks = [
        *_ground(plan, setting),
        *lettering,
        *panel_marks(plan, Heading(setting.page, setting.scale, date, left_off), setting.panel),
        Shapes("border", (setting.page.border,), None, BORDER),
    ]
    labelled = [as_placed(label, candidate) for label, candidate in placed]
    return setting.page.printed(plan.layout.title, marks, labelled, setting.scale)


def _extent(plan: Plan, per_m: float) -> Polygon:
    points = outer_extent(plan.site, per_m, plan.layout.show)
    return MultiPoint(points).envelope


def _ground(plan: Plan, setting: Setting) -> list[Mark]:
    frame, show = setting.frame, plan.layout.show
    marks: list[Mark] = [
        Shapes("spare", (frame.shape(plan.site.enclosure.polygon),), SPARE_FILL),
        *ground_marks(plan, frame),
        *fence_marks(plan.site, frame),
        *stake_marks(plan, frame),
        *pipe_marks(plan, frame),
        *height_marks(plan, frame),
    ]
    for measure in side_measures(plan.site, frame, show):
        marks.extend(measure_marks(measure))
    return marks


def _lettered(plan: Plan, setting: Setting) -> tuple[list[tuple[Label, Candidate]], int]:
    """Return every label placed, and how many needed ones found no place.

    A bed whose dimensions find no room has its size in words instead.
    """
    measures = side_measures(plan.site, setting.frame, plan.layout.show)
    outer = [measure_label(measure, 1) for measure in measures]
    covered = [
        *features(plan, setting.frame, measures),
        *pipe_features(plan, setting.frame),
        *height_features(plan, setting.frame),
    ]
    lines = [*pipe_labels(plan, setting.frame), *height_labels(plan, setting.frame)]
    crowded: set[str] = set()
    for _ in range(PASSES):
        inner = inner_labels(plan, setting.frame, crowded)
        labels = [*callouts(plan, setting.frame, crowded), *outer, *inner, *lines]
        placed = place(labels, covered, setting.field)
        lacking = _lacking(inner, placed)
        crowded |= lacking
        if not lacking:
            break
    needed = sum(label.needed for label in labels)
    return placed, needed - sum(label.needed for label, _ in placed)


def _lacking(wanted: list[Label], placed: list[tuple[Label, Candidate]]) -> set[str]:
    """Return the beds some of whose dimensions found no room."""
    sizes = Counter(label.subject for label in wanted if label.subject.startswith(SIZE_OF))
    sizes.subtract(label.subject for label, _ in placed if label.subject.startswith(SIZE_OF))
    return {subject.removeprefix(SIZE_OF) for subject, missing in sizes.items() if missing > 0}
