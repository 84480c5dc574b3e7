"""Spot heights, falls and unmeasured ground on the drawing (layer: outputs).

A spot is a small cross with its height beside it; a fall is an arrow the way water runs, with
its slope; ground that no spot heights hold between them is edged with dots. Public entry points:
`height_marks`, `height_labels`, `height_features`, `height_swatches`, `fall_arrow`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import unit_vector
from bedplan.geometry.polygons import parts
from bedplan.outputs.label import Candidate, Feature, Label
from bedplan.outputs.scene import Mark, Pen, Point, Strokes
from bedplan.outputs.scene_lettering import block_size_mm, rectangle, upright
from bedplan.outputs.scene_names import around
from bedplan.outputs.scene_palette import INK, PATH_FILL, SLATE, UNIT_FILL, WHITE, Style
from bedplan.outputs.sheet import Frame
from bedplan.practice.ground import percent
from bedplan.units import format_length

if TYPE_CHECKING:
    from bedplan.plan import Plan, Walk

CROSS_MM: Final = 1.3
"""Half the length of a spot's cross [mm]."""
ARROW_MM: Final = 10.0
"""Length of a fall's arrow [mm]."""
HEAD_MM: Final = 1.8
"""Length of each stroke of its head [mm]."""
CROSS: Final = Pen(0.25, INK)
HALO: Final = Pen(0.75, WHITE)
ARROW: Final = Pen(0.35, INK)
GUESSED: Final = Pen(0.30, SLATE, (0.3, 1.3))
SPOT: Final = Style(6.2)
FALL: Final = Style(7.0, bold=True)
OUTSIDE: Final = 6.0
"""Cost of a spot's height written on the fence or beyond it."""
_STEP_MM: Final = 4.0
"""An arrow's place is sought on a grid this wide [mm]."""

Swatch = tuple[str, Callable[[Polygon], list[Mark]]]


def height_marks(plan: Plan, frame: Frame) -> list[Mark]:
    """Return the spots' crosses and the edge of the ground beyond them."""
    works = plan.works
    if works is None:
        return []
    lines = tuple(line for spot in works.spots for line in _cross(frame.point(spot[:2])))
    # a white edge keeps a cross in sight on a post
    marks: list[Mark] = [Strokes("heights", lines, pen) for pen in (HALO, CROSS) if lines]
    edges = [
        tuple((x, y) for x, y in line.coords)
        for line in _guessed_edges(frame.shape(works.surface.extrapolated), _fence(plan, frame))
    ]
    return [*marks, Strokes("heights", tuple(edges), GUESSED)] if edges else marks


def _fence(plan: Plan, frame: Frame) -> BaseGeometry:
    return frame.shape(plan.site.enclosure.polygon)


def _cross(at: Point) -> list[tuple[Point, ...]]:
    x, y = at
    return [((x - CROSS_MM, y), (x + CROSS_MM, y)), ((x, y - CROSS_MM), (x, y + CROSS_MM))]


def _guessed_edges(ground: BaseGeometry, fence: BaseGeometry) -> Iterator[LineString]:
    """Yield the lines that part measured ground from the rest, the fence line left out."""
    if ground.is_empty or ground.area >= 0.999 * fence.area:
        return
    inner = shapely.difference(ground.boundary, fence.boundary.buffer(0.2))
    for line in shapely.get_parts(shapely.line_merge(inner)):
        if isinstance(line, LineString) and line.length > 1.0:
            yield line


def height_labels(plan: Plan, frame: Frame) -> list[Label]:
    """Return the spots' heights, and an arrow for the fall of every path that has one."""
    works = plan.works
    if works is None:
        return []
    fence = _fence(plan, frame)
    labels = [
        _spot_label(number, fence, frame.point(spot[:2]), format_length(spot[2], plan.layout.show))
        for number, spot in enumerate(works.spots, 1)
    ]
    walks = {walk.path.spec.name: walk for walk in plan.walks}
    for path in works.paths:
        toward = path.finish.fall_deg
        if toward is not None:
            labels.append(_fall_label(walks[path.path], frame, toward, percent(path.finish.slope)))
    return labels


def _spot_label(number: int, fence: BaseGeometry, at: Point, words: str) -> Label:
    lines = ((words, SPOT),)
    wide, tall = block_size_mm(lines)
    spots = []
    for order, (x, y) in enumerate(
        ((1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1))
    ):
        for out in (0.6, 1.6, 2.8):
            # beside a cross words may stand nearer than above or below its arm
            gap = out if x and y else out + CROSS_MM
            center = (at[0] + x * (wide / 2 + gap), at[1] + y * (tall / 2 + gap))
            outside = not fence.covers(rectangle(center, wide, tall))
            spots.append(Candidate(lines, center, 0.0, 0.3 * order + out + OUTSIDE * outside))
    return Label(f"spot {number}", tuple(spots), rank=6, more=lambda: around(lines, at))


def _fall_label(walk: Walk, frame: Frame, toward_deg: float, words: str) -> Label:
    plate = UNIT_FILL if walk.outlines else PATH_FILL
    ground = frame.shape(walk.path.area)
    return fall_arrow(f"fall {walk.path.spec.name}", ground, toward_deg, words, plate)


def fall_arrow(
    subject: str, ground: BaseGeometry, toward_deg: float, words: str, plate: str
) -> Label:
    """Return an arrow down the fall with its slope beside it, wholly on its ground."""
    shapely.prepare(ground)
    found = tuple(
        candidate
        for place in _places(ground)
        for flip in (1.0, -1.0)
        for candidate in (_arrow(place, toward_deg, words, flip, plate),)
        if ground.covers(candidate.box) and ground.covers(candidate.drawn)
    )
    return Label(subject, found, rank=6, needed=False)


def _places(ground: BaseGeometry) -> Iterator[Point]:
    """Yield places over a shape: the heart of each part, then a grid."""
    for part in parts(ground):
        x, y = shapely.maximum_inscribed_circle(part).coords[0]
        yield x, y
    left, bottom, right, top = ground.bounds
    xs, ys = (
        np.arange(low + _STEP_MM / 2, high, max(_STEP_MM, (high - low) / 40.0)).tolist()
        for low, high in ((left, right), (bottom, top))
    )
    yield from ((x, y) for x in xs for y in ys)


def _arrow(at: Point, toward_deg: float, words: str, flip: float, plate: str) -> Candidate:
    x, y = unit_vector(toward_deg)
    half = ARROW_MM / 2
    tip, tail = (at[0] + half * x, at[1] + half * y), (at[0] - half * x, at[1] - half * y)
    heads = [unit_vector(toward_deg + 180.0 + turn) for turn in (25.0, -25.0)]
    head = tuple((tip, (tip[0] + HEAD_MM * across, tip[1] + HEAD_MM * up)) for across, up in heads)
    lines = ((words, FALL),)
    angle = upright(toward_deg)
    _, tall = block_size_mm(lines)
    aside = flip * (tall / 2 + 1.2)
    center = (at[0] - y * aside, at[1] + x * aside)
    strokes = Strokes("heights", ((tail, tip), *head), ARROW)
    return Candidate(lines, center, angle, 1.0, strokes=(strokes,), plate=plate)


def height_features(plan: Plan, frame: Frame) -> list[Feature]:
    """Return the crosses and the dotted edges, which no words should cover."""
    works = plan.works
    if works is None:
        return []
    side = 2 * CROSS_MM
    edges = _guessed_edges(frame.shape(works.surface.extrapolated), _fence(plan, frame))
    return [
        *(Feature(rectangle(frame.point(spot[:2]), side, side), 12.0) for spot in works.spots),
        *(Feature(line.buffer(0.3, cap_style="flat"), 5.0) for line in edges),
    ]


def height_swatches(plan: Plan) -> list[Swatch]:
    """Return the rows of the legend for what is drawn of heights."""
    works = plan.works
    if works is None:
        return []
    rows: list[Swatch] = [("spot height of the ground", _cross_swatch)] if works.spots else []
    if any(path.finish.slope for path in works.paths):
        rows.append(("fall of a walk, the way water runs", arrow_swatch))
    if works.spots and works.surface.extrapolated.area > 0.001 * works.surface.fence.area:
        rows.append(("no spot heights beyond: carried on level", _edge_swatch))
    return rows


def _middle(at: Polygon) -> Point:
    left, bottom, right, top = at.bounds
    return (left + right) / 2, (bottom + top) / 2


def _cross_swatch(at: Polygon) -> list[Mark]:
    return [Strokes("panel", tuple(_cross(_middle(at))), CROSS)]


def arrow_swatch(at: Polygon) -> list[Mark]:
    """Return a fall's arrow as the legend shows it."""
    left, _, right, _ = at.bounds
    _, y = _middle(at)
    tip = (right - 0.5, y)
    slant = HEAD_MM * math.sqrt(0.5)
    heads = tuple((tip, (tip[0] - slant, y + way * slant / 2)) for way in (1.0, -1.0))
    return [Strokes("panel", (((left + 0.5, y), tip), *heads), ARROW)]


def _edge_swatch(at: Polygon) -> list[Mark]:
    left, _, right, _ = at.bounds
    _, y = _middle(at)
    return [Strokes("panel", (((left, y), (right, y)),), GUESSED)]
