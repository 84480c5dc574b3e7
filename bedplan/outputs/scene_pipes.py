"""Buried pipes and cables on the drawing, and the stakes along the beds (layer: outputs).

A pipe is a long-dashed line with its name along it, drawn over everything it runs under, for it
is what a spade must not find; a stake is a small white square. Public entry points: `pipe_marks`,
`pipe_labels`, `pipe_features`, `stake_marks`, `stake_swatch`, `buried_swatches`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Final

import shapely
from shapely.geometry import LineString, Polygon

from bedplan.geometry.lines import direction_deg
from bedplan.model.site import PlacedPipe
from bedplan.outputs.label import Candidate, Feature, Label
from bedplan.outputs.scene import Mark, Pen, Point, Shapes, Strokes
from bedplan.outputs.scene_lettering import block_size_mm, clean, rectangle, upright
from bedplan.outputs.scene_names import around
from bedplan.outputs.scene_palette import INK, PATH_EDGE, WHITE, Style
from bedplan.outputs.sheet import Frame

if TYPE_CHECKING:
    from bedplan.plan import Plan

BURIED: Final = Pen(0.45, INK, (4.0, 1.2, 1.0, 1.2, 1.0, 1.2))
PIPE_NAME: Final = Style(6.2, bold=True)
STAKE_MM: Final = 0.9
"""A stake is drawn no smaller than this [mm]."""
_SHARES: Final = (0.5, 0.3, 0.7, 0.15, 0.85)
_OFF_MM: Final = 0.8

Swatch = tuple[str, Callable[[Polygon], list[Mark]]]


def pipe_marks(plan: Plan, frame: Frame) -> list[Mark]:
    """Return the lines of all pipes, as far as they run inside the fence."""
    lines = tuple(
        tuple((float(x), float(y)) for x, y in line.coords)
        for pipe in plan.site.pipes
        for line in _inside(plan, pipe, frame)
    )
    return [Strokes("pipes", lines, BURIED)] if lines else []


def pipe_labels(plan: Plan, frame: Frame) -> list[Label]:
    """Return the name of every pipe, along its line."""
    found = []
    for pipe in plan.site.pipes:
        lines = _inside(plan, pipe, frame)
        if lines:
            longest = max(lines, key=lambda line: line.length)
            found.append(_label(pipe.pipe.name, longest))
    return found


def _label(name: str, line: LineString) -> Label:
    words = ((clean(name), PIPE_NAME),)
    _, tall = block_size_mm(words)
    spots = []
    for order, share in enumerate(_SHARES):
        at, on = (line.interpolate(share + step, normalized=True) for step in (-0.01, 0.01))
        toward = direction_deg((at.x, at.y), (on.x, on.y))
        for way in (1.0, -1.0):
            # the offset of a bent line would curl; beside its own short chord it does not
            chord = LineString([at, on]).offset_curve(way * (tall / 2 + _OFF_MM))
            middle = chord.interpolate(0.5, normalized=True)
            spots.append(
                Candidate(words, (middle.x, middle.y), upright(toward), 0.5 * order, plate=WHITE)
            )
    middle_of_all = line.interpolate(0.5, normalized=True)
    heart: Point = (middle_of_all.x, middle_of_all.y)
    return Label(f"pipe {name}", tuple(spots), rank=3, more=lambda: around(words, heart))


def pipe_features(plan: Plan, frame: Frame) -> list[Feature]:
    """Return the pipes as lines no words should cover."""
    return [
        Feature(line.buffer(0.4, cap_style="flat"), 8.0)
        for pipe in plan.site.pipes
        for line in _inside(plan, pipe, frame)
    ]


def _inside(plan: Plan, pipe: PlacedPipe, frame: Frame) -> list[LineString]:
    fence = frame.shape(plan.site.enclosure.polygon)
    shown = shapely.intersection(frame.shape(LineString(pipe.line)), fence)
    return [
        line
        for line in shapely.get_parts(shown)
        if isinstance(line, LineString) and line.length > 1.0
    ]


def stake_marks(
    plan: Plan, frame: Frame, layer: str = "bed edge", least_mm: float = STAKE_MM
) -> list[Mark]:
    """Return every stake as a square on a layer, no smaller than can be seen [mm]."""
    squares = tuple(
        rectangle(frame.point(stake.at), side, side, stake.direction_deg)
        for edging in plan.edging
        for stake in edging.stakes
        for side in (max(least_mm, stake.size_m * frame.mm_per_m),)
    )
    return [Shapes(layer, squares, WHITE, PATH_EDGE)] if squares else []


def buried_swatches(plan: Plan) -> Iterator[Swatch]:
    """Yield the rows of the legend for stakes and pipes, where there are any."""
    if any(edging.stakes for edging in plan.edging):
        yield "stake behind the boards", stake_swatch
    if plan.site.pipes:
        yield "buried pipe or cable as the file says", _pipe_swatch


def stake_swatch(at: Polygon) -> list[Mark]:
    """Return a stake for a row of the legend."""
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    return [Shapes("panel", (rectangle(middle, 1.1, 1.1),), WHITE, PATH_EDGE)]


def _pipe_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level = (bottom + top) / 2
    return [Strokes("panel", (((left, level), (right, level)),), BURIED)]
