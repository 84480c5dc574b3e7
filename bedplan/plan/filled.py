"""What every bed and path of a layout is filled with (layer: plan).

Public entry point: `fill_lines`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from shapely.geometry.base import BaseGeometry

from bedplan.edging import BedEdging
from bedplan.geometry.polygons import as_area, common, minus, union
from bedplan.ground.works import PathWorks, Works
from bedplan.model.layout import Layout
from bedplan.model.materials import Material
from bedplan.model.site import Site
from bedplan.plan.walk import Walk
from bedplan.takeoff.fill import (
    FillLine,
    PavedArea,
    base_margin_m,
    bed_fill,
    lifts,
    path_fill,
)


def fill_lines(
    layout: Layout,
    site: Site,
    edging: Sequence[BedEdging],
    walks: Sequence[Walk],
    works: Works | None = None,
) -> Iterator[FillLine]:
    """Yield every layer of every bed, then of every path.

    Where `works` knows the depth of a path's base, that base is no even layer.
    """
    dug = {path.path: path for path in works.paths} if works else {}
    materials = layout.materials
    for bed, edged in zip(site.beds, edging, strict=True):
        yield from bed_fill(bed.spec, _mulched(site, edged.planting), edged.planting, materials)
    for walk, base_m2 in zip(walks, base_areas_m2(site, walks), strict=True):
        lines = path_fill(
            walk.path.spec,
            PavedArea(
                float(walk.ground.area),
                walk.paved_area_m2,
                walk.paver.thickness_m if walk.paver else 0.0,
                base_m2,
            ),
            materials,
        )
        yield from with_base(lines, dug.get(walk.path.spec.name), materials)


def with_base(
    lines: Sequence[FillLine], path: PathWorks | None, materials: Mapping[str, Material]
) -> Iterator[FillLine]:
    """Yield a path's layers, its base of the volume that lies between formation and bedding.

    Parameters
    ----------
    lines
        Layers of the path, lowest first, each of one depth.
    path
        Its earthwork; None leaves the lines as they are. A line keeps its area, its depth
        becomes the mean, and its lifts are those of the greatest depth.
    materials
        By name.
    """
    for number, line in enumerate(lines):
        based = path is not None and not number and line.kind == "layer" and line.in_place_m3
        times = path.base_m3 / line.in_place_m3 if path is not None and based else 1.0
        if path is None or abs(times - 1.0) <= 1e-9:  # of one depth: not even rounding moves it
            yield line
            continue
        lift_m = materials[line.material].lift_m
        yield replace(
            line,
            depth_m=line.depth_m * times,
            in_place_m3=path.base_m3,
            loose_m3=line.loose_m3 * times,
            mass_kg=None if line.mass_kg is None else line.mass_kg * times,
            laid_m=line.laid_m * times,
            lifts=lifts(path.base_greatest_m, lift_m) if line.lifts else 0,
        )


def base_areas_m2(site: Site, walks: Sequence[Walk]) -> Iterator[float]:
    """Yield the area of the lowest layer of every path [m^2]."""
    yield from (float(ground.area) for ground in base_grounds(site, walks))


def base_grounds(site: Site, walks: Sequence[Walk]) -> Iterator[BaseGeometry]:
    """Yield the ground of the lowest layer of every path.

    A base wider than its path stays inside the fence and off stems and posts; it takes no ground
    of another path, and where two such margins meet the ground counts once.
    """
    holes = [plant.ring for plant in site.plants if plant.plant.ring_m > 0.0]
    margins = [base_margin_m(walk.path.spec) for walk in walks]
    taken: list[BaseGeometry] = [walk.ground for walk in walks] if any(margins) else []
    for walk, margin_m in zip(walks, margins, strict=True):
        if margin_m <= 0.0:
            yield walk.ground
            continue
        grown = as_area(walk.path.area.buffer(margin_m, join_style="mitre"))
        beyond = minus(common(grown, site.enclosure.polygon), walk.path.area, *taken, *holes)
        taken.append(beyond)
        yield union([walk.ground, beyond])


def _mulched(site: Site, planting: BaseGeometry) -> BaseGeometry:
    rings = [
        plant.ring
        for plant in site.plants
        if plant.plant.ring_m > 0.0 and plant.ring.intersects(planting)
    ]
    return minus(planting, *rings) if rings else planting
