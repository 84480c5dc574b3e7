"""Where spot heights stand, and where finishes fall to (layer: engines).

Public entry points: `place_spots`, `place_grades`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedplan.errors import Fault, LayoutError
from bedplan.geometry.lines import Point
from bedplan.model.ground import Grade, Spot
from bedplan.model.layout import Layout
from bedplan.model.site import Enclosure
from bedplan.site.enclosure import Path, locate, side_of


@dataclass(frozen=True)
class PlacedGrade:
    """How a finish lies: what is asked, where its height holds, and where it falls to [deg]."""

    grade: Grade
    at: Point | None = None
    toward_deg: float | None = None


def place_spots(enclosure: Enclosure, spots: Sequence[Spot]) -> list[tuple[float, float, float]]:
    """Return places and heights of all spots [m].

    Raises
    ------
    LayoutError
        With the fault of every spot tied to no side, or beyond a side's ends.
    """
    faults: list[Fault] = []
    placed = []
    for number, spot in enumerate(spots):
        try:
            x, y = locate(enclosure, spot.at, ("ground", "spots", number))
        except LayoutError as error:
            faults.extend(error.faults)
        else:
            placed.append((x, y, spot.height_m))
    if faults:
        raise LayoutError(faults)
    return placed


def place_grades(enclosure: Enclosure, layout: Layout) -> tuple[PlacedGrade, ...]:
    """Return how the finish of each path lies, in the order of the paths.

    Raises
    ------
    LayoutError
        With every fault: a fall towards no side, a place beyond a side's ends.
    """
    ground = layout.ground
    if ground is None:
        return ()
    faults: list[Fault] = []
    common = _Where(ground.grade, ("ground",), ("ground",))
    asked = [common]
    for number, path in enumerate(layout.paths):
        own, here = ground.paths.get(path.name, ground.grade), ("path", number)
        # what a path takes from the common finish is at fault there
        at = common.at if own.at is ground.grade.at else here
        asked.append(_Where(own, at, common.fall if own.fall is ground.grade.fall else here))
    placed = [_placed(enclosure, where, faults) for where in asked]
    for number, name in enumerate(ground.building):
        if enclosure.side(name) is None:
            faults += _faults_of_side(enclosure, name, ("ground", "building", number))
    if faults:
        raise LayoutError(list(dict.fromkeys(faults)))
    return tuple(placed[1:])


@dataclass(frozen=True)
class _Where:
    """A finish, and the tables of the file that its place and its fall stand in."""

    grade: Grade
    at: Path
    fall: Path


def _placed(enclosure: Enclosure, where: _Where, faults: list[Fault]) -> PlacedGrade:
    grade = where.grade
    at = toward_deg = None
    if grade.at is not None:
        try:
            at = locate(enclosure, grade.at, (*where.at, "at"))
        except LayoutError as error:
            faults.extend(error.faults)
    if grade.fall is not None:
        toward = grade.fall.toward
        if isinstance(toward, str):
            side = enclosure.side(toward)
            if side is None:
                faults += _faults_of_side(enclosure, toward, (*where.fall, "fall", "toward"))
            else:
                toward_deg = (side.direction_deg - 90.0 * side.inward) % 360.0
        else:
            toward_deg = toward
    return PlacedGrade(grade, at, toward_deg)


def _faults_of_side(enclosure: Enclosure, name: str, path: Path) -> tuple[Fault, ...]:
    try:
        side_of(enclosure, name, path)
    except LayoutError as error:
        return error.faults
    return ()
