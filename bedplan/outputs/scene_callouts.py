"""What is written on the drawing and where it may stand (layer: outputs).

Corners get their letters outside the fence, gates their names beside the opening, beds and
walks their name and size on their own ground, plants their name beside the stem. Each is a
`Label` with its candidates; `bedplan.outputs.labels.place` decides. Public entry points:
`callouts` for the labels, `features` for what they should not cover.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.edging.model import BedEdging
from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.geometry.polygons import parts
from bedplan.model.layout import System
from bedplan.model.site import PlacedBed, PlacedGate, PlacedPlant, Site
from bedplan.outputs.labels import Candidate, Feature, Floats, Label
from bedplan.outputs.scene import Point
from bedplan.outputs.scene_dimensions import Measure, led
from bedplan.outputs.scene_fence import fence_band, fence_depth_mm
from bedplan.outputs.scene_inner import size_words
from bedplan.outputs.scene_lettering import (
    Line,
    block_size_mm,
    clean,
    rectangle,
    upright,
    wrap,
)
from bedplan.outputs.scene_palette import (
    BED_FILL,
    CORNER,
    FIGURE,
    GATE_NAME,
    NAME,
    PATH_FILL,
    PLANT_NAME,
    UNIT_FILL,
    Style,
)
from bedplan.outputs.sheet import Frame
from bedplan.units import format_area

if TYPE_CHECKING:
    from bedplan.plan import Plan, Walk

CORNER_RADIUS_MM: Final = 2.6
"""Of the ring round a corner's letter [mm]."""

Wording = tuple[tuple[Line, ...], float]
"""A way to write a label, and what it costs."""

_SHRINK: Final = ((1.0, 0.0), (0.875, 5.0), (0.78, 11.0))
"""Smaller type where a name does not fit otherwise, and what it costs."""

_REACHES: Final = (6.0, 8.0, 11.0, 15.0, 20.0, 26.0, 33.0, 41.0, 50.0, 62.0, 76.0, 92.0, 110.0)

_BARE_MM: Final = 1.8
"""A name on its own ground keeps half of this from the edge [mm]."""

_PLACES: Final = 90
"""So many of the best places on its own ground are kept for a name, and as many of the rest."""


def callouts(plan: Plan, frame: Frame, sized: Container[str] = ()) -> list[Label]:
    """Return every label the drawing needs but the dimensions' figures.

    The label of a bed in `sized` also tells the bed's size in words.
    """
    show = plan.layout.show
    beds = zip(plan.site.beds, plan.edging, strict=True)
    return [*corner_labels(plan.site, frame),
            *(gate_label(plan.site, gate, frame) for gate in plan.site.gates),
            *(bed_label(bed, frame.shape(edging.planting), frame,
                        _facts(bed, edging, show, bed.spec.name in sized))
              for bed, edging in beds),
            *(walk_label(walk, frame) for walk in plan.walks if not walk.path.area.is_empty),
            *(plant_label(plant, frame) for plant in plan.site.plants)]


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


def _corner_spots(name: str, corner: Point, outward_deg: float,
                  behind_mm: float) -> Iterator[Candidate]:
    for out in (3.2, 4.5, 6.0, 8.0, 10.5, 13.5, 17.0):
        for turn in (0.0, 12.0, -12.0, 25.0, -25.0, 40.0, -40.0, 60.0, -60.0):
            x, y = unit_vector(outward_deg + turn)
            reach = behind_mm + out
            center = (corner[0] + reach * x, corner[1] + reach * y)
            yield Candidate(((name, CORNER),), center, 0.0, 0.5 * out + abs(turn) * 0.05,
                            ring_mm=CORNER_RADIUS_MM)


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
        for factor, smaller in _SHRINK:
            lines: tuple[Line, ...] = ((name, _scaled(GATE_NAME, factor)),)
            spots.extend(_gate_spots(lines, middle, (angle, out), depth, smaller / 2))
    return Label(f"gate {gate.gate.name}", tuple(spots), rank=2,
                 more=lambda: _around_leaders(((name, GATE_NAME),), middle))


def _gate_spots(lines: tuple[Line, ...], middle: Point, angles: tuple[float, float],
                depth_mm: float, smaller: float) -> Iterator[Candidate]:
    _, tall = block_size_mm(lines)
    angle, out_deg = angles
    ox, oy = unit_vector(out_deg)
    ax, ay = unit_vector(angle)
    outside = depth_mm + 1.0 + tall / 2
    inside = -(tall / 2 + 1.2)
    for reach, cost in ((outside, 0.0), (outside + 1.0, 0.5), (inside, 6.0), (inside - 2.5, 7.0)):
        for slide in (0.0, 4.0, -4.0, 8.0, -8.0, 14.0, -14.0):
            center = (middle[0] + reach * ox + slide * ax, middle[1] + reach * oy + slide * ay)
            yield Candidate(lines, center, angle, cost + smaller + 0.2 * abs(slide))


def _around_leaders(lines: tuple[Line, ...], target: Point) -> tuple[Candidate, ...]:
    return tuple(led(lines, target, reach, angle)
                 for reach in _REACHES for angle in range(0, 360, 15))


def _facts(bed: PlacedBed, edging: BedEdging, show: System, sized: bool) -> tuple[str, ...]:
    size = (size_words(bed, show),) if sized else ()
    return tuple(filter(None, (*size, figure(edging.planting.area, show))))


def bed_label(bed: PlacedBed, planting: BaseGeometry, frame: Frame,
              facts: tuple[str, ...]) -> Label:
    """Return a bed's name and what is told of it, inside it or led to it."""
    ground = planting if not planting.is_empty else frame.shape(bed.outline)
    return _ground_label(f"bed {bed.spec.name}", bed.spec.name, facts, ground, BED_FILL, 3)


def walk_label(walk: Walk, frame: Frame) -> Label:
    """Return a walk's name and how many units lie in it."""
    spec = walk.path.spec
    facts = (f"{len(walk.outlines)} × {clean(walk.paver.name)}",) if walk.paver else ()
    plate = UNIT_FILL if walk.outlines else PATH_FILL
    return _ground_label(f"path {spec.name}", spec.name, facts, frame.shape(walk.path.area),
                         plate, 5)


def _ground_label(subject: str, name: str, facts: tuple[str, ...], ground: BaseGeometry,
                  plate: str, rank: int) -> Label:
    name = clean(name)
    spots = _inside(ground, _wordings(name, facts), plate)
    wordings = list(_wordings(name, facts))[:4]
    return Label(subject, spots, rank, more=lambda: _led_all(wordings, ground))


def _led_all(wordings: Sequence[Wording], ground: BaseGeometry) -> tuple[Candidate, ...]:
    """Return places beside a shape, each led to a spot just inside its edge."""
    heart = _heart(ground)
    return tuple(replace(candidate, cost=candidate.cost + cost)
                 for angle in range(0, 360, 15)
                 for target in (_inside_edge(ground, heart, angle),)
                 for lines, cost in wordings for reach in _REACHES
                 for candidate in (led(lines, target, reach, angle),))


def _inside_edge(ground: BaseGeometry, heart: Point, angle_deg: float) -> Point:
    """Return where a ray from the heart of a shape comes near its edge."""
    x, y = unit_vector(angle_deg)
    ray = LineString([heart, (heart[0] + 1000.0 * x, heart[1] + 1000.0 * y)])
    reach = max(0.0, ray.intersection(ground.boundary).distance(ShapelyPoint(heart)) - 1.5)
    return heart[0] + reach * x, heart[1] + reach * y


def _heart(ground: BaseGeometry) -> Point:
    """Return the middle of the largest part, or its roomiest place where the middle is outside."""
    largest = parts(ground)[0]
    middle = largest.centroid
    heart = middle if largest.contains(middle) else shapely.maximum_inscribed_circle(largest)
    x, y = heart.coords[0]
    return x, y


def _wordings(name: str, facts: tuple[str, ...]) -> Iterator[Wording]:
    """Return ways to write a name and its facts, best first, with what each costs."""
    for factor, smaller in _SHRINK:
        head, body = _scaled(NAME, factor), _scaled(FIGURE, factor)
        tail = tuple((fact, body) for fact in facts)
        yield ((name, head), *tail), smaller
        if facts:
            yield ((name, head), (" · ".join(facts), body)), smaller + 1.0
            yield ((" · ".join((name, *facts)), head),), smaller + 1.5
        for count in range(2, min(4, len(name.split())) + 1):
            yield (*((row, head) for row in _rows(name, head, count)), *tail), smaller + count


def _scaled(style: Style, factor: float) -> Style:
    return style.sized(round(style.size_pt * factor, 2))


def _rows(name: str, style: Style, count: int) -> list[str]:
    """Return a name on about so many lines of even length."""
    wide, _ = block_size_mm(((name, style),))
    for room in np.linspace(wide / count, wide, 12):
        rows = wrap(name, style, float(room))
        if len(rows) <= count:
            return rows
    return [name]


def _inside(ground: BaseGeometry, wordings: Iterator[Wording], plate: str) -> tuple[Candidate, ...]:
    """Return the best places wholly inside a shape, whatever the wording and the angle."""
    places = _sample(ground)
    heart = np.asarray(_heart(ground))
    far = np.hypot(*(places - heart).T)
    shapely.prepare(ground)
    found: list[Candidate] = []
    for lines, cost in wordings:
        for angle, turned in _angles(ground):
            fits = shapely.covers(ground, _boxes(places, block_size_mm(lines), angle))
            found.extend(
                Candidate(lines, (float(x), float(y)), angle, cost + turned + 0.06 * float(away),
                          plate=plate)
                for (x, y), away in zip(places[fits], far[fits], strict=True))
    found.sort(key=lambda candidate: candidate.cost)
    return (*found[:_PLACES], *found[_PLACES::max(1, (len(found) - _PLACES) // _PLACES)])


def _sample(ground: BaseGeometry) -> Floats:
    """Return ``(n, 2)`` places over a shape: the heart of every part and a grid over all."""
    hearts = [shapely.maximum_inscribed_circle(part).coords[0] for part in parts(ground)]
    left, bottom, right, top = ground.bounds
    step = max(1.5, math.sqrt((right - left) * (top - bottom) / 900.0))
    grid = [(x, y) for x in np.arange(left + step / 2, right, step)
            for y in np.arange(bottom + step / 2, top, step)]
    inside = shapely.contains_xy(ground, grid) if grid else []
    return np.array([*hearts, *(place for place, yes in zip(grid, inside, strict=True) if yes)])


def _boxes(places: Floats, size: tuple[float, float], angle_deg: float) -> NDArray[np.object_]:
    """Return the rectangles that words of one size cover, centred on every place."""
    ring = rectangle((0.0, 0.0), size[0] + _BARE_MM, size[1] + _BARE_MM, angle_deg)
    corners = np.array(ring.exterior.coords[:4])
    boxes: NDArray[np.object_] = shapely.polygons(places[:, None, :] + corners[None, :, :])
    return boxes


def _angles(ground: BaseGeometry) -> Iterator[tuple[float, float]]:
    """Return level, then along the shape's longest edges, with what each costs."""
    yield 0.0, 0.0
    seen = [0.0]
    for angle in _edge_angles(ground)[:3]:
        if all(abs(upright(angle - other)) > 4.0 for other in seen):
            seen.append(angle)
            yield angle, 1.0 + abs(angle) / 30.0


def _edge_angles(ground: BaseGeometry) -> list[float]:
    coords = np.asarray(parts(ground)[0].simplify(0.3).exterior.coords)
    steps = np.diff(coords, axis=0)
    order = np.argsort(-np.hypot(*steps.T), kind="stable")
    return [upright(math.degrees(math.atan2(y, x))) for x, y in steps[order]]


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
    return Label(f"plant {plant.plant.name}", tuple(spots), rank=4,
                 more=lambda: _around_leaders(lines, at))


def features(plan: Plan, frame: Frame, measures: Sequence[Measure]) -> list[Feature]:
    """Return what labels should rather not cover, with weights per square millimetre."""
    site = plan.site
    lines = [line for measure in measures for line in _drawn(measure)]
    found = [Feature(fence_band(site, frame), 6.0),
             *(Feature(LineString(line).buffer(0.25), 14.0) for line in lines)]
    found += [Feature(frame.shape(piece.outline).buffer(0.3), 6.0) for edging in plan.edging
              for piece in edging.pieces]
    found += [Feature(frame.shape(bed.outline), 0.05) for bed in site.beds]
    for gate in site.gates:
        found += _gate_features(gate, frame)
    for plant in site.plants:
        found += _plant_features(plant, frame)
    return found


def _drawn(measure: Measure) -> list[tuple[Point, Point]]:
    return [measure.line, *((measure.at(end, measure.witness_mm),
                             measure.at(end, measure.line_mm + 1.2)) for end in (0.0, 1.0))]


def _gate_features(gate: PlacedGate, frame: Frame) -> list[Feature]:
    swings = [frame.shape(swing) for swing in gate.swings]
    edges = [LineString(swing.exterior.coords).buffer(0.4) for swing in swings]
    return [*(Feature(swing, 0.1) for swing in swings), *(Feature(edge, 5.0) for edge in edges)]


def _plant_features(plant: PlacedPlant, frame: Frame) -> list[Feature]:
    at = ShapelyPoint(frame.point(plant.at))
    stem = max(0.7, plant.plant.stem_m / 2 * frame.mm_per_m)
    crown: Polygon = at.buffer(plant.plant.spread_m / 2 * frame.mm_per_m, quad_segs=8)
    ring = at.buffer(max(stem, plant.plant.ring_m * frame.mm_per_m))
    return [Feature(at.buffer(stem + 0.3), 12.0), Feature(crown.boundary.buffer(0.3, quad_segs=1), 4.0),
            Feature(ring.boundary.buffer(0.3, quad_segs=1), 4.0)]
