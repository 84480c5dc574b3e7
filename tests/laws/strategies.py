"""Random fences, beds and gardens for the laws (hypothesis).

Shapes stand on a grid of sixteenths of an inch before they are turned, as a tape would give them.
"""

from __future__ import annotations

import math
from dataclasses import replace

from gardens import INCH, WALK, fence, garden, inner_ring, moved_point, pine
from hypothesis import assume
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from bedplan.model.layout import AlongSides, Around, BedSpec, Circle, Outline, Plant, Rectangle
from bedplan.site import find_faults

SIXTEENTH = INCH / 16


def tape(least_in, most_in):
    """Return lengths on a tape [m], between two numbers of inches."""
    return st.integers(least_in * 16, most_in * 16).map(lambda ticks: ticks * SIXTEENTH)


angles = st.integers(0, 3599).map(lambda tenths: tenths / 10)


def star(corners, reach, twist):
    """Return a star-shaped ring: one corner in each of equal sectors, at its own radius."""
    turns = [
        2 * math.pi * (i + 0.6 * t) / corners for i, t in zip(range(corners), twist, strict=True)
    ]
    return [(r * math.cos(a), r * math.sin(a)) for a, r in zip(turns, reach, strict=True)]


@st.composite
def rings(draw, least_in=20, most_in=90, most_corners=9):
    """A simple polygon, convex or not: star-shaped, or an L turned at random."""
    if draw(st.integers(0, 3)) == 0:
        long, high = draw(tape(3 * least_in, 2 * most_in)), draw(tape(3 * least_in, 2 * most_in))
        arm, leg = draw(tape(least_in, 2 * least_in)), draw(tape(least_in, 2 * least_in))
        points = [(0, 0), (long, 0), (long, leg), (arm, leg), (arm, high), (0, high)]
        turn = draw(angles)
        points = [moved_point(point, turn, 0, 0) for point in points]
    else:
        corners = draw(st.integers(3, most_corners))
        points = star(
            corners,
            draw(st.lists(tape(least_in, most_in), min_size=corners, max_size=corners)),
            draw(st.lists(st.floats(0, 1), min_size=corners, max_size=corners)),
        )
    assume(Polygon(points).is_valid and Polygon(points).area > 0.01)
    return points[::-1] if draw(st.booleans()) else points


@st.composite
def boarded_rings(draw, thickness_m):
    """A ring with room for boards all round, and the corners of its mitred inset."""
    points = draw(rings())
    inner = inner_ring(points, thickness_m)
    assume(
        inner is not None
        and all(map(bends, [points[-1], *points[:-1]], points, [*points[1:], points[0]]))
    )
    return points, inner


def bends(before, point, after):
    """Tell whether a corner stands a millimetre off the line past it: less is no corner."""
    return LineString([before, after]).distance(Point(point)) > 0.001


fences = rings(least_in=120, most_in=400, most_corners=8)


@st.composite
def shapes(draw, names, plants):
    """One way of asking for a bed, by a fence whose corners have these names; may be faulty."""
    kind = draw(st.integers(0, 4))
    place = st.tuples(tape(-120, 120), tape(-120, 120))
    first = draw(st.integers(0, len(names) - 1))
    around = [*names, *names]
    if kind == 0:
        count = draw(st.integers(1, 2))
        sides = tuple(
            a + b
            for a, b in zip(
                around[first : first + count], around[first + 1 : first + count + 1], strict=True
            )
        )
        return AlongSides(sides, draw(tape(10, 40)), draw(tape(0, 24)), draw(tape(0, 24)))
    if kind == 1:
        side = around[first] + around[first + 1]
        return Rectangle(
            draw(place),
            (draw(tape(20, 90)), draw(tape(20, 60))),
            draw(st.sampled_from([side, draw(angles)])),
        )
    if kind == 2:
        return Circle(draw(place), draw(tape(10, 40)), draw(st.sampled_from([0, 0, 6, 9])))
    if kind == 3 and plants:
        return Around(
            (draw(st.sampled_from(plants)).name,),
            draw(tape(6, 30)),
            around[first] + around[first + 1],
        )
    x, y = draw(place)
    return Outline(tuple((x + a / 2, y + b / 2) for a, b in draw(rings(most_in=50))))


@st.composite
def gardens(draw, board=None, most_beds=4):
    """A garden without faults: beds are tried one by one, those that do not fit are left out."""
    spec = fence(draw(fences))
    names = [name for name, _ in spec.corners]
    plants = tuple(
        Plant(
            f"plant {i}",
            (draw(tape(-100, 100)), draw(tape(-100, 100))),
            stem_m=draw(tape(0, 6)),
            keep_clear_m=draw(tape(0, 8)),
        )
        for i in range(draw(st.integers(0, 2)))
    )
    plants = tuple(plant for plant in plants if not find_faults(garden(spec, plants=(plant,))))
    layout = garden(spec, plants=plants, board=board or pine())
    for number in range(draw(st.integers(1, most_beds))):
        more = BedSpec(f"bed {number}", draw(shapes(names, plants)), "pine")
        tried = replace(layout, beds=(*layout.beds, more))
        if not find_faults(tried):
            layout = tried
    return replace(layout, paths=(WALK,)) if not find_faults(layout) else replace(layout, paths=())
