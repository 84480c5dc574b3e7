"""From the file's ``[ground]`` to spots, finishes and soil (layer: layout_file).

A path's own `fall`, `level`, `at` and `dug` stand in place of those of ``[ground]``; what it does
not say it takes from there. A place goes with its height: a path with a `level` of its own does
not take the `at` of ``[ground]``. Public entry points: `build_ground`, `ground_faults`.
"""

from __future__ import annotations

from collections.abc import Iterator

from bedplan.errors import Fault, LayoutError
from bedplan.ground.spots import spot_faults
from bedplan.layout_file.schema import LayoutFile, PathTable
from bedplan.layout_file.schema_ground import FallTable, GroundTable, SoilTable, SpotTable
from bedplan.layout_file.schema_points import place_of
from bedplan.model.ground import SOILS, Fall, Grade, GroundSpec, Soil, Spot
from bedplan.model.layout import Layout
from bedplan.site.enclosure import build_enclosure
from bedplan.site.heights import place_grades, place_spots

OWN_SOIL = "soil"
"""Name of a soil given by its swell and shrinkage."""


def build_ground(file: LayoutFile) -> GroundSpec | None:
    """Return what a file says of its ground; None where it says nothing."""
    table = file.ground
    if table is None:
        return None
    grade = Grade(
        table.level,
        None if table.at is None else place_of(table.at),
        _fall(table.fall),
        table.dug,
    )
    return GroundSpec(
        tuple(_spot(spot) for spot in table.spots),
        grade,
        {path.name: _own(path, grade) for path in file.path if _has_own(path)},
        _soil(table),
        tuple(table.building),
        table.reveal,
        table.bury,
    )


def ground_faults(layout: Layout) -> Iterator[Fault]:
    """Yield every fault of heights that only the fence can show.

    Parameters
    ----------
    layout
        A layout whose fence can be drawn; of one that cannot, its own faults are told elsewhere.
    """
    if layout.ground is None:
        return
    try:
        enclosure = build_enclosure(layout.enclosure)
    except LayoutError:
        return
    try:
        place_grades(enclosure, layout)
    except LayoutError as error:
        yield from error.faults
    try:
        spots = place_spots(enclosure, layout.ground.spots)
    except LayoutError as error:
        yield from error.faults
    else:
        yield from spot_faults(spots, enclosure.polygon)


def _spot(spot: list[float] | SpotTable) -> Spot:
    if isinstance(spot, SpotTable):
        return Spot(place_of(spot.at), spot.height)
    x, y, height_m = spot
    return Spot((x, y), height_m)


def _has_own(path: PathTable) -> bool:
    return bool({"fall", "level", "at", "dug"} & path.model_fields_set)


def _own(path: PathTable, grade: Grade) -> Grade:
    """Return a path's own finish, what it does not say taken from the common one."""
    at = None if path.at is None else place_of(path.at)
    return Grade(
        grade.height if path.level is None else path.level,
        at if path.level is not None or at is not None else grade.at,
        grade.fall if path.fall is None else _fall(path.fall),
        path.dug or grade.dug,
    )


def _fall(table: FallTable | None) -> Fall | None:
    return None if table is None else Fall(table.toward, table.slope)


def _soil(table: GroundTable) -> Soil:
    if isinstance(table.soil, SoilTable):
        return Soil(OWN_SOIL, 1.0 + table.soil.swell, 1.0 - table.soil.shrink)
    return SOILS[table.soil]
