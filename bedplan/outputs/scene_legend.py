"""The legend: what each texture, line and sign on the drawing stands for (layer: outputs).

Only what is on the drawing is explained, with the same pens and textures the drawing uses.
Public entry point: `legend`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as ShapelyPoint

from bedplan.geometry.lines import unit_vector
from bedplan.model.layout import System
from bedplan.model.materials import Board, Paver
from bedplan.outputs.scene import Dots, Mark, Shapes, Strokes
from bedplan.outputs.scene_ground import BARE, SOIL, board_fills, surfaces, unit_fills
from bedplan.outputs.scene_heights import height_swatches
from bedplan.outputs.scene_inner import times
from bedplan.outputs.scene_lettering import clean
from bedplan.outputs.scene_palette import (
    BED_EDGE,
    BED_FILL,
    BED_MARK,
    CROWN,
    CROWN_FILL,
    CROWN_OPACITY,
    FENCE_BACK,
    FENCE_FACE,
    FENCE_FILL,
    FENCE_HATCH,
    GATE_LEAF,
    GATE_SWING,
    GREEN,
    INK,
    PATH_EDGE,
    PATH_FILL,
    PATH_MARK,
    PLANNED_CROWN,
    POST,
    RING,
    UNIT,
    WHITE,
)
from bedplan.outputs.scene_pipes import buried_swatches
from bedplan.outputs.scene_texture import Texture, hatch
from bedplan.units import INCH_M, format_length

if TYPE_CHECKING:
    from bedplan.plan import Plan


@dataclass(frozen=True)
class Entry:
    """One row: the words, and what draws the swatch into a rectangle of the panel."""

    words: str
    swatch: Callable[[Polygon], list[Mark]]


def legend(plan: Plan) -> list[Entry]:
    """Return the rows of the legend, from the fence inwards."""
    return [
        *_fence_entries(plan),
        *_bed_entries(plan),
        *_walk_entries(plan),
        *_plant_entries(plan),
        *(Entry(words, swatch) for words, swatch in buried_swatches(plan)),
        *(Entry(words, swatch) for words, swatch in height_swatches(plan)),
    ]


def _fence_entries(plan: Plan) -> Iterator[Entry]:
    posts = bool(plan.site.posts)
    words = "fence with post" if posts else "fence"
    yield Entry(f"{words}; sides run along the heavy line", lambda at: _fence(at, posts))
    if plan.site.gates:
        yield Entry("gate, leaf open, and its swing", _gate)


def _bed_entries(plan: Plan) -> Iterator[Entry]:
    show = plan.layout.show
    for material, texture in surfaces(plan).beds.items():
        words = "bed, bare soil" if material == SOIL else f"bed: {clean(material)}"
        yield Entry(words, _ground(BED_FILL, BED_MARK, texture))
    for name, fill in board_fills(plan).items():
        yield Entry(_board_words(plan.layout.boards[name], show), _board(fill))
    if any(bed.spec.edging is None for bed in plan.site.beds):
        yield Entry("edge of a bed without boards", _bed_edge)


def size_words(length_m: float, show: System) -> str:
    """Return a size as goods are sold: inches and not feet, ``16"``, or millimetres.

    Examples
    --------
    >>> size_words(0.4064, "imperial"), size_words(0.0444, "metric")
    ('16"', '44 mm')
    """
    if show == "metric":
        return format_length(length_m, show)
    whole, rest = divmod(round(length_m / INCH_M * 16), 16)
    parts = (str(whole) if whole else "", str(Fraction(rest, 16)) if rest else "")
    words = "-".join(filter(None, parts))
    return f'{words or 0}"'


def _board_words(board: Board, show: System) -> str:
    sizes = [size_words(size, show) for size in (board.thickness_m, board.height_m)]
    return f"{clean(board.name)} edging, {times(sizes)}"


def _walk_entries(plan: Plan) -> Iterator[Entry]:
    for material, texture in surfaces(plan).paths.items():
        words = "walk, bare ground" if material == BARE else f"walk: {clean(material)}"
        yield Entry(words, _ground(PATH_FILL, PATH_MARK, texture))
    pavers = {paver.name: paver for walk in plan.walks for paver in walk.pavers}
    for name, fill in unit_fills(plan).items():
        yield Entry(_paver_words(pavers[name], plan.layout.show), _unit(fill))


def _paver_words(paver: Paver, show: System) -> str:
    sizes = (paver.length_m, paver.width_m, paver.thickness_m)
    return f"{clean(paver.name)}, {times([size_words(size, show) for size in sizes])}"


def _plant_entries(plan: Plan) -> Iterator[Entry]:
    plants = [plant.plant for plant in plan.site.plants]
    if any(plant.existing for plant in plants):
        yield Entry("existing plant: stem and crown", lambda at: _plant(at, existing=True))
    if any(not plant.existing for plant in plants):
        yield Entry("new plant: stem and crown", lambda at: _plant(at, existing=False))
    if plan.planted:
        yield Entry("plants set out at a spacing", _dots)
    if any(plant.keep_clear_m > 0.0 for plant in plants):
        yield Entry("ring kept clear round a stem", _ring)


def _fence(at: Polygon, posts: bool) -> list[Mark]:
    left, bottom, right, _ = at.bounds
    band = box(left, bottom + 1.5, right, bottom + 3.5)
    marks: list[Mark] = [
        Shapes("panel", (band,), FENCE_FILL),
        *hatch("panel", band, FENCE_HATCH, 1.1),
        Strokes("panel", (((left, bottom + 1.5), (right, bottom + 1.5)),), FENCE_FACE),
        Strokes("panel", (((left, bottom + 3.5), (right, bottom + 3.5)),), FENCE_BACK),
    ]
    if posts:
        middle = (left + right) / 2
        post = box(middle - 1.0, bottom + 1.5, middle + 1.0, bottom + 3.5)
        marks.append(Shapes("panel", (post,), INK, POST))
    return marks


def _gate(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    reach = top - bottom - 0.4
    hinge = ((left + right - reach) / 2, bottom + 0.2)
    turns = [unit_vector(angle) for angle in range(0, 91, 10)]
    arc = tuple((hinge[0] + reach * x, hinge[1] + reach * y) for x, y in turns)
    leaf = LineString([hinge, arc[-1]]).buffer(0.4, cap_style="flat")
    return [
        Strokes("panel", (arc, (hinge, arc[0])), GATE_SWING),
        Shapes("panel", (leaf,), WHITE, GATE_LEAF),
    ]


def _ground(fill: str, ink: str, texture: Texture | None) -> Callable[[Polygon], list[Mark]]:
    def draw(at: Polygon) -> list[Mark]:
        grain = texture("panel", at, ink) if texture is not None else []
        return [Shapes("panel", (at,), fill), *grain, Shapes("panel", (at,), None, PATH_EDGE)]

    return draw


def _board(fill: str) -> Callable[[Polygon], list[Mark]]:
    def draw(at: Polygon) -> list[Mark]:
        left, bottom, right, _ = at.bounds
        return [Shapes("panel", (box(left, bottom + 2.0, right, bottom + 2.8),), fill)]

    return draw


def _bed_edge(at: Polygon) -> list[Mark]:
    left, bottom, right, _ = at.bounds
    return [Strokes("panel", (((left, bottom + 2.5), (right, bottom + 2.5)),), BED_EDGE)]


def _unit(fill: str) -> Callable[[Polygon], list[Mark]]:
    def draw(at: Polygon) -> list[Mark]:
        left, bottom, right, top = at.bounds
        units = (
            box(left + 0.3, bottom + 0.3, left + 4.8, top - 0.3),
            box(right - 4.8, bottom + 0.3, right - 0.3, top - 0.3),
        )
        return [Shapes("panel", (at,), PATH_FILL), Shapes("panel", units, fill, UNIT)]

    return draw


def _plant(at: Polygon, existing: bool) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    crown = ShapelyPoint(middle).buffer((top - bottom) / 2)
    marks: list[Mark] = [
        Shapes("panel", (crown,), CROWN_FILL, CROWN if existing else PLANNED_CROWN, CROWN_OPACITY),
        Dots("panel", (middle,), 0.8, GREEN),
    ]
    return marks if existing else [*marks, Dots("panel", (middle,), 0.45, WHITE)]


def _dots(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level, step = (bottom + top) / 2, (right - left) / 4
    places = tuple((left + number * step, level) for number in (1, 2, 3))
    return [Dots("panel", places, 0.8, GREEN), Dots("panel", places, 0.45, WHITE)]


def _ring(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    return [
        Shapes("panel", (ShapelyPoint(middle).buffer(1.6),), None, RING),
        Dots("panel", (middle,), 0.8, GREEN),
    ]
