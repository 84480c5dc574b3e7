"""The site: every part of a layout as a shape on the ground (layer: model).

Coordinates are metres in the file's own axes, x to the right and y up on the drawing. The
enclosure's ring runs counter-clockwise whichever way the file lists the corners.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import Line, direction_deg, interior_angle_deg, through
from bedplan.geometry.polygons import EMPTY
from bedplan.model.layout import BedSpec, Gate, PathSpec, Pipe, Plant, Point


@dataclass(frozen=True)
class Side:
    """One straight length of fence, from its first named corner to its second.

    `inward` is +1 where the enclosure lies to the left of someone walking the side, else -1.
    """

    name: str
    first: str
    second: str
    start: Point
    end: Point
    inward: int

    @cached_property
    def length_m(self) -> float:
        """Length of the side [m]."""
        return math.dist(self.start, self.end)

    @cached_property
    def direction_deg(self) -> float:
        """Direction from the first corner to the second [deg]."""
        return direction_deg(self.start, self.end)

    @cached_property
    def line(self) -> Line:
        """The line of the side, from its first corner."""
        return through(self.start, self.end)

    def point(self, along_m: float, in_m: float = 0.0) -> Point:
        """Return the place so far along the side and so far inside it [m]."""
        return self.line.shifted(self.inward * in_m).point(along_m)

    def reversed(self) -> Side:
        """Return the same side walked from its other end."""
        return Side(
            self.second + self.first, self.second, self.first, self.end, self.start, -self.inward
        )


@dataclass(frozen=True)
class Enclosure:
    """The fence line with its named corners and sides."""

    corners: tuple[tuple[str, Point], ...]
    sides: tuple[Side, ...]
    polygon: Polygon

    @property
    def area_m2(self) -> float:
        """Ground inside the fence [m^2]."""
        return float(self.polygon.area)

    @property
    def perimeter_m(self) -> float:
        """Length of the fence line [m]."""
        return float(self.polygon.length)

    @cached_property
    def _by_name(self) -> dict[str, Side]:
        backwards = {side.reversed().name: side.reversed() for side in self.sides}
        return backwards | {side.name: side for side in self.sides}

    def side(self, name: str) -> Side | None:
        """Return a side by its name, either way round (``AB`` or ``BA``), or None."""
        return self._by_name.get(name)

    def interior_deg(self, index: int) -> float:
        """Return the angle inside the fence at a corner, by its number in file order [deg]."""
        ring = [point for _, point in self.corners]
        before, here, after = ring[index - 1], ring[index], ring[(index + 1) % len(ring)]
        angle = interior_angle_deg(before, here, after)
        return angle if self.sides[0].inward > 0 else 360.0 - angle


@dataclass(frozen=True)
class PlacedGate:
    """A gate on the ground: the jambs, and the sector each leaf sweeps."""

    gate: Gate
    start: Point
    end: Point
    swings: tuple[Polygon, ...]

    @property
    def middle(self) -> Point:
        """The middle of the opening."""
        return ((self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2)


@dataclass(frozen=True)
class PlacedPost:
    """A post: its name (``A``, ``AB 1``), square outline, and footing (empty where none)."""

    name: str
    outline: Polygon
    footing: Polygon = EMPTY


@dataclass(frozen=True)
class PlacedPipe:
    """A buried pipe or cable on the ground."""

    pipe: Pipe
    line: tuple[Point, ...]


@dataclass(frozen=True)
class PlacedPlant:
    """A plant on the ground."""

    plant: Plant
    at: Point

    @cached_property
    def ring(self) -> Polygon:
        """The ring kept clear round the stem; empty where the file asks for none."""
        return shapely.Point(self.at).buffer(self.plant.ring_m, quad_segs=16)


@dataclass(frozen=True)
class PlacedBed:
    """A bed on the ground.

    `outline` is the outer face of its boards. `curved` is the true radius of a round bed whose
    outline stands for a circle [m], else 0. `sagitta_m` is how far the straight edges of a round
    bed stray from its circle [m], else 0.
    """

    spec: BedSpec
    outline: Polygon
    curved_m: float = 0.0
    sagitta_m: float = 0.0


@dataclass(frozen=True)
class PlacedPath:
    """A path on the ground; `area` may fall into several separate walks."""

    spec: PathSpec
    area: BaseGeometry


@dataclass(frozen=True)
class Site:
    """All parts in place. Beds, paths and `spare` tile the enclosure."""

    enclosure: Enclosure
    gates: tuple[PlacedGate, ...]
    posts: tuple[PlacedPost, ...]
    plants: tuple[PlacedPlant, ...]
    beds: tuple[PlacedBed, ...]
    paths: tuple[PlacedPath, ...]
    spare: BaseGeometry
    pipes: tuple[PlacedPipe, ...] = ()
