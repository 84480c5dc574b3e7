"""Which stretches of an outline are free of fence and neighbours."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon, box

from bedplan.edging.runs import SHORTEST_RUN_M, Served, corners, edges_of

BED = box(0, 0, 4, 2)
T = 0.02


def spans(*served, bed=BED, **more):
    """Return the free spans of each side, bottom first."""
    (ring,) = edges_of(
        Polygon(
            [
                (bed.bounds[0], bed.bounds[1]),
                (bed.bounds[2], bed.bounds[1]),
                (bed.bounds[2], bed.bounds[3]),
                (bed.bounds[0], bed.bounds[3]),
            ]
        ),
        [Served(list(served))],
        **more,
    )
    return [edge.spans for edge in ring]


def test_a_lone_bed_is_free_all_round():
    assert spans() == [((0, 4),), ((0, 2),), ((0, 4),), ((0, 2),)]


@pytest.mark.parametrize(
    ("neighbour", "bottom"),
    [
        (box(0, -1, 4, 0), ()),
        (box(-3, -1, 9, 0), ()),
        (box(1, -1, 2, 0), ((0, 1), (2, 4))),
        (box(-1, -1, 1, 0), ((1, 4),)),
        (box(3, -1, 9, 0), ((0, 3),)),
        (box(0, -1, 4, -0.00009), ()),
        (box(0, -1, 4, -0.00011), ((0, 4),)),
        (box(0.0005, -1, 4, 0), ()),
        (box(0.002, -1, 4, 0), ((0, 0.002),)),
        (box(5, -1, 9, 0), ((0, 4),)),
        (box(4, -1, 9, 0), ((0, 4),)),
    ],
)
def test_what_a_neighbour_serves(neighbour, bottom):
    assert (
        spans(neighbour)[0] == pytest.approx(bottom)
        if not bottom
        else all(
            got == pytest.approx(want)
            for got, want in zip(spans(neighbour)[0], bottom, strict=True)
        )
    )


def test_spans_end_exactly_at_their_corner():
    # ends within a tolerance of the corner are the corner: joints rest on it
    free = spans(box(1, -1, 3.99995, 0))[0]
    assert free == (pytest.approx((0, 1)),)
    assert free[0][0] == 0.0


def test_two_neighbours_and_the_gap_between_them():
    assert spans(box(0, -1, 1, 0), box(1.5, -1, 4, 0))[0] == (pytest.approx((1, 1.5)),)
    assert spans(box(0, -1, 2, 0), box(1.5, -1, 4, 0))[0] == ()


def test_a_gap_no_longer_than_asked_is_no_run():
    near = box(0.015, -1, 4, 0)
    assert len(spans(near)[0]) == 1
    assert spans(near, shortest_m=T)[0] == ()
    assert SHORTEST_RUN_M < T


def test_a_short_side_with_no_neighbour_keeps_its_board():
    small = box(0, 0, 0.015, 2)
    assert spans(bed=small, shortest_m=T)[0] == ((0, pytest.approx(0.015)),)


def test_a_slanting_neighbour_serves_nothing():
    wedge = Polygon([(0, 0), (0, -1), (4, -1), (4, -0.01)])
    assert spans(wedge)[0] == ((0, 4),)


def test_holes_are_walked_with_the_bed_on_the_left():
    ring = Polygon(box(0, 0, 4, 4).exterior.coords[::-1], [box(1, 1, 3, 3).exterior.coords])
    import shapely

    outer, inner = edges_of(shapely.orient_polygons(ring), [])
    for edge in (*outer, *inner):
        middle = edge.line.shifted(0.1).point(edge.length_m / 2)
        assert ring.contains(shapely.Point(middle))


def test_boards_at_corners():
    (ring,) = edges_of(Polygon([(0, 0), (4, 0), (4, 2), (0, 2)]), [Served([box(0, -1, 1, 0)])])
    assert (ring[0].boarded_at_start(), ring[0].boarded_at_end()) == (False, True)
    assert (ring[3].boarded_at_start(), ring[3].boarded_at_end()) == (True, True)


@pytest.mark.parametrize(
    ("points", "kept"),
    [
        ([(0, 0), (2, 0), (4, 0), (4, 2), (0, 2)], 4),
        ([(0, 0), (2, 0.00009), (4, 0), (4, 2)], 3),
        ([(0, 0), (2, 0.0002), (4, 0), (4, 2)], 4),
        ([(0, 0), (1, 0), (0, 1)], 3),
        ([(0, 0), (4, 0), (4, 0.00005), (4, 2)], 3),
    ],
)
def test_true_corners(points, kept):
    assert len(corners([*points, points[0]])) == kept
