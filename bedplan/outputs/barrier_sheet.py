"""The barrier sheet: where every strip lies, by number, and where it is opened (layer: outputs).

One landscape sheet for each fabric. Public entry point: `barrier_sheets`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Final

from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import common, minus, parts
from bedplan.outputs.label import Feature, Label
from bedplan.outputs.panel_sheet import Words, panel_sheet, set_sheet
from bedplan.outputs.scene import Mark, Scene, Shapes
from bedplan.outputs.scene_callouts import corner_labels
from bedplan.outputs.scene_fence import fence_band, fence_marks
from bedplan.outputs.scene_ground import board_marks
from bedplan.outputs.scene_heights import arrow_swatch, fall_arrow
from bedplan.outputs.scene_lettering import clean
from bedplan.outputs.scene_names import ground_label
from bedplan.outputs.scene_palette import (
    PATH_EDGE,
    PATH_FILL,
    SECOND_UNIT_FILL,
    SPARE_FILL,
    TICK,
    WHITE,
)
from bedplan.outputs.sheet import Frame, Sheet
from bedplan.plan.openings import barrier_openings
from bedplan.plan.shingling import LaidArea, LaidStrip, laid_areas
from bedplan.practice.ground import percent
from bedplan.takeoff.barrier import Strip, StripLaying

if TYPE_CHECKING:
    from bedplan.plan import BarrierPlan, Plan

OPENING_MM: Final = 0.8
"""An opening is drawn no smaller than this [mm]."""

_NOTE: Final = "Lay strips in the order of their numbers, each lapping over its neighbour."
_SHINGLED: Final = (
    "Lay strips in the order told, from the low side: each on top of those below it, and at an "
    "end lap the upper length on top."
)
_AREAS: Final = " 2.3 is strip 3 of area 2."


def barrier_sheets(plan: Plan, sheet: Sheet | str = "letter") -> tuple[Scene, ...]:
    """Return one sheet for every fabric that is used.

    Raises
    ------
    OutputError
        If there is no such sheet, or the ground does not fit on it.
    """
    return tuple(_sheet(plan, part, sheet) for part in plan.barriers)


def _sheet(plan: Plan, part: BarrierPlan, sheet: Sheet | str) -> Scene:
    setting = set_sheet(plan.site, plan.layout.show, sheet)
    frame = setting.frame
    areas = tuple(laid_areas(plan, part))
    labels = [
        *corner_labels(plan.site, frame),
        *(label for area in areas for label in _numbers(area, len(areas) > 1, frame)),
        *_falls(areas, frame),
    ]
    holes = _openings(plan, part, frame)
    ground = [
        Shapes("spare", (frame.shape(plan.site.enclosure.polygon),), SPARE_FILL),
        *fence_marks(plan.site, frame),
        *board_marks(plan, frame),
        *_strip_marks(part, frame),
        *([Shapes("plants", holes, WHITE, TICK)] if holes else []),
    ]
    note = (_SHINGLED if _ordered(areas) else _NOTE) + (_AREAS if len(part.layings) > 1 else "")
    words = Words(
        plan.layout.title,
        "Weed barrier",
        plan.layout.show,
        list(_legend(plan, part, areas)),
        note,
    )
    covered = [Feature(fence_band(plan.site, frame), 6.0)]
    covered += [Feature(hole.buffer(0.4), 6.0) for hole in holes]
    return panel_sheet(setting, words, ground, labels, covered)


def _strip_marks(part: BarrierPlan, frame: Frame) -> Iterator[Mark]:
    """Yield the strips as trimmed to their ground, the laps darker."""
    for laying in part.layings:
        whole = tuple(_trimmed(strip, laying, frame) for strip in laying.strips)
        polygons = tuple(each for shape in whole for each in parts(shape))
        yield Shapes("path", polygons, PATH_FILL, PATH_EDGE)
        laps = [
            each
            for number, shape in enumerate(whole)
            for other in whole[number + 1 :]
            for each in parts(common(shape, other))
        ]
        if laps:
            yield Shapes("path texture", tuple(laps), SECOND_UNIT_FILL, PATH_EDGE)


def _trimmed(strip: Strip, laying: StripLaying, frame: Frame) -> BaseGeometry:
    return frame.shape(common(strip.outline, laying.area))


def _numbers(area: LaidArea, several: bool, frame: Frame) -> Iterator[Label]:
    """Yield the number of every strip, on the ground it alone covers where there is any."""
    for laid in area.strips:
        strip = laid.strip
        others = [each.outline for each in area.laying.strips if each is not strip]
        ground = common(strip.outline, area.laying.area)
        alone = minus(ground, *others) if others else ground
        words = f"{area.area}.{strip.number}" if several else str(strip.number)
        shape = frame.shape(ground if alone.is_empty else alone)
        told = () if area.way == "as numbered" else (_order_words(laid),)
        yield ground_label(f"strip {words}", (words, *told), shape, PATH_FILL)


def _order_words(laid: LaidStrip) -> str:
    over = f", over {' and '.join(map(str, laid.over))}" if laid.over else ""
    return f"lay {laid.order}{over}"


def _falls(areas: Iterable[LaidArea], frame: Frame) -> Iterator[Label]:
    """Yield an arrow the way water runs over every area that slopes."""
    for area in areas:
        if area.fall_deg is not None:
            ground = frame.shape(area.laying.area)
            words = percent(area.slope)
            yield fall_arrow(f"fall {area.area}", ground, area.fall_deg, words, PATH_FILL)


def _ordered(areas: Iterable[LaidArea]) -> bool:
    return any(area.way != "as numbered" for area in areas)


def _openings(plan: Plan, part: BarrierPlan, frame: Frame) -> tuple[Polygon, ...]:
    return tuple(
        ShapelyPoint(frame.point(each.at)).buffer(
            max(OPENING_MM, each.width_m / 2 * frame.mm_per_m), quad_segs=8
        )
        for each in barrier_openings(plan, part)
    )


def _legend(
    plan: Plan, part: BarrierPlan, areas: Iterable[LaidArea]
) -> Iterator[tuple[str, Callable[[Polygon], list[Mark]]]]:
    yield (
        f"{clean(part.fabric.name)}, with the number of the strip",
        lambda at: [Shapes("panel", (at,), PATH_FILL, PATH_EDGE)],
    )
    yield "lap", lambda at: [Shapes("panel", (at,), SECOND_UNIT_FILL, PATH_EDGE)]
    if any(True for _ in barrier_openings(plan, part)):
        yield "opening for a plant", _hole
    if any(area.fall_deg is not None for area in areas):
        yield "fall, the way water runs", arrow_swatch


def _hole(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ShapelyPoint((left + right) / 2, (bottom + top) / 2)
    ground = box(left, bottom, right, top)
    hole = middle.buffer((top - bottom) / 4)
    return [Shapes("panel", (ground,), PATH_FILL), Shapes("panel", (hole,), WHITE, TICK)]
