"""Paths: the rest, drawn ones, walks along a line, and where units may lie."""

from __future__ import annotations

import math

import pytest
import shapely
from gardens import bed, fence, garden, moved, rectangle

from bedplan.model.layout import (
    Centerline,
    Outline,
    PathSpec,
    Paving,
    Plant,
    PostRow,
    Posts,
    Rest,
    SidePoint,
)
from bedplan.model.materials import Paver
from bedplan.site import find_faults, resolve
from bedplan.site.paths import paving_region

YARD = rectangle(8, 6)
MIDDLE = bed("middle", [(3, 2), (5, 2), (5, 4), (3, 4)], edging=None)


def areas(paths, beds=(), spec=YARD, **more):
    site = resolve(garden(spec, beds, [PathSpec(f"p{i}", p) for i, p in enumerate(paths)], **more))
    return [path.area.area for path in site.paths], site


def faults_of(paths, beds=(), spec=YARD):
    return find_faults(garden(spec, beds, [PathSpec(f"p{i}", p) for i, p in enumerate(paths)]))


def test_the_rest_is_what_no_bed_takes():
    (rest,), site = areas([Rest()], [MIDDLE])
    assert rest == pytest.approx(48 - 4)
    assert site.spare.is_empty


def test_no_path_leaves_all_to_spare():
    _, site = areas([], [MIDDLE])
    assert site.spare.area == pytest.approx(44)


def test_a_drawn_path_keeps_its_ground_and_the_rest_goes_round_it():
    square = Outline(((0, 0), (2, 0), (2, 2), (0, 2)))
    (rest, drawn), _ = areas([Rest(), square], [MIDDLE])
    assert (rest, drawn) == pytest.approx((40, 4))


def test_where_walks_cross_the_earlier_keeps_the_crossing():
    along, across = Centerline(((0, 1), (8, 1)), 1.0), Centerline(((1, 0), (1, 6)), 1.0)
    assert areas([along, across])[0] == pytest.approx([8, 5])
    assert areas([across, along])[0] == pytest.approx([6, 7])


@pytest.mark.parametrize(
    ("points", "width", "area"),
    [
        (((1, 1), (5, 1)), 1, 4),
        (((1, 1), (1, 4), (4, 4)), 1, 6),
        (((1, 1), (1, 1), (5, 1)), 1, 4),
        (((0, 3), (8, 3)), 0.5, 4),
        (((1, 1), (4, 4)), 0.5, 0.5 * math.hypot(3, 3)),
    ],
)
def test_walks_of_even_width(points, width, area):
    assert areas([Centerline(points, width)])[0] == pytest.approx([area])


def test_a_walk_meets_a_slanting_fence_over_its_whole_width():
    spec = fence([(0, 0), (8, 0), (8, 6), (0, 2)])
    walk = Centerline((SidePoint("AB", 4), SidePoint("CD", math.hypot(4, 2))), 1.0)
    (area,), site = areas([walk], spec=spec)
    # from 3.5 to 4.5 across, under a line that rises by half: mean height 4
    assert area == pytest.approx(4)
    assert site.paths[0].area.intersection(site.enclosure.polygon.exterior).length == (
        pytest.approx(1 + math.hypot(1, 0.5))
    )


@pytest.mark.parametrize(
    ("paths", "beds", "says"),
    [
        ([Centerline(((1, 1), (1, 1)), 1)], [], "1 separate points"),
        ([Centerline(((-5, 1), (4, 1)), 1)], [], "leaves the fence"),
        ([Centerline(((1, 3), (7, 3)), 1)], [MIDDLE], "into bed 'middle'"),
        ([Outline(((2, 2), (4, 2), (4, 4)))], [MIDDLE], "into bed 'middle'"),
        ([Outline(((7, 2), (9, 2), (9, 4)))], [], "outside the fence"),
        ([Outline(((1, 1), (3, 3), (3, 1), (1, 3)))], [], "crosses or touches"),
        ([Rest(), Rest()], [], "no ground left"),
        ([Centerline((SidePoint("AX", 1), (1, 1)), 1)], [], "no side is called"),
    ],
)
def test_paths_that_cannot_be(paths, beds, says):
    faults = faults_of(paths, beds)
    assert any(says in fault.got for fault in faults), faults


@pytest.mark.parametrize(("gap", "faulty"), [(0, False), (-0.00005, False), (-0.01, True)])
def test_paths_may_touch_a_bed(gap, faulty):
    shape = Outline(((1, 2), (3 - gap, 2), (3 - gap, 4), (1, 4)))
    assert bool(faults_of([shape], [MIDDLE])) is faulty


def test_units_keep_off_clear_rings_and_proud_posts():
    spec = fence([(0, 0), (8, 0), (8, 6), (0, 6)])
    spec = type(spec)(spec.corners, Posts(0.1, 0.05, (PostRow("AB", (4,)),)))
    plants = (Plant("p", (4, 3), 0.2, keep_clear_m=0.3), Plant("bare", (2, 2)))
    _, site = areas([Rest()], spec=spec, plants=plants)
    region = paving_region(site, site.paths[0].area)
    ring = site.plants[0].ring.area
    assert region.area == pytest.approx(48 - ring - 0.1 * 0.05 - 4 * 0.05**2)
    assert ring == pytest.approx(math.pi * 0.16, rel=0.01)
    assert not region.covers(shapely.Point(4, 3))


@pytest.mark.parametrize(("width", "faulty"), [(0.4, False), (0.41, False), (0.398, True)])
def test_a_path_nowhere_as_wide_as_its_unit(width, faulty):
    walk = PathSpec("w", Centerline(((1, 1), (5, 1)), width), paving=Paving("slab"))
    layout = garden(YARD, [], [walk], pavers={"slab": Paver("slab", 0.6, 0.4, 0.05)})
    faults = find_faults(layout)
    assert bool(faults) is faulty
    if faulty:
        assert faults[0].path == ("path", 0, "pavers")


@pytest.mark.parametrize("angle", [0, 7, 15, 29.3, 45, 61, 88.2])
def test_a_walk_as_wide_as_its_unit_is_wide_enough_whichever_way_it_runs(angle):
    spec = fence([(0, 0), (8, 0), (8, 6), (0, 6)])
    walk = PathSpec("w", Centerline(((1, 1), (5, 1)), 0.4064), paving=Paving("slab"))
    layout = garden(spec, [], [walk], pavers={"slab": Paver("slab", 0.4064, 0.4064, 0.05)})
    assert find_faults(moved(layout, angle, 3.3, -1.7)) == ()
