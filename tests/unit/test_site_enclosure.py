"""The fence line: corners, sides, gates, posts, and places tied to it."""

from __future__ import annotations

import math

import pytest
import shapely
from gardens import fence, garden, moved_point, rectangle

from bedplan.errors import LayoutError
from bedplan.model.layout import EnclosureSpec, Gate, Plant, PostRow, Posts, SidePoint
from bedplan.site import find_faults, resolve
from bedplan.site.enclosure import build_enclosure, locate, place_gates, place_posts

# a kite with sides of 5: every figure can be worked out by hand
KITE = [(0, 0), (4, -3), (8, 0), (4, 3)]


@pytest.mark.parametrize("order", [1, -1])
def test_sides_go_by_file_order_and_the_inside_is_inside(order):
    points = KITE[::order]
    made = build_enclosure(fence(points))
    assert [side.name for side in made.sides] == ["AB", "BC", "CD", "DA"]
    assert [side.length_m for side in made.sides] == pytest.approx([5] * 4)
    assert made.area_m2 == pytest.approx(24)
    assert made.perimeter_m == pytest.approx(20)
    assert made.polygon.exterior.is_ccw
    assert made.corners[0] == ("A", (float(points[0][0]), float(points[0][1])))
    for side in made.sides:
        assert made.polygon.contains(shapely.Point(side.point(2.5, 0.1)))
        assert made.polygon.contains(shapely.Point(side.reversed().point(2.5, 0.1)))


@pytest.mark.parametrize("order", [1, -1])
def test_interior_angles_add_up(order):
    made = build_enclosure(fence([(0, 0), (6, 0), (6, 5), (3, 2), (0, 5)][::order]))
    angles = [made.interior_deg(i) for i in range(5)]
    assert sum(angles) == pytest.approx(540)
    assert sorted(angles)[-1] == pytest.approx(270)


def test_a_side_goes_by_either_name():
    made = build_enclosure(fence(KITE))
    assert made.side("AB").start == made.side("BA").end
    assert made.side("BA").point(1, 1) == pytest.approx(made.side("AB").point(4, 1))
    assert made.side("AC") is None


@pytest.mark.parametrize(
    ("place", "point"),
    [
        ((2.5, 1.5), (2.5, 1.5)),
        (SidePoint("AB", 0), (0, 0)),
        (SidePoint("AB", 5), (4, -3)),
        (SidePoint("BA", 5), (0, 0)),
        (SidePoint("AB", 2.5), (2, -1.5)),
        (SidePoint("AB", 2.5, 1), (2.6, -0.7)),
        (SidePoint("BA", 2.5, 1), (2.6, -0.7)),
    ],
)
def test_places_tied_to_a_side(place, point):
    assert locate(build_enclosure(fence(KITE)), place, ()) == pytest.approx(point)


@pytest.mark.parametrize(
    ("place", "says"),
    [
        (SidePoint("AC", 1), "no side is called 'AC'"),
        (SidePoint("AB", 5.01), "side AB"),
        (SidePoint("AB", -0.01), "side AB"),
    ],
)
def test_places_off_the_fence(place, says):
    with pytest.raises(LayoutError, match=says):
        locate(build_enclosure(fence(KITE)), place, ("bed", 0))


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        ([], "0 corners"),
        ([("A", (0, 0)), ("B", (1, 0))], "2 corners"),
        ([("A", (0, 0)), ("B", (4, 0)), ("C", (4, 0.00001)), ("D", (0, 4))], "C stands where B"),
        ([("A", (0, 0)), ("B", (4, 4)), ("C", (4, 0)), ("D", (0, 4))], "crosses or touches"),
        ([("A", (0, 0)), ("B", (4, 0)), ("C", (8, 0))], "on one line"),
        (
            [("A", (0, 0)), ("B", (4, 0)), ("C", (8, 0)), ("D", (2, 0))],
            "crosses or touches|one line",
        ),
        ([("A", (0, 0)), ("B", (4, 0)), ("C", (2, 0)), ("D", (2, 3))], "one line|crosses"),
        ([("A", (0, 0)), ("AA", (4, 0)), ("A", (4, 4))], "both be called"),
        ([("A", (0, 0)), ("BC", (4, 0)), ("AB", (4, 4)), ("C", (0, 4))], "both be called 'ABC'"),
    ],
)
def test_fences_that_cannot_be_drawn(corners, says):
    with pytest.raises(LayoutError, match=says):
        build_enclosure(EnclosureSpec(tuple(corners)))


def test_every_crossing_of_the_fence_is_told():
    star = [(math.cos(i * 4 * math.pi / 5), math.sin(i * 4 * math.pi / 5)) for i in range(5)]
    with pytest.raises(LayoutError) as caught:
        build_enclosure(fence(star))
    assert len(caught.value.faults) == 5


# ---- gates ---------------------------------------------------------------------------------


def gate(**changes):
    plain = {"name": "g", "side": "AB", "along_m": 1.0, "opening_m": 1.2, "hinge": "A"}
    return Gate(**(plain | changes))


def test_a_gate_hangs_where_it_is_hinged():
    made = build_enclosure(rectangle(6, 4))
    (placed,) = place_gates(made, [gate()])
    assert (placed.start, placed.end, placed.middle) == ((1, 0), (2.2, 0), (1.6, 0))
    (swing,) = placed.swings
    assert swing.bounds == pytest.approx((1, 0, 2.2, 1.2))
    assert swing.area == pytest.approx(math.pi * 1.44 / 4, rel=0.001)


@pytest.mark.parametrize(
    ("changes", "bounds"),
    [
        ({"hinge": "B"}, [(1, 0, 2.2, 1.2)]),
        ({"opens": "out"}, [(1, -1.2, 2.2, 0)]),
        ({"leaves": 2}, [(1, 0, 1.6, 0.6), (1.6, 0, 2.2, 0.6)]),
        ({"leaves": 2, "opens": "out"}, [(1, -0.6, 1.6, 0), (1.6, -0.6, 2.2, 0)]),
        ({"side": "BA"}, [(3.8, 0, 5, 1.2)]),
    ],
)
def test_where_leaves_sweep(changes, bounds):
    (placed,) = place_gates(build_enclosure(rectangle(6, 4)), [gate(**changes)])
    assert [swing.bounds for swing in placed.swings] == [pytest.approx(b) for b in bounds]


def test_the_hinge_decides_the_quarter_a_leaf_sweeps():
    made = build_enclosure(rectangle(6, 4))
    by_hinge = {hinge: place_gates(made, [gate(hinge=hinge)])[0].swings[0] for hinge in "AB"}
    near_a = shapely.Point(1.1, 1.1)
    assert by_hinge["A"].covers(near_a)
    assert not by_hinge["B"].covers(near_a)


@pytest.mark.parametrize("clockwise", [False, True])
def test_leaves_that_open_in_stay_inside(clockwise):
    points = [(0, 0), (6, 0), (6, 4), (0, 4)]
    made = build_enclosure(fence(points[::-1] if clockwise else points))
    for side in ("AB", "BC", "BA", "CB"):
        hinge = side[0]
        (placed,) = place_gates(made, [gate(side=side, hinge=hinge)])
        assert made.polygon.buffer(1e-9).covers(placed.swings[0])


@pytest.mark.parametrize(
    ("gates", "says"),
    [
        ([gate(along_m=5.0)], "pass a corner"),
        ([gate(along_m=-0.1)], "pass a corner"),
        ([gate(opening_m=6.2)], "6.2|6200 mm"),
        ([gate(side="AC")], "no side"),
        ([gate(hinge="C")], "hinged towards 'C'"),
        ([gate(), gate(along_m=2.0)], "overlap"),
        ([gate(), gate(side="BA", along_m=4.0, hinge="B")], "overlap"),
    ],
)
def test_gates_that_cannot_hang(gates, says):
    with pytest.raises(LayoutError, match=says):
        place_gates(build_enclosure(rectangle(6, 4)), gates)


def test_gates_side_by_side_and_full_width_are_fine():
    made = build_enclosure(rectangle(6, 4))
    assert len(place_gates(made, [gate(), gate(along_m=2.2)])) == 2
    assert len(place_gates(made, [gate(), gate(side="BA", along_m=6 - 3.4, hinge="B")])) == 2
    assert place_gates(made, [gate(along_m=0, opening_m=6)])[0].end == (6, 0)


# ---- posts ---------------------------------------------------------------------------------


def test_posts_stand_flush_behind_the_fence_line():
    made = build_enclosure(rectangle(6, 4))
    placed = place_posts(made, Posts(0.1, rows=(PostRow("AB", (2, 4)), PostRow("CB", (1,)))))
    assert [post.name for post in placed] == ["A", "B", "C", "D", "AB 1", "AB 2", "CB 1"]
    assert all(post.outline.intersection(made.polygon).area < 1e-9 for post in placed)
    assert placed[4].outline.bounds == pytest.approx((1.95, -0.1, 2.05, 0))
    assert placed[6].outline.bounds == pytest.approx((6, 2.95, 6.1, 3.05))


def test_proud_posts_take_ground_inside():
    made = build_enclosure(rectangle(6, 4))
    placed = place_posts(made, Posts(0.1, 0.04, (PostRow("AB", (2,)),)))
    assert placed[4].outline.intersection(made.polygon).area == pytest.approx(0.1 * 0.04)
    assert placed[0].outline.intersection(made.polygon).area == pytest.approx(0.04**2)


def test_posts_beyond_their_side_are_all_told():
    posts = Posts(0.1, rows=(PostRow("AB", (7, 2, -1)), PostRow("BC", (4.5,))))
    with pytest.raises(LayoutError) as caught:
        place_posts(build_enclosure(rectangle(6, 4)), posts)
    assert [fault.path[-2:] for fault in caught.value.faults] == [("AB", 0), ("AB", 2), ("BC", 0)]


# ---- plants --------------------------------------------------------------------------------


def test_plants_outside_and_new_plants_in_no_bed():
    layout = garden(
        rectangle(6, 4),
        plants=(
            Plant("far", (9, 2)),
            Plant("new", (2, 2), existing=False),
            Plant("old", (3, 3)),
            Plant("lost", SidePoint("AX", 1)),
        ),
    )
    faults = find_faults(layout)
    assert [fault.path[:2] for fault in faults] == [("plant", 0), ("plant", 3), ("plant", 1)]
    assert "9' 10-1/8\" (3000 mm) outside the fence" in faults[0].got


def test_a_plants_ring_is_stem_and_clearance():
    site = resolve(garden(rectangle(6, 4), plants=(Plant("p", (3, 2), 0.2, 2.0, 0.15),)))
    assert site.plants[0].ring.bounds == pytest.approx((2.75, 1.75, 3.25, 2.25))


def test_moved_point_turns_and_shifts():
    # the law of moved gardens rests on this
    assert moved_point((1, 0), 90, 3, 4) == pytest.approx((3, 5))
