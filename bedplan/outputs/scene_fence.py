"""The fence, its posts and its gates as marks on the sheet (layer: outputs).

The fence line is the inside face of the framing, so its depth is drawn outwards from it.
Public entry point: `fence_marks`.
"""

from __future__ import annotations

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import minus, parts
from bedplan.model.site import PlacedGate, Side, Site
from bedplan.outputs.scene import Mark, Point, Shapes, Strokes
from bedplan.outputs.scene_palette import (
    FENCE_BACK,
    FENCE_FACE,
    FENCE_FILL,
    FENCE_HATCH,
    GATE_LEAF,
    GATE_SWING,
    INK,
    POST,
    WHITE,
)
from bedplan.outputs.scene_texture import hatch, painted
from bedplan.outputs.sheet import Frame

USUAL_DEPTH_M = 0.089
"""Depth of the framing where the file gives no posts [m]: a dressed 4×4 is 3-1/2 in."""

LEAST_DEPTH_MM = 1.3
"""The fence is drawn no thinner than this, or it could not be told from a line [mm]."""

LEAF_M = 0.04
"""Thickness a gate leaf is drawn with [m]."""


def fence_depth_mm(site: Site, mm_per_m: float) -> float:
    """Return the depth the fence is drawn with [mm]."""
    widths = [post.outline.length / 4.0 for post in site.posts]
    return max(LEAST_DEPTH_MM, mm_per_m * max(widths, default=USUAL_DEPTH_M))


def fence_band(site: Site, frame: Frame) -> Polygon:
    """Return the ground the fence stands on, gates and all, outwards of the fence line [mm]."""
    ring = frame.shape(site.enclosure.polygon)
    outer = ring.buffer(fence_depth_mm(site, frame.mm_per_m), join_style="mitre", mitre_limit=4.0)
    return Polygon(max(parts(outer), key=lambda part: part.area).exterior, [ring.exterior])


def _side_of(site: Site, gate: PlacedGate) -> Side:
    side = site.enclosure.side(gate.gate.side)
    if side is None:
        message = f"gate {gate.gate.name!r} hangs in no side"
        raise KeyError(message)
    return side


def opening(site: Site, gate: PlacedGate, frame: Frame) -> Polygon:
    """Return the gap a gate leaves in the fence [mm]."""
    side = _side_of(site, gate)
    depth_m = 1.05 * fence_depth_mm(site, frame.mm_per_m) / frame.mm_per_m
    near = side.line.station(gate.start)
    far = side.line.station(gate.end)
    corners = ((near, 0.01), (far, 0.01), (far, -depth_m), (near, -depth_m))
    return Polygon([frame.point(side.point(along, inside)) for along, inside in corners])


def fence_marks(site: Site, frame: Frame) -> list[Mark]:
    """Return the fence with its gaps, the posts, and every gate with its leaf and swing."""
    gaps = [opening(site, gate, frame) for gate in site.gates]
    band = minus(fence_band(site, frame), *gaps)
    posts = tuple(frame.shape(post.outline) for post in site.posts)
    marks: list[Mark] = [
        *painted("fence", band, FENCE_FILL),
        *hatch("fence", band, FENCE_HATCH, 1.1),
        Strokes("fence", _faces(fence_band(site, frame).interiors[0], gaps), FENCE_FACE),
        Strokes("fence", _faces(fence_band(site, frame).exterior, gaps), FENCE_BACK),
        *(_jambs(gap) for gap in gaps),
    ]
    if posts:
        marks.append(Shapes("posts", posts, INK, POST))
    for gate in site.gates:
        marks.extend(gate_marks(gate, frame))
    return marks


def _faces(ring: LineString, gaps: list[Polygon]) -> tuple[tuple[Point, ...], ...]:
    cut: BaseGeometry = LineString(ring.coords)
    if gaps:
        cut = shapely.difference(cut, shapely.union_all(gaps))
    return tuple(
        tuple((float(x), float(y)) for x, y in line.coords) for line in shapely.get_parts(cut)
    )


def _jambs(gap: Polygon) -> Strokes:
    near_in, far_in, far_out, near_out = list(gap.exterior.coords)[:4]
    return Strokes("fence", ((near_in, near_out), (far_in, far_out)), FENCE_FACE)


def gate_marks(gate: PlacedGate, frame: Frame) -> list[Mark]:
    """Return a gate's leaves standing open, the arcs they sweep and the line they close on."""
    closed = (frame.point(gate.start), frame.point(gate.end))
    sectors = [
        [frame.point(point) for point in swing.exterior.coords[:-1]] for swing in gate.swings
    ]
    leaves = tuple(_leaf(sector[0], sector[-1], LEAF_M * frame.mm_per_m) for sector in sectors)
    arcs = tuple(tuple(sector[1:]) for sector in sectors)
    return [
        Strokes("gates", (*arcs, closed), GATE_SWING),
        Shapes("gates", leaves, WHITE, GATE_LEAF),
    ]


def _leaf(hinge: Point, tip: Point, thick_mm: float) -> Polygon:
    return LineString([hinge, tip]).buffer(max(thick_mm, 0.8) / 2, cap_style="flat")
