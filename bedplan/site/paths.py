"""The ground of each path, and where units may lie on it (layer: engines).

Public entry points: `path_area`, `paving_region`, `centre_line`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.errors import Fault, LayoutError
from bedplan.geometry.lines import Point, through
from bedplan.geometry.polygons import common, minus
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import Centerline, Outline, PathShape
from bedplan.model.site import Enclosure, PlacedBed, Site
from bedplan.site.beds import outline_polygon
from bedplan.site.enclosure import Path, locate
from bedplan.units import tell_area


def path_area(
    enclosure: Enclosure,
    shape: PathShape,
    beds: Sequence[PlacedBed],
    taken: Sequence[BaseGeometry],
    path: Path,
) -> BaseGeometry:
    """Return the ground of one path.

    Parameters
    ----------
    enclosure
        The fence; a walk that ends at a crooked fence is trimmed along it.
    shape
        How the path was asked for.
    beds
        All beds; a drawn path may touch them and not cross them.
    taken
        Ground of the paths that stand earlier in the file: where walks cross, the earlier
        keeps the crossing, so that nothing is paved twice.
    path
        Where the path stands in the file, for faults.

    Raises
    ------
    LayoutError
        If the path leaves the fence, crosses a bed, or has no ground left.
    """
    match shape:
        case Centerline():
            drawn = _walk(enclosure, shape, path)
        case Outline():
            drawn = outline_polygon(enclosure, shape, path)
            _check_inside(enclosure, drawn, path)
        case _:
            drawn = minus(enclosure.polygon, *(bed.outline for bed in beds))
    if isinstance(shape, Centerline | Outline):
        _check_beds(drawn, beds, path)
        drawn = minus(drawn, *(bed.outline for bed in beds))
    area = minus(drawn, *taken) if taken else drawn
    if area.is_empty:
        raise LayoutError.of(
            path,
            "the path has no ground left",
            "ground inside the fence that no bed and no earlier path takes",
            "take the path out, or make room for it",
        )
    return area


def _check_inside(enclosure: Enclosure, drawn: BaseGeometry, path: Path) -> None:
    outside = minus(drawn, enclosure.polygon)
    if outside.area > SNAP_M * drawn.length:
        raise LayoutError.of(
            (*path, "polygon"),
            f"{tell_area(outside.area)} of the path lie outside the fence",
            "a path inside the fence",
            "move its corners in, or tie them to the fence",
        )


def _check_beds(drawn: BaseGeometry, beds: Sequence[PlacedBed], path: Path) -> None:
    faults = []
    for bed in beds:
        shared = common(drawn, bed.outline)
        if shared.area > SNAP_M * bed.outline.length:
            faults.append(
                Fault(
                    path,
                    f"the path runs {tell_area(shared.area)} into bed {bed.spec.name!r}",
                    "a path that touches beds and crosses none",
                    "move the path or the bed, or make the path narrower",
                )
            )
    if faults:
        raise LayoutError(faults)


def _walk(enclosure: Enclosure, shape: Centerline, path: Path) -> BaseGeometry:
    apart = _separate(enclosure, shape, path)
    if len(apart) < 2:
        raise LayoutError.of(
            (*path, "centerline"),
            f"{len(apart)} separate points",
            "at least two points",
            "add the other end of the walk",
        )
    line = LineString(_reach_fence(enclosure, apart, shape.width_m))
    strip = line.buffer(shape.width_m / 2, cap_style="flat", join_style="mitre", mitre_limit=10)
    inside = common(strip, enclosure.polygon)
    if inside.area < 0.5 * strip.area or not enclosure.polygon.buffer(SNAP_M).covers(
        LineString(apart)
    ):
        raise LayoutError.of(
            (*path, "centerline"),
            "the centre line leaves the fence",
            "a walk inside the fence",
            "tie its points to the fence",
        )
    return inside


def _separate(enclosure: Enclosure, shape: Centerline, path: Path) -> list[Point]:
    """Return the points of a centre line, each once."""
    points = [
        locate(enclosure, place, (*path, "centerline", i)) for i, place in enumerate(shape.points)
    ]
    return [p for i, p in enumerate(points) if i == 0 or math.dist(p, points[i - 1]) > SNAP_M]


def centre_line(enclosure: Enclosure, shape: PathShape) -> list[Point]:
    """Return the points a walk follows, beyond the fence where it ends there; none for areas."""
    if not isinstance(shape, Centerline):
        return []
    return _reach_fence(enclosure, _separate(enclosure, shape, ()), shape.width_m)


def _reach_fence(enclosure: Enclosure, points: list[Point], width_m: float) -> list[Point]:
    """Lengthen a walk that ends on the fence, to meet a skewed fence over its whole width."""
    ring = enclosure.polygon.exterior
    ends = []
    for end, inner in ((points[0], points[1]), (points[-1], points[-2])):
        on_fence = ring.distance(LineString([end, end])) <= 10 * SNAP_M
        ends.append(
            through(inner, end).point(math.dist(inner, end) + width_m) if on_fence else end
        )
    return [ends[0], *points[1:-1], ends[1]]


def paving_region(site: Site, area: BaseGeometry) -> BaseGeometry:
    """Return where units may lie: a path less the plants' clear rings and the posts."""
    rings = [plant.ring for plant in site.plants if plant.plant.ring_m > 0.0]
    posts = [post.outline for post in site.posts]
    keep_out = [shape for shape in (*rings, *posts) if shape.intersects(area)]
    return minus(area, *keep_out) if keep_out else area
