"""Beds, boards, walks, units and plants as marks on the sheet (layer: outputs).

Every outline is drawn where the plan puts it and as thick as it is: boards at their true
thickness, units at their true size. `Surfaces` says which texture stands for which material,
for the ground here and for the legend. Public entry point: `ground_marks`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import minus, parts
from bedplan.model.site import PlacedBed, PlacedPlant
from bedplan.outputs.scene import Dots, Mark, Pen, Shapes
from bedplan.outputs.scene_palette import (
    BED_EDGE,
    BED_FILL,
    BED_MARK,
    BOARD_FILLS,
    BOARD_PEN_MM,
    CROWN,
    CROWN_FILL,
    CROWN_OPACITY,
    GREEN,
    PATH_EDGE,
    PATH_FILL,
    PATH_MARK,
    PLANNED_CROWN,
    RING,
    SECOND_UNIT_FILL,
    UNIT,
    UNIT_FILL,
    WHITE,
)
from bedplan.outputs.scene_texture import (
    BED_TEXTURES,
    PATH_TEXTURES,
    Texture,
    painted,
    stipple,
)
from bedplan.outputs.sheet import Frame

if TYPE_CHECKING:
    from bedplan.plan import Plan, Walk
    from bedplan.plan.planted import PlantedBed

SOIL = "soil"
BARE = "bare ground"

JOINT_MM = 0.5
"""Open ground narrower than twice this is a joint and gets no texture [mm]."""


def bed_surface(bed: PlacedBed) -> str:
    """Return what one sees on a bed: its mulch, its uppermost layer, or soil."""
    if bed.spec.mulch is not None:
        return bed.spec.mulch.material
    return bed.spec.layers[-1].material if bed.spec.layers else SOIL


def path_surface(walk: Walk) -> str:
    """Return what one sees between a walk's units, or on all of a walk that has none."""
    spec = walk.path.spec
    if walk.outlines and spec.joint_fill:
        return spec.joint_fill
    return spec.layers[-1].material if spec.layers else BARE


@dataclass(frozen=True)
class Surfaces:
    """Which texture stands for which material, on beds and on walks, in order of appearance."""

    beds: dict[str, Texture | None]
    paths: dict[str, Texture | None]


def surfaces(plan: Plan) -> Surfaces:
    """Return a texture for every material seen; bare soil is stippled, bare ground plain."""
    return Surfaces(
        _assigned([bed_surface(bed) for bed in plan.site.beds], BED_TEXTURES),
        _assigned([path_surface(walk) for walk in plan.walks], PATH_TEXTURES),
    )


def _assigned(materials: list[str], textures: tuple[Texture, ...]) -> dict[str, Texture | None]:
    unnamed: dict[str, Texture | None] = {SOIL: stipple, BARE: None}
    named = [name for name in dict.fromkeys(materials) if name not in unnamed]
    assigned = {name: textures[number % len(textures)] for number, name in enumerate(named)}
    return {name: assigned.get(name, unnamed.get(name)) for name in dict.fromkeys(materials)}


def ground_marks(plan: Plan, frame: Frame) -> list[Mark]:
    """Return everything that lies inside the fence."""
    seen, fills = surfaces(plan), unit_fills(plan)
    marks: list[Mark] = []
    for walk in plan.walks:
        marks.extend(walk_marks(walk, frame, seen.paths[path_surface(walk)], fills))
    for bed, edging in zip(plan.site.beds, plan.edging, strict=True):
        marks.extend(
            bed_marks(bed, frame.shape(edging.planting), frame, seen.beds[bed_surface(bed)])
        )
    marks.extend(board_marks(plan, frame))
    for plant in plan.site.plants:
        marks.extend(plant_marks(plant, frame))
    for part in plan.planted:
        marks.extend(planted_marks(part, frame))
    return marks


def unit_fills(plan: Plan) -> dict[str, str]:
    """Return the colour of every unit in use; the second of two sizes is darker everywhere."""
    names = dict.fromkeys(paver.name for walk in plan.walks for paver in walk.pavers)
    second = {paver.name for walk in plan.walks for paver in walk.pavers[1:]}
    return {name: SECOND_UNIT_FILL if name in second else UNIT_FILL for name in names}


def walk_marks(
    walk: Walk, frame: Frame, texture: Texture | None, fills: Mapping[str, str]
) -> list[Mark]:
    """Return a walk: its ground, its units, and texture wherever ground shows between them."""
    area = frame.shape(walk.path.area)
    units = tuple(frame.shape(outline) for outline in walk.outlines)
    marks: list[Mark] = [Shapes("path", tuple(parts(area)), PATH_FILL, PATH_EDGE)]
    if texture is not None:
        taken = shapely.union_all([unit.buffer(JOINT_MM, join_style="mitre") for unit in units])
        shown = minus(area, taken) if units else area
        if not shown.is_empty:
            marks.extend(texture("path texture", shown, PATH_MARK))
    for paver in walk.pavers:
        laid = tuple(
            unit for unit, name in zip(units, walk.unit_names, strict=True) if name == paver.name
        )
        if laid:
            marks.append(Shapes("units", laid, fills[paver.name], UNIT))
    return marks


def bed_marks(
    bed: PlacedBed, planting: BaseGeometry, frame: Frame, texture: Texture | None
) -> list[Mark]:
    """Return a bed's ground; a bed without boards also gets a dashed edge."""
    marks = painted("bed", frame.shape(bed.outline), BED_FILL)
    if texture is not None and not planting.is_empty:
        marks.extend(texture("bed texture", planting, BED_MARK))
    if bed.spec.edging is None:
        marks.append(Shapes("bed edge", (frame.shape(bed.outline),), None, BED_EDGE))
    return marks


def board_marks(plan: Plan, frame: Frame) -> list[Mark]:
    """Return the uppermost tier of boards, every piece at its true thickness."""
    marks: list[Mark] = []
    for name, fill in board_fills(plan).items():
        pieces = tuple(
            frame.shape(piece.outline)
            for edging in plan.edging
            for piece in edging.pieces
            if piece.tier == 1 and piece.board == name
        )
        marks.append(Shapes("boards", pieces, fill, Pen(BOARD_PEN_MM, fill)))
    return marks


def board_fills(plan: Plan) -> dict[str, str]:
    """Return the colour of every kind of board in use, in order of appearance."""
    names = dict.fromkeys(piece.board for edging in plan.edging for piece in edging.pieces)
    return {name: BOARD_FILLS[number % len(BOARD_FILLS)] for number, name in enumerate(names)}


def plant_marks(plant: PlacedPlant, frame: Frame) -> list[Mark]:
    """Return a plant: crown, the ring kept clear, and its stem; a planned plant's is open."""
    spec, scale = plant.plant, frame.mm_per_m
    at = frame.point(plant.at)
    stem_mm = max(0.7, spec.stem_m / 2 * scale)
    marks: list[Mark] = []
    if spec.spread_m > 0.0:
        crown = ShapelyPoint(at).buffer(spec.spread_m / 2 * scale, quad_segs=24)
        pen = CROWN if spec.existing else PLANNED_CROWN
        marks.append(Shapes("plants", (crown,), CROWN_FILL, pen, CROWN_OPACITY))
    if spec.keep_clear_m > 0.0:
        marks.append(Shapes("plants", (frame.shape(plant.ring),), None, RING))
    marks.append(Dots("plants", (at,), stem_mm, GREEN))
    if not spec.existing:
        marks.append(Dots("plants", (at,), stem_mm * 0.55, WHITE))
    return marks


def planted_marks(part: PlantedBed, frame: Frame) -> list[Mark]:
    """Return the plants of a bed set out at a spacing, as open dots."""
    places = tuple(frame.point(place) for place in part.places)
    size_mm = min(0.9, max(0.3, 0.2 * part.spec.spacing_m * frame.mm_per_m))
    # under the plates of names: a name among dots is hard to read
    layer = "bed texture"
    return [Dots(layer, places, size_mm, GREEN), Dots(layer, places, 0.55 * size_mm, WHITE)]
