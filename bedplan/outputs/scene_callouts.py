"""What is written on the drawing and where it may stand (layer: outputs).

Corners get their letters outside the fence, gates their names beside the opening, beds and
walks their name and size on their own ground, plants their name beside the stem. Each is a
`Label` with its candidates; `bedplan.outputs.labels.place` decides. Public entry point:
`callouts`.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator
from typing import TYPE_CHECKING, Final

from shapely.geometry.base import BaseGeometry

from bedplan.edging.model import BedEdging
from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.model.layout import System
from bedplan.model.site import PlacedBed, PlacedGate, PlacedPlant, Site
from bedplan.outputs.label import Candidate, Label
from bedplan.outputs.scene import Point
from bedplan.outputs.scene_fence import fence_depth_mm
from bedplan.outputs.scene_inner import size_words
from bedplan.outputs.scene_lettering import (
    Line,
    block_size_mm,
    clean,
    upright,
)
from bedplan.outputs.scene_names import SHRINK, around, ground_label
from bedplan.outputs.scene_palette import (
    BED_FILL,
    CORNER,
    GATE_NAME,
    PATH_FILL,
    PLANT_NAME,
    UNIT_FILL,
    WHITE,
)
from bedplan.outputs.sheet import Frame
from bedplan.units import format_area

if TYPE_CHECKING:
    from bedplan.plan import Plan, Walk

CORNER_RADIUS_MM: Final = 2.6
"""Of the ring round a corner's letter [mm]."""


def callouts(plan: Plan, frame: Frame, sized: Container[str] = ()) -> list[Label]:
    """Return every label the drawing needs but the dimensions' figures.

    The label of a bed in `sized` also tells the bed's size in words.
    """
    show, site = plan.layout.show, plan.site
    return [
        *corner_labels(site, frame),
        *(gate_label(site, gate, frame) for gate in site.gates),
        *(
            bed_label(
                bed,
                frame.shape(_planted(bed, edging)),
                _facts(bed, edging, show, bed.spec.name in sized),
            )
            for bed, edging in zip(site.beds, plan.edging, strict=True)
        ),
        *(walk_label(walk, frame) for walk in plan.walks if not walk.path.area.is_empty),
        *(plant_label(plant, frame) for plant in site.plants),
    ]


def _planted(bed: PlacedBed, edging: BedEdging) -> BaseGeometry:
    return bed.outline if edging.planting.is_empty else edging.planting


def figure(area_m2: float, show: System) -> str:
    """Return an area with a raised 2."""
    return format_area(area_m2, show).replace("^2", "²")


def corner_labels(site: Site, frame: Frame) -> list[Label]:
    """Return the corners' letters, outwards on the line that halves each corner."""
    depth = fence_depth_mm(site, frame.mm_per_m)
    ring = list(site.enclosure.corners)
    labels = []
    for number, (name, corner) in enumerate(ring):
        inside = site.enclosure.interior_deg(number)
        after = direction_deg(corner, ring[(number + 1) % len(ring)][1])
        outward = after + site.enclosure.sides[0].inward * inside / 2.0 + 180.0
        behind = min(3.0 * depth, depth / max(0.1, math.sin(math.radians(inside / 2.0))))
        spots = tuple(_corner_spots(clean(name), frame.point(corner), outward, behind))
        labels.append(Label(f"corner {name}", spots, rank=0))
    return labels


def _corner_spots(
    name: str, corner: Point, outward_deg: float, behind_mm: float
) -> Iterator[Candidate]:
    for out in (3.2, 4.5, 6.0, 8.0, 10.5, 13.5, 17.0):
        for turn in (0.0, 12.0, -12.0, 25.0, -25.0, 40.0, -40.0, 60.0, -60.0):
            x, y = unit_vector(outward_deg + turn)
            reach = behind_mm + out
            center = (corner[0] + reach * x, corner[1] + reach * y)
            yield Candidate(
                ((name, CORNER),),
                center,
                0.0,
                0.5 * out + abs(turn) * 0.05,
                ring_mm=CORNER_RADIUS_MM,
            )


def gate_label(site: Site, gate: PlacedGate, frame: Frame) -> Label:
    """Return a gate's name: outside between fence and dimensions, else inside, else led."""
    side = site.enclosure.side(gate.gate.side)
    middle = frame.point(gate.middle)
    name = clean(gate.gate.name)
    spots: list[Candidate] = []
    if side is not None:
        angle = upright(side.direction_deg)
        out = side.direction_deg + (-90.0 if side.inward > 0 else 90.0)
        depth = fence_depth_mm(site, frame.mm_per_m)
        for factor, smaller in SHRINK:
            lines: tuple[Line, ...] = ((name, GATE_NAME.sized(GATE_NAME.size_pt * factor)),)
            spots.extend(_gate_spots(lines, middle, (angle, out), depth, smaller / 2))
    return Label(
        f"gate {gate.gate.name}",
        tuple(spots),
        rank=2,
        more=lambda: around(((name, GATE_NAME),), middle),
    )


def _gate_spots(
    lines: tuple[Line, ...],
    middle: Point,
    angles: tuple[float, float],
    depth_mm: float,
    smaller: float,
) -> Iterator[Candidate]:
    _, tall = block_size_mm(lines)
    angle, out_deg = angles
    ox, oy = unit_vector(out_deg)
    ax, ay = unit_vector(angle)
    outside = depth_mm + 1.0 + tall / 2
    inside = -(tall / 2 + 1.2)
    for reach, cost in ((outside, 0.0), (outside + 1.0, 0.5), (inside, 6.0), (inside - 2.5, 7.0)):
        for slide in (0.0, 4.0, -4.0, 8.0, -8.0, 14.0, -14.0):
            center = (middle[0] + reach * ox + slide * ax, middle[1] + reach * oy + slide * ay)
            yield Candidate(
                lines,
                center,
                angle,
                cost + smaller + 0.4 * abs(slide),
                plate=WHITE if reach < 0.0 else None,
            )


def _facts(bed: PlacedBed, edging: BedEdging, show: System, sized: bool) -> tuple[str, ...]:
    size = (size_words(bed, show),) if sized else ()
    return tuple(filter(None, (*size, figure(edging.planting.area, show))))


def bed_label(bed: PlacedBed, ground: BaseGeometry, facts: tuple[str, ...]) -> Label:
    """Return a bed's name and what is told of it, inside what is planted or led to it."""
    return ground_label(f"bed {bed.spec.name}", (bed.spec.name, *facts), ground, BED_FILL)


def walk_label(walk: Walk, frame: Frame) -> Label:
    """Return a walk's name and how many units of each size lie in it."""
    spec = walk.path.spec
    facts = tuple(f"{count} × {clean(name)}" for name, count in walk.counts.items())
    plate = UNIT_FILL if walk.outlines else PATH_FILL
    return ground_label(
        f"path {spec.name}", (spec.name, *facts), frame.shape(walk.path.area), plate
    )


def plant_label(plant: PlacedPlant, frame: Frame) -> Label:
    """Return a plant's name, close by its stem or led to it."""
    at = frame.point(plant.at)
    stem = max(0.7, plant.plant.stem_m / 2 * frame.mm_per_m)
    ring = max(0.0, plant.plant.ring_m * frame.mm_per_m - stem)
    lines: tuple[Line, ...] = ((clean(plant.plant.name), PLANT_NAME),)
    wide, tall = block_size_mm(lines)
    spots = []
    for order, angle in enumerate((0.0, 180.0, 90.0, 270.0, 45.0, 135.0, 315.0, 225.0)):
        x, y = unit_vector(angle)
        for out in (0.9, 2.0, 3.5, ring + 1.0, ring + 2.5):
            reach = (x * (wide / 2 + stem + out), y * (tall / 2 + stem + out))
            center = (at[0] + reach[0], at[1] + reach[1])
            spots.append(Candidate(lines, center, 0.0, 0.4 * order + out))
    return Label(f"plant {plant.plant.name}", tuple(spots), rank=4, more=lambda: around(lines, at))
