"""The set-out sheets: where every stake goes, and the figures to find it by (layer: outputs).

One plan with the name of every stake, then its tables in large type with boxes to tick. Public
entry point: `setout_sheets`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Final

from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as ShapelyPoint

from bedplan.outputs.label import Feature, Label
from bedplan.outputs.panel_sheet import Words, panel_sheet, set_sheet
from bedplan.outputs.scene import Dots, Mark, Pen, Point, Scene, Shapes, Strokes
from bedplan.outputs.scene_callouts import corner_labels
from bedplan.outputs.scene_fence import fence_band, fence_marks
from bedplan.outputs.scene_lettering import clean, rectangle
from bedplan.outputs.scene_names import ground_label
from bedplan.outputs.scene_palette import (
    BED_FILL,
    INK,
    NAME,
    PATH_EDGE,
    SLATE,
    SPARE_FILL,
    UNIT_FILL,
    WHITE,
    Style,
)
from bedplan.outputs.scene_tape import beside_point
from bedplan.outputs.sheet import Frame
from bedplan.outputs.tables_setout import HOW, setout_tables
from bedplan.outputs.ticked_pages import ticked_pages
from bedplan.plan.setting_out import SetOut
from bedplan.survey import Stake, StringLine

if TYPE_CHECKING:
    from bedplan.plan import Plan

STRING: Final = Pen(0.25, SLATE, (2.2, 1.0))
EDGE: Final = Pen(0.18, INK)
FAINT: Final = Pen(0.10, "#b4bec7")
STAKE: Final = Style(6.5, bold=True)
STAKE_MM: Final = 1.2
"""Radius of a stake on the plan [mm]."""

_NOTE: Final = "Figures to find each stake by are on the pages that follow."


def setout_sheets(plan: Plan, out: SetOut, sheet: str = "letter") -> list[Scene]:
    """Return the plan of all stakes, then the pages to tick off.

    Parameters
    ----------
    plan, out
        What is set out.
    sheet
        ``letter``, ``tabloid``, ``a4`` or ``a3``.

    Raises
    ------
    OutputError
        If there is no such sheet, or the ground does not fit on it.
    """
    tables = setout_tables(out, plan.layout.show)
    title = clean(plan.layout.title)
    return [_stake_plan(plan, out, sheet), *ticked_pages(title, "set-out", tables, HOW, sheet)]


def _stake_plan(plan: Plan, out: SetOut, sheet: str) -> Scene:
    setting = set_sheet(plan.site, plan.layout.show, sheet, list(out.marks.values()))
    words = Words(
        plan.layout.title,
        "Set-out",
        plan.layout.show,
        list(_legend(plan, out)),
        _NOTE,
        ("HOW", [HOW]),
    )
    return panel_sheet(
        setting,
        words,
        _ground(plan, out, setting.frame),
        list(_labels(plan, out, setting.frame)),
        list(_covered(plan, out, setting.frame)),
    )


def _ground(plan: Plan, out: SetOut, frame: Frame) -> list[Mark]:
    beds = tuple(frame.shape(bed.outline) for bed in plan.site.beds)
    units = tuple(frame.shape(each) for walk in plan.walks for each in walk.outlines)
    marks: list[Mark] = [
        Shapes("spare", (frame.shape(plan.site.enclosure.polygon),), SPARE_FILL),
        *fence_marks(plan.site, frame),
    ]
    if units:
        marks.append(Shapes("units", units, UNIT_FILL, FAINT))
    if beds:
        marks.append(Shapes("bed", beds, BED_FILL))
        marks.append(Shapes("bed edge", beds, None, EDGE))
    strings = tuple(_string(line, plan, frame) for line in out.strings)
    if strings:
        marks.append(Strokes("gates", strings, STRING))
    return [*marks, *_spots(out, frame)]


def _string(line: StringLine, plan: Plan, frame: Frame) -> tuple[Point, Point]:
    """Return a string from where it is tied to where it is tied."""
    ends = []
    for end in line.ends:
        side = plan.site.enclosure.side(end.side)
        assert side is not None, "strings are tied to sides of this fence"
        walked = side if side.first == end.corner else side.reversed()
        ends.append(frame.point(walked.point(end.exact_m)))
    return ends[0], ends[1]


def _is_stake(stake: Stake) -> bool:
    return ".s" in stake.name


def _spots(out: SetOut, frame: Frame) -> Iterator[Mark]:
    """Yield corners as dots, stakes as squares, other marks to tape from as rings."""
    squares = tuple(
        rectangle(frame.point(each.at), 1.6, 1.6) for each in out.stakes if _is_stake(each)
    )
    dots = tuple(frame.point(each.at) for each in out.stakes if not _is_stake(each))
    if squares:
        yield Shapes("dimensions", squares, WHITE, PATH_EDGE)
    if dots:
        yield Dots("dimensions", dots, 0.75, INK)
    rings = tuple(
        ShapelyPoint(frame.point(at)).buffer(1.4, quad_segs=8) for at in out.marks.values()
    )
    yield Shapes("dimensions", rings, None, Pen(0.35, INK))


def _labels(plan: Plan, out: SetOut, frame: Frame) -> Iterator[Label]:
    corners = {name for name, _ in plan.site.enclosure.corners}
    yield from corner_labels(plan.site, frame)
    for name, at in out.marks.items():
        if name not in corners:
            yield beside_point(f"mark {name}", ((clean(name), NAME),), frame.point(at), 1.4, 1)
    for stake in out.stakes:
        lines = ((stake.name, STAKE),)
        yield beside_point(f"stake {stake.name}", lines, frame.point(stake.at), 0.8, 2)
    for bed in plan.site.beds:
        name = clean(bed.spec.name)
        yield ground_label(f"bed {name}", (name,), frame.shape(bed.outline), BED_FILL)


def _covered(plan: Plan, out: SetOut, frame: Frame) -> Iterator[Feature]:
    yield Feature(fence_band(plan.site, frame), 6.0)
    for stake in out.stakes:
        yield Feature(ShapelyPoint(frame.point(stake.at)).buffer(STAKE_MM), 12.0)
    for line in out.strings:
        yield Feature(LineString(_string(line, plan, frame)).buffer(0.4), 16.0)
    for bed in plan.site.beds:
        yield Feature(frame.shape(bed.outline).exterior.buffer(0.3), 3.0)


def _legend(plan: Plan, out: SetOut) -> Iterator[tuple[str, Callable[[Polygon], list[Mark]]]]:
    yield "mark that stands: hold the tape here", partial(_spot_swatch, kind="mark")
    yield "corner, or end of a first course (w)", partial(_spot_swatch, kind="corner")
    if any(_is_stake(stake) for stake in out.stakes):
        yield "stake (s), by its middle", partial(_spot_swatch, kind="stake")
    if out.strings:
        yield "string, tied to the fence at both ends", _string_swatch
    if plan.site.beds:
        yield "bed", _bed_swatch


def _spot_swatch(at: Polygon, kind: str) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    if kind == "corner":
        return [Dots("panel", (middle,), 0.75, INK)]
    if kind == "stake":
        return [Shapes("panel", (rectangle(middle, 1.6, 1.6),), WHITE, PATH_EDGE)]
    ring = ShapelyPoint(middle).buffer(1.4, quad_segs=8)
    return [Shapes("panel", (ring,), None, Pen(0.35, INK))]


def _string_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level = (bottom + top) / 2
    return [Strokes("panel", (((left, level), (right, level)),), STRING)]


def _bed_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    return [Shapes("panel", (box(left, bottom + 0.6, right, top - 0.6),), BED_FILL, EDGE)]
