"""The ground of a layout worked: finishes, digging, base, spoil, tiers (layer: plan).

Public entry point: `work_ground`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.edging import BedEdging
from bedplan.geometry.polygons import common, overlap_m2, parts
from bedplan.geometry.tolerance import AREA_M2, SNAP_M
from bedplan.ground.depths import dig_path
from bedplan.ground.earthwork import work_on
from bedplan.ground.grading import finish_plane
from bedplan.ground.patch import patch_of
from bedplan.ground.plane import Plane
from bedplan.ground.spoil import Room, bed_room, share_spoil
from bedplan.ground.spots import doubtful_spots
from bedplan.ground.surface import Surface, surface_of
from bedplan.ground.works import BedWorks, CornerHeight, PathWorks, Works
from bedplan.model.layout import BedSpec, Layout
from bedplan.model.site import PlacedBed, PlacedPlant, Site
from bedplan.plan.filled import base_grounds
from bedplan.plan.tiering import boards_needed
from bedplan.plan.walk import Walk
from bedplan.site.heights import PlacedGrade, place_grades, place_spots

CORNER_M = 0.01
"""A path's outline is told without corners that stray less from it [m]."""


def work_ground(
    layout: Layout, site: Site, edging: Sequence[BedEdging], walks: Sequence[Walk]
) -> Works | None:
    """Return the earthwork of a layout; None for one that says nothing of its ground.

    Parameters
    ----------
    layout, site
        What is asked, and where it lies.
    edging, walks
        Beds and paths worked out, in the order of the file.

    Raises
    ------
    LayoutError
        If a spot, a place or a fall is tied to what is not there, or spots contradict.
    """
    ground = layout.ground
    if ground is None:
        return None
    spots = tuple(place_spots(site.enclosure, ground.spots))
    surface = surface_of(spots, site.enclosure.polygon)
    grades = place_grades(site.enclosure, layout)
    paths = tuple(
        _path(surface, site, (walk, base), grade)
        for walk, base, grade in zip(walks, base_grounds(site, walks), grades, strict=True)
        if (walk.path.spec.layers or walk.paver) and walk.ground.area > AREA_M2
    )
    beds = tuple(
        _bed(layout, surface, bed, edged)
        for bed, edged in zip(site.beds, edging, strict=True)
        if edged.board and edged.runs
    )
    cut_m3 = sum(path.work.cut_m3 for path in paths)
    fill_m3 = sum(path.work.fill_m3 for path in paths)
    rooms = [Room(bed.bed, bed.room_m3) for bed in beds]
    spoil = share_spoil(cut_m3, fill_m3, ground.soil, rooms)
    return Works(surface, spots, doubtful_spots(spots), paths, beds, spoil)


def _path(
    surface: Surface, site: Site, laid: tuple[Walk, BaseGeometry], placed: PlacedGrade
) -> PathWorks:
    """Return the earthwork of a path, dug wherever its base goes."""
    walk, base = laid
    finish = finish_plane(
        patch_of(surface, walk.ground), placed.grade, placed.at, placed.toward_deg
    )
    spec = walk.path.spec
    thick_m = walk.paver.thickness_m if walk.paver else 0.0
    base_m, *above = [layer.depth_m for layer in spec.layers] or [0.0]
    depths_m = (base_m, sum(above) + thick_m)
    digs = tuple(
        dig_path(patch_of(surface, part), part, finish, depths_m, placed.grade.dug)
        for part in parts(base)
    )
    return PathWorks(
        spec.name,
        finish,
        digs,
        tuple(_corners(surface, walk, finish)),
        overlap_m2(walk.path.area, surface.extrapolated),
        _roots(surface, site, base, [dig.formation for dig in digs]),
    )


def _corners(surface: Surface, walk: Walk, finish: Plane) -> Iterator[CornerHeight]:
    """Yield the heights at a path's own corners, those round stems and posts left out."""
    for part in parts(walk.path.area):
        ring = shapely.get_coordinates(part.exterior.simplify(CORNER_M))[:-1]
        ground = surface.heights_at(ring)
        for (x, y), height_m in zip(ring.tolist(), ground.tolist(), strict=True):
            yield CornerHeight((x, y), finish.height_at((x, y)), height_m)


def _roots(
    surface: Surface, site: Site, base: BaseGeometry, formations: Sequence[Plane]
) -> Mapping[str, float]:
    """Return how deep the digging goes within the crown of each existing plant [m]."""
    found: dict[str, float] = {}
    for plant in (plant for plant in site.plants if plant.plant.existing):
        zone = _root_zone(plant)
        cuts = [
            work_on(patch_of(surface, common(part, zone)), formation).greatest_cut_m
            for part, formation in zip(parts(base), formations, strict=True)
            if overlap_m2(part, zone) > AREA_M2
        ]
        if max(cuts, default=0.0) > SNAP_M:
            found[plant.plant.name] = max(cuts)
    return found


def _root_zone(plant: PlacedPlant) -> Polygon:
    zone: Polygon = shapely.Point(plant.at).buffer(plant.plant.spread_m / 2.0, quad_segs=16)
    return zone


def _bed(layout: Layout, surface: Surface, bed: PlacedBed, edged: BedEdging) -> BedWorks:
    top_m, runs = boards_needed(layout, surface, bed, edged)
    room_m3 = 0.0
    if edged.planting.area > AREA_M2:
        room_m3 = bed_room(patch_of(surface, edged.planting), top_m, _covered_m(bed.spec))
    return BedWorks(bed.spec.name, top_m, room_m3, edged.tiers, runs)


def _covered_m(bed: BedSpec) -> float:
    """Return the depth of all that lies on the soil of a bed [m]."""
    mulch_m = bed.mulch.depth_m if bed.mulch else 0.0
    return mulch_m + sum(layer.depth_m for layer in bed.layers)
