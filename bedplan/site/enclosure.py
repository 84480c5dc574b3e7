"""The fence line, its sides, gates and posts (layer: engines).

Public entry points: `build_enclosure`, `place_gates`, `place_posts`, `place_pipes`, `locate`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise
from typing import TypeVar

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from bedplan.errors import Fault, LayoutError
from bedplan.geometry.lines import Point, mitre_point, unit_vector
from bedplan.geometry.polygons import EMPTY
from bedplan.geometry.tolerance import AREA_M2, SNAP_M
from bedplan.model.layout import EnclosureSpec, Gate, Pipe, Place, Posts, SidePoint
from bedplan.model.site import Enclosure, PlacedGate, PlacedPipe, PlacedPost, Side
from bedplan.units import tell_length

Path = tuple[str | int, ...]
Item = TypeVar("Item")


def build_enclosure(spec: EnclosureSpec) -> Enclosure:
    """Return the enclosure with its sides named by their corners, in file order.

    Raises
    ------
    LayoutError
        With every fault of the ring: too few corners, a repeated corner, sides that cross,
        no ground inside, side names that could be read two ways.
    """
    faults = list(_ring_faults(spec)) or list(_shape_faults(spec))
    if faults:
        raise LayoutError(faults)
    points = [point for _, point in spec.corners]
    polygon = Polygon(points)
    counter_clockwise = bool(polygon.exterior.is_ccw)
    sides = tuple(
        Side(first + second, first, second, start, end, 1 if counter_clockwise else -1)
        for (first, start), (second, end) in _around(spec.corners)
    )
    return Enclosure(spec.corners, sides, polygon if counter_clockwise else Polygon(points[::-1]))


def _around(items: Sequence[Item]) -> list[tuple[Item, Item]]:
    return list(pairwise([*items, items[0]]))


def _ring_faults(spec: EnclosureSpec) -> Iterator[Fault]:
    count = len(spec.corners)
    if count < 3:
        yield Fault(
            ("enclosure", "corners"),
            f"{count} corners",
            "at least three corners",
            "add the missing corners in order round the fence",
        )
    for (a, at_a), (b, at_b) in combinations(spec.corners, 2):
        if math.dist(at_a, at_b) <= SNAP_M:
            yield Fault(
                ("enclosure", "corners", b),
                f"corner {b} stands where {a} does",
                "each corner once",
                f"remove {b} or measure it again",
            )
    names = [a + b for (a, _), (b, _) in _around(spec.corners)] if count else []
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Fault(
            ("enclosure", "corners"),
            f"two sides would both be called {name!r}",
            "corner names that join to one side name each",
            "use single letters",
        )


def _shape_faults(spec: EnclosureSpec) -> Iterator[Fault]:
    sides = _around(spec.corners)
    crossing = False
    for (i, (a, b)), (j, (c, d)) in combinations(enumerate(sides), 2):
        if j - i in (1, len(sides) - 1):
            continue
        if LineString([a[1], b[1]]).distance(LineString([c[1], d[1]])) <= SNAP_M:
            crossing = True
            yield Fault(
                ("enclosure", "corners", b[0]),
                f"side {a[0]}{b[0]} crosses or touches side {c[0]}{d[0]}",
                "a fence line that meets itself nowhere",
                f"list the corners in order round the fence, or measure {a[0]}, {b[0]}, "
                f"{c[0]} and {d[0]} again",
            )
    polygon = Polygon([point for _, point in spec.corners])
    if not crossing and (not polygon.is_valid or polygon.area <= AREA_M2):
        yield Fault(
            ("enclosure", "corners"),
            "corners that lie on one line",
            "a fence with ground inside it",
            "measure the corners again",
        )


def locate(enclosure: Enclosure, place: Place, path: Path) -> Point:
    """Return where a place of the layout is.

    Raises
    ------
    LayoutError
        If it is tied to no side of this fence, or beyond the side's ends.
    """
    if not isinstance(place, SidePoint):
        return place
    side = side_of(enclosure, place.side, path)
    if not -SNAP_M <= place.along_m <= side.length_m + SNAP_M:
        raise LayoutError.of(
            path,
            f"{tell_length(place.along_m)} along side {place.side}, which is "
            f"{tell_length(side.length_m)} long",
            "a distance that ends on the side",
            f"measure from the other end, or tie it to another side than {place.side}",
        )
    return side.point(place.along_m, place.in_m)


def side_of(enclosure: Enclosure, name: str, path: Path) -> Side:
    """Return a side by name.

    Raises
    ------
    LayoutError
        If there is none, naming those there are.
    """
    side = enclosure.side(name)
    if side is None:
        known = ", ".join(side.name for side in enclosure.sides)
        raise LayoutError.of(
            path,
            f"no side is called {name!r}",
            f"one of {known}",
            "name the side by its two corners",
        )
    return side


def place_gates(enclosure: Enclosure, gates: Sequence[Gate]) -> tuple[PlacedGate, ...]:
    """Return every gate with its jambs and the ground its leaves sweep.

    Raises
    ------
    LayoutError
        With every gate that passes a corner, hangs on a corner its side has not, or overlaps
        another.
    """
    faults: list[Fault] = []
    placed = []
    for number, gate in enumerate(gates):
        try:
            placed.append(_place_gate(enclosure, gate, number))
        except LayoutError as error:
            faults.extend(error.faults)
    faults.extend(_gate_overlaps(enclosure, gates))
    if faults:
        raise LayoutError(faults)
    return tuple(placed)


def _place_gate(enclosure: Enclosure, gate: Gate, number: int) -> PlacedGate:
    side = side_of(enclosure, gate.side, ("gate", number, "side"))
    end_m = gate.along_m + gate.opening_m
    if gate.opening_m > side.length_m + SNAP_M:
        raise LayoutError.of(
            ("gate", number, "opening"),
            f"gate {gate.name!r} is {tell_length(gate.opening_m)} wide; side {gate.side} is "
            f"{tell_length(side.length_m)} long",
            "an opening shorter than its side",
            "measure the opening and the side again",
        )
    if gate.along_m < -SNAP_M or end_m > side.length_m + SNAP_M:
        raise LayoutError.of(
            ("gate", number, "along"),
            f"gate {gate.name!r} would pass a corner: it ends "
            f"{tell_length(end_m)} along side {gate.side}, which is "
            f"{tell_length(side.length_m)} long",
            "a gate within its side",
            f"move it to {tell_length(side.length_m - gate.opening_m)} or less along {gate.side}",
        )
    if gate.hinge and gate.hinge not in (side.first, side.second):
        raise LayoutError.of(
            ("gate", number, "hinge"),
            f"gate {gate.name!r} is hinged towards {gate.hinge!r}",
            f"{side.first!r} or {side.second!r}, the corners of side {gate.side}",
            "name the corner on the hinge side",
        )
    start, end = side.point(gate.along_m), side.point(end_m)
    return PlacedGate(gate, start, end, _swings(side, gate, start, end))


def _gate_overlaps(enclosure: Enclosure, gates: Sequence[Gate]) -> Iterator[Fault]:
    for (_, a), (j, b) in combinations(enumerate(gates), 2):
        one, other = enclosure.side(a.side), enclosure.side(b.side)
        if one is None or other is None or {one.first, one.second} != {other.first, other.second}:
            continue
        b_start = b.along_m if a.side == b.side else one.length_m - b.along_m - b.opening_m
        if a.along_m < b_start + b.opening_m - SNAP_M and b_start < (
            a.along_m + a.opening_m - SNAP_M
        ):
            yield Fault(
                ("gate", j, "along"),
                f"gates {a.name!r} and {b.name!r} overlap",
                "gates side by side",
                "move one of them along the side",
            )


def _swings(side: Side, gate: Gate, start: Point, end: Point) -> tuple[Polygon, ...]:
    """Return the quarter circles the leaves sweep, on the side they open to."""
    leaf_m = gate.opening_m / gate.leaves
    to_inside = side.inward if gate.opens == "in" else -side.inward
    near = (start, side.direction_deg, to_inside)
    far = (end, side.direction_deg + 180.0, -to_inside)
    if gate.leaves == 2:
        return (_sector(*near, leaf_m), _sector(*far, leaf_m))
    return (_sector(*(far if gate.hinge == side.second else near), leaf_m),)


def _sector(hinge: Point, closed_deg: float, turn: int, leaf_m: float) -> Polygon:
    angles = closed_deg + turn * np.linspace(0.0, 90.0, 25)
    arc = [(hinge[0] + leaf_m * x, hinge[1] + leaf_m * y) for x, y in map(unit_vector, angles)]
    return Polygon([hinge, *arc])


def place_posts(enclosure: Enclosure, posts: Posts | None) -> tuple[PlacedPost, ...]:
    """Return the square outline of every post, corner posts first.

    Raises
    ------
    LayoutError
        With every post beyond the end of its side.
    """
    if posts is None:
        return ()
    inside_m = posts.proud_m - posts.size_m / 2
    placed = [_corner_post(enclosure, i, posts, inside_m) for i in range(len(enclosure.corners))]
    faults = []
    for row in posts.rows:
        side = side_of(enclosure, row.side, ("enclosure", "posts", row.side))
        for number, along_m in enumerate(row.along_m):
            if not 0.0 <= along_m <= side.length_m + SNAP_M:
                faults.append(
                    Fault(
                        ("enclosure", "posts", row.side, number),
                        f"a post {tell_length(along_m)} along side {row.side}, which is "
                        f"{tell_length(side.length_m)} long",
                        "posts on the side",
                        "measure it again",
                    )
                )
            center = side.point(along_m, inside_m)
            placed.append(_post(f"{row.side} {number + 1}", center, posts, side.direction_deg))
    if faults:
        raise LayoutError(faults)
    return tuple(placed)


def _corner_post(enclosure: Enclosure, index: int, posts: Posts, inside_m: float) -> PlacedPost:
    before, after = enclosure.sides[index - 1], enclosure.sides[index]
    center = mitre_point(before.line, after.line, after.inward * inside_m)
    return _post(enclosure.corners[index][0], center, posts, after.direction_deg)


def _post(name: str, center: Point, posts: Posts, direction_deg: float) -> PlacedPost:
    footing = _square(center, posts.footing_m, direction_deg) if posts.footing_m else EMPTY
    return PlacedPost(name, _square(center, posts.size_m, direction_deg), footing)


def _square(center: Point, size_m: float, direction_deg: float) -> Polygon:
    half = size_m / 2
    box = shapely.box(center[0] - half, center[1] - half, center[0] + half, center[1] + half)
    return shapely.affinity.rotate(box, direction_deg, origin=center)


def place_pipes(enclosure: Enclosure, pipes: Sequence[Pipe]) -> tuple[PlacedPipe, ...]:
    """Return every buried pipe and cable on the ground; it may leave the fence.

    Raises
    ------
    LayoutError
        With every point tied to no side, and every pipe without a length.
    """
    faults: list[Fault] = []
    placed = []
    for number, pipe in enumerate(pipes):
        try:
            placed.append(_place_pipe(enclosure, pipe, number))
        except LayoutError as error:
            faults.extend(error.faults)
    if faults:
        raise LayoutError(faults)
    return tuple(placed)


def _place_pipe(enclosure: Enclosure, pipe: Pipe, number: int) -> PlacedPipe:
    path = ("pipe", number, "line")
    points = [locate(enclosure, place, (*path, i)) for i, place in enumerate(pipe.line)]
    if LineString(points).length <= SNAP_M:
        raise LayoutError.of(
            path,
            f"pipe {pipe.name!r} begins and ends at one place",
            "a line with a length",
            "give two places it runs through",
        )
    return PlacedPipe(pipe, tuple(points))
