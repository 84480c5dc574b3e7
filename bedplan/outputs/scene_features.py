"""What labels should rather not cover, and how much it costs (layer: outputs).

Weights are cost per covered square millimetre, to be read against the costs of candidates: a
step down in type size costs 5, a leader 12 and more. Public entry point: `features`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint

from bedplan.model.site import PlacedGate, PlacedPlant, Side
from bedplan.outputs.label import Feature
from bedplan.outputs.scene import Point
from bedplan.outputs.scene_dimensions import Measure
from bedplan.outputs.scene_fence import fence_depth_mm
from bedplan.outputs.sheet import Frame

if TYPE_CHECKING:
    from bedplan.plan import Plan


def features(plan: Plan, frame: Frame, measures: Sequence[Measure]) -> list[Feature]:
    """Return what labels should rather not cover, with weights per square millimetre."""
    site = plan.site
    depth_m = fence_depth_mm(site, frame.mm_per_m) / frame.mm_per_m
    found = [Feature(_band(side, depth_m, frame), 6.0) for side in site.enclosure.sides]
    found += [
        Feature(LineString(line).buffer(0.25, cap_style="flat"), 14.0)
        for measure in measures
        for line in _drawn(measure)
    ]
    found += [
        Feature(frame.shape(piece.outline).buffer(0.3, join_style="mitre"), 6.0)
        for edging in plan.edging
        for piece in edging.pieces
    ]
    found += [Feature(frame.shape(bed.outline), 0.2, led_only=True) for bed in site.beds]
    for gate in site.gates:
        found += _gate_features(gate, frame)
    for plant in site.plants:
        found += _plant_features(plant, frame)
    places = [frame.point(place) for part in plan.planted for place in part.places]
    found += [Feature(ShapelyPoint(place).buffer(0.8, quad_segs=2), 5.0) for place in places]
    return found


def _band(side: Side, depth_m: float, frame: Frame) -> Polygon:
    """Return the ground one side of the fence stands on, from corner to corner."""
    return Polygon(
        [
            frame.point(side.point(along, inside))
            for along, inside in (
                (0.0, 0.0),
                (side.length_m, 0.0),
                (side.length_m, -depth_m),
                (0.0, -depth_m),
            )
        ]
    )


def _drawn(measure: Measure) -> list[tuple[Point, Point]]:
    return [
        measure.line,
        *(
            (measure.at(end, measure.witness_mm), measure.at(end, measure.line_mm + 1.2))
            for end in (0.0, 1.0)
        ),
    ]


def _gate_features(gate: PlacedGate, frame: Frame) -> list[Feature]:
    swings = [frame.shape(swing) for swing in gate.swings]
    edges = [LineString(swing.exterior.coords).buffer(0.4, quad_segs=1) for swing in swings]
    return [*(Feature(swing, 0.1) for swing in swings), *(Feature(edge, 5.0) for edge in edges)]


def _plant_features(plant: PlacedPlant, frame: Frame) -> list[Feature]:
    at = ShapelyPoint(frame.point(plant.at))
    stem = max(0.7, plant.plant.stem_m / 2 * frame.mm_per_m)
    crown = at.buffer(plant.plant.spread_m / 2 * frame.mm_per_m, quad_segs=8)
    ring = at.buffer(max(stem, plant.plant.ring_m * frame.mm_per_m), quad_segs=8)
    edges = [circle.boundary.buffer(0.3, quad_segs=1) for circle in (crown, ring)]
    return [Feature(at.buffer(stem + 0.3), 12.0), *(Feature(edge, 4.0) for edge in edges)]
