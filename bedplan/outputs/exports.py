"""A plan for geographic programs: one layer a kind of thing (layer: outputs).

Coordinates are metres in the layout's own axes, so the layers carry a local engineering
coordinate system and no place on Earth. Public entry points: `layers`, `write_geopackage`.
"""

from __future__ import annotations

import tempfile
import warnings
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
from shapely.geometry import LineString, Point

from bedplan.errors import OutputError
from bedplan.outputs.files import replace_file
from bedplan.plan import Plan

CRS: Final = (
    'ENGCRS["bedplan local grid",EDATUM["fence corners as measured"],'
    'CS[Cartesian,2],AXIS["x",east],AXIS["y",north],LENGTHUNIT["metre",1]]'
)

Rows = list[dict[str, Any]]


def layers(plan: Plan) -> dict[str, gpd.GeoDataFrame]:
    """Return the layers that hold anything, by name, in metres on the local grid."""
    made = {
        "fence": _fence(plan),
        "sides": _sides(plan),
        "gates": _gates(plan),
        "posts": [{"name": post.name, "geometry": post.outline} for post in plan.site.posts],
        "plants": _plants(plan),
        "beds": _beds(plan),
        "planting": [
            {"bed": edged.bed, "area_m2": edged.planting.area, "geometry": edged.planting}
            for edged in plan.edging
        ],
        "boards": _boards(plan),
        "paths": _paths(plan),
        "units": _units(plan),
        "strips": [
            {
                "fabric": part.fabric.name,
                "number": strip.number,
                "length_m": strip.length_m,
                "geometry": strip.outline,
            }
            for part in plan.barriers
            for laying in part.layings
            for strip in laying.strips
        ],
    }
    return {name: gpd.GeoDataFrame(rows, crs=CRS) for name, rows in made.items() if rows}


def write_geopackage(plan: Plan, path: Path) -> None:
    """Write every layer into one GeoPackage, whole or not at all.

    Raises
    ------
    OutputError
        If the file is not called ``.gpkg``, or cannot be written.
    """
    if path.suffix.lower() != ".gpkg":
        message = f"{path} is no name for a GeoPackage; end it in .gpkg"
        raise OutputError(message)
    with tempfile.TemporaryDirectory() as folder:
        part = Path(folder) / "plan.gpkg"
        try:
            with warnings.catch_warnings():
                # the driver has no code for a local grid and says so; it keeps the name and unit
                warnings.simplefilter("ignore")
                for name, frame in layers(plan).items():
                    frame.to_file(part, layer=name, driver="GPKG", engine="pyogrio")
        except OSError as error:
            message = f"{path} cannot be written ({error}); nothing was changed"
            raise OutputError(message) from None
        replace_file(path, part.read_bytes())


def _fence(plan: Plan) -> Rows:
    enclosure = plan.site.enclosure
    return [
        {
            "title": plan.layout.title,
            "area_m2": enclosure.area_m2,
            "perimeter_m": enclosure.perimeter_m,
            "geometry": enclosure.polygon,
        }
    ]


def _sides(plan: Plan) -> Rows:
    return [
        {
            "name": side.name,
            "length_m": side.length_m,
            "geometry": LineString([side.start, side.end]),
        }
        for side in plan.site.enclosure.sides
    ]


def _gates(plan: Plan) -> Rows:
    return [
        {
            "name": gate.gate.name,
            "opening_m": gate.gate.opening_m,
            "side": gate.gate.side,
            "geometry": LineString([gate.start, gate.end]),
        }
        for gate in plan.site.gates
    ]


def _plants(plan: Plan) -> Rows:
    return [
        {
            "name": plant.plant.name,
            "stem_m": plant.plant.stem_m,
            "spread_m": plant.plant.spread_m,
            "existing": plant.plant.existing,
            "geometry": Point(plant.at),
        }
        for plant in plan.site.plants
    ]


def _beds(plan: Plan) -> Rows:
    return [
        {
            "name": bed.spec.name,
            "edging": bed.spec.edging,
            "edging_m": edged.length_m,
            "area_m2": bed.outline.area,
            "geometry": bed.outline,
        }
        for bed, edged in zip(plan.site.beds, plan.edging, strict=True)
    ]


def _boards(plan: Plan) -> Rows:
    return [
        {
            "label": piece.label,
            "bed": piece.bed,
            "board": piece.board,
            "long_m": piece.long_m,
            "short_m": piece.short_m,
            "geometry": piece.outline,
        }
        for edged in plan.edging
        for piece in edged.pieces
    ]


def _paths(plan: Plan) -> Rows:
    return [
        {
            "name": walk.path.spec.name,
            "units": walk.count,
            "area_m2": walk.path.area.area,
            "geometry": walk.path.area,
        }
        for walk in plan.walks
    ]


def _units(plan: Plan) -> Rows:
    return [
        {
            "path": walk.path.spec.name,
            "paver": name,
            "number": number,
            "geometry": outline,
        }
        for walk in plan.walks
        for number, (name, outline) in enumerate(
            zip(walk.unit_names, walk.outlines, strict=True), start=1
        )
    ]
