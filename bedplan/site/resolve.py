"""Puts every part of a layout on the ground and tells all its faults at once (layer: engines).

Public entry points: `resolve` for the site, `find_faults` for the faults alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import ParamSpec, TypeVar

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import Fault, LayoutError
from bedplan.geometry.polygons import EMPTY, common, minus, parts, touching
from bedplan.geometry.tolerance import FIT_M, SNAP_M
from bedplan.model.layout import BedShape, BedSpec, Circle, Layout, Paving, Rest
from bedplan.model.materials import Paver
from bedplan.model.site import Enclosure, PlacedBed, PlacedPath, PlacedPlant, Site
from bedplan.site.beds import bed_outline, facet_count, sagitta_of
from bedplan.site.enclosure import build_enclosure, locate, place_gates, place_pipes, place_posts
from bedplan.site.paths import path_area, paving_region
from bedplan.units import tell_area, tell_length

Made = TypeVar("Made")
P = ParamSpec("P")


def find_faults(layout: Layout) -> tuple[Fault, ...]:
    """Return every fault of a layout's geometry; empty if it can be computed."""
    try:
        resolve(layout)
    except LayoutError as error:
        return error.faults
    return ()


def resolve(layout: Layout) -> Site:
    """Return the site: every part of the layout as a shape on the ground.

    Notes
    -----
    Beds, paths and ``spare`` tile the enclosure: their areas add up to its area.

    Raises
    ------
    LayoutError
        With every fault found. A fence that cannot be drawn hides the faults of what is tied
        to it, so those come alone.
    """
    enclosure = build_enclosure(layout.enclosure)
    log = _Log()
    gates = log.attempt(place_gates, enclosure, layout.gates) or ()
    posts = log.attempt(place_posts, enclosure, layout.enclosure.posts) or ()
    pipes = log.attempt(place_pipes, enclosure, layout.pipes) or ()
    plants = _place_plants(enclosure, layout, log)
    beds = _place_beds(enclosure, layout, plants, log)
    paths = _place_paths(enclosure, layout, beds, log)
    _check_new_plants(plants, beds, log)
    spare = minus(
        enclosure.polygon, *(bed.outline for bed in beds), *(path.area for path in paths)
    )
    site = Site(enclosure, gates, posts, tuple(plants), tuple(beds), tuple(paths), spare, pipes)
    log.faults.extend(_unit_faults(layout, site))
    if log.faults:
        raise LayoutError(log.faults)
    return site


class _Log:
    """Collects the faults of independent parts, so that one bad bed does not hide another."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def attempt(self, make: Callable[P, Made], *args: P.args, **names: P.kwargs) -> Made | None:
        """Return what `make` gives, or None when it finds faults."""
        try:
            return make(*args, **names)
        except LayoutError as error:
            self.faults.extend(error.faults)
            return None


def _place_plants(enclosure: Enclosure, layout: Layout, log: _Log) -> list[PlacedPlant]:
    placed = []
    fence = enclosure.polygon.buffer(SNAP_M)
    for number, plant in enumerate(layout.plants):
        path = ("plant", number, "at")
        at = log.attempt(locate, enclosure, plant.at, path)
        if at is None:
            continue
        placed.append(PlacedPlant(plant, at))
        if not fence.covers(shapely.Point(at)):
            away = enclosure.polygon.distance(shapely.Point(at))
            log.faults.append(
                Fault(
                    path,
                    f"plant {plant.name!r} stands {tell_length(away)} outside the fence",
                    "a place inside the fence",
                    "measure its place again",
                )
            )
    return placed


def _place_beds(
    enclosure: Enclosure, layout: Layout, plants: Sequence[PlacedPlant], log: _Log
) -> list[PlacedBed]:
    by_name = {plant.plant.name: plant for plant in plants}
    placed: list[PlacedBed] = []
    numbers: list[int] = []
    for number, bed in enumerate(layout.beds):
        path = ("bed", number)
        shape = _facetted(layout, bed)
        outline = log.attempt(bed_outline, enclosure, shape, by_name, path)
        if outline is None:
            continue
        fault = _outside_fault(enclosure, bed, outline, path)
        if fault is not None:
            log.faults.append(fault)
            continue
        round_m = shape.radius_m if isinstance(shape, Circle) and not shape.facets else 0.0
        strays_m = (
            sagitta_of(shape.radius_m, shape.facets)
            if isinstance(shape, Circle) and shape.facets
            else 0.0
        )
        placed.append(PlacedBed(bed, _trimmed(enclosure, outline), round_m, strays_m))
        numbers.append(number)
    return _settled(placed, numbers, log)


def _facetted(layout: Layout, bed: BedSpec) -> BedShape:
    """Give a round bed straight facets where a sagitta is asked, or its boards do not bend."""
    shape, board = bed.shape, layout.boards.get(bed.edging or "")
    if not isinstance(shape, Circle) or shape.facets:
        return shape
    if shape.sagitta_m:
        return replace(shape, facets=facet_count(shape.radius_m, shape.sagitta_m, least=3))
    if board is None or board.bends:
        return shape
    return replace(shape, facets=facet_count(shape.radius_m))


def _outside_fault(
    enclosure: Enclosure, bed: BedSpec, outline: Polygon, path: tuple[str | int, ...]
) -> Fault | None:
    outside = minus(outline, enclosure.polygon)
    if outside.area <= SNAP_M * outline.length:
        return None
    if common(outline, enclosure.polygon).is_empty:
        return Fault(
            path,
            f"bed {bed.name!r} lies outside the fence",
            "a bed inside the fence",
            "move it in, or tie it to a side",
        )
    reach = max(
        enclosure.polygon.distance(shapely.Point(point))
        for point in shapely.get_coordinates(outside)
    )
    return Fault(
        path,
        f"bed {bed.name!r} crosses the fence by up to {tell_length(reach)}",
        "a bed inside the fence",
        "make it smaller or move it in by that much",
    )


def _trimmed(enclosure: Enclosure, outline: Polygon) -> Polygon:
    """Trim what a tolerance lets over the fence, so that areas add up exactly."""
    if enclosure.polygon.covers(outline):
        return outline
    return shapely.orient_polygons(parts(common(outline, enclosure.polygon))[0])


def _settled(beds: Sequence[PlacedBed], numbers: Sequence[int], log: _Log) -> list[PlacedBed]:
    """Log every overlap of beds; what a tolerance lets pass is trimmed off the later bed."""
    settled = list(beds)
    near = touching([bed.outline for bed in beds], 0.0)
    for i, j in ((i, j) for j, others in enumerate(near) for i in others if i < j):
        one, other = settled[i], settled[j]
        shared = common(one.outline, other.outline)
        if shared.area > SNAP_M * min(one.outline.length, other.outline.length):
            a, b = one.spec.name, other.spec.name
            log.faults.append(
                Fault(
                    ("bed", numbers[j]),
                    f"beds {a!r} and {b!r} overlap by {tell_area(shared.area)}",
                    "beds that touch at most",
                    f"move or shorten {b!r}",
                )
            )
        elif shared.area > 0.0:
            left = parts(minus(other.outline, one.outline))[0]
            settled[j] = replace(other, outline=shapely.orient_polygons(left))
    return settled


def _place_paths(
    enclosure: Enclosure, layout: Layout, beds: Sequence[PlacedBed], log: _Log
) -> list[PlacedPath]:
    """Place drawn paths first, in file order; what "rest" paths get is what remains."""
    areas: dict[int, BaseGeometry] = {}
    order = sorted(range(len(layout.paths)), key=lambda i: isinstance(layout.paths[i].shape, Rest))
    for number in order:
        shape = layout.paths[number].shape
        taken = list(areas.values())
        area = log.attempt(path_area, enclosure, shape, beds, taken, ("path", number))
        areas[number] = EMPTY if area is None else area
    return [PlacedPath(spec, areas[i]) for i, spec in enumerate(layout.paths)]


def _check_new_plants(plants: Sequence[PlacedPlant], beds: Sequence[PlacedBed], log: _Log) -> None:
    for number, plant in enumerate(plants):
        at = shapely.Point(plant.at)
        if not plant.plant.existing and not any(bed.outline.covers(at) for bed in beds):
            log.faults.append(
                Fault(
                    ("plant", number, "at"),
                    f"new plant {plant.plant.name!r} stands in no bed",
                    "a place inside a bed",
                    "move it into a bed, or draw a bed around it",
                )
            )


def _unit_faults(layout: Layout, site: Site) -> Iterator[Fault]:
    """Find paths that are nowhere as wide as one of their units, and strides shorter than one.

    A tape's tolerance is left on each side: an inset that leaves less than 0.1 mm comes out empty.
    """
    for number, path in enumerate(site.paths):
        paving = path.spec.paving
        if paving is None or path.area.is_empty:
            continue
        ground = paving_region(site, path.area)
        for key, name in (("pavers", paving.paver), ("second", paving.second)):
            paver = layout.pavers.get(name or "")
            if paver is not None and ground.buffer(-(_across_m(paver) / 2 - SNAP_M)).is_empty:
                yield Fault(
                    ("path", number, key),
                    f"paver {paver.name!r} is {tell_length(_across_m(paver))} across; path "
                    f"{path.spec.name!r} is nowhere that wide",
                    "a unit that fits the path",
                    "choose a smaller unit or widen the path",
                )
        yield from _stride_faults(number, paving, layout.pavers.get(paving.paver))


def _across_m(paver: Paver) -> float:
    return min(paver.length_m, paver.width_m)


def _stride_faults(number: int, paving: Paving, paver: Paver | None) -> Iterator[Fault]:
    if paver is None or paving.stride_m is None:
        return
    least_m = _across_m(paver) + paving.joint_m[0]
    if paving.stride_m < least_m - FIT_M:
        yield Fault(
            ("path", number, "stride"),
            f"a stride of {tell_length(paving.stride_m)}; paver {paver.name!r} and its joint "
            f"take {tell_length(least_m)}",
            "a stride no shorter than a unit and its joint",
            "lengthen the stride, or take stride out and lay a bond",
        )
