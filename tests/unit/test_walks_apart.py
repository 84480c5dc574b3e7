"""Separate walks, of one path or of two: no unit nearer to another than the joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from gardens import bed, garden, rectangle

from bedplan.model.layout import Outline, PathSpec, Paving, Rest
from bedplan.model.materials import Paver
from bedplan.plan import FreeSearch, make_plan
from bedplan.plan.apart import Beside, clear_of
from bedplan.plan.choices import choices
from bedplan.plan.walk import lay_walk
from bedplan.plan.walks import lay_walks, units_before
from bedplan.site import resolve

SLAB = Paver("slab", 0.4, 0.4, 0.05, price=1.0)
TILE = Paver("tile", 0.3, 0.2, 0.05)
PRESS_M = 3e-5
JOINT_M = 0.01


def parted(board_m, left_m=2.04, right_m=1.63, **paving):
    """Return a yard 2.04 m high, parted by a bed as thin as a board: two walks of one path."""
    thin = bed("board", _box(left_m, 0, left_m + board_m, 2.04), edging=None)
    paving = Paving("slab", **{"joint_m": (JOINT_M, JOINT_M), "bond": "stack"} | paving)
    walk = PathSpec("walk", Rest(), paving=paving)
    fence = rectangle(left_m + board_m + right_m, 2.04)
    return garden(fence, [thin], [walk], pavers={"slab": SLAB}, show="metric")


def two_paths(first, second):
    """Return two paths side by side, 1.22 m and 1.2 m wide, each with its own paving."""
    paths = [
        PathSpec("one", Outline(_box(0, 0, 1.22, 2.04)), paving=first),
        PathSpec("two", Rest(), paving=second),
    ]
    pavers = {"slab": SLAB, "tile": TILE}
    return garden(rectangle(2.42, 2.04), [], paths, pavers=pavers, show="metric")


def _box(x0, y0, x1, y1):
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def least_gap_m(walks):
    """Return the least distance of two units, measured one by one."""
    outlines = np.array([outline for walk in walks for outline in walk.outlines])
    one, other = np.triu_indices(len(outlines), 1)
    return float(shapely.distance(outlines[one], outlines[other]).min())


# ---- walks of one path ---------------------------------------------------------------------


def test_walks_a_thin_board_apart_keep_the_joint_and_no_more():
    # both walks hold whole columns of 0.41 m to the millimetre: 5 beside 4, five units high.
    # Through a board of 4 mm the later one must draw back by 6 mm, and loses a column.
    (walk,) = make_plan(parted(0.004)).walks
    assert least_gap_m([walk]) >= JOINT_M - PRESS_M
    assert [laying.count for laying in walk.layings] == [25, 15]
    # 6 mm more on that side, and nothing is lost
    (walk,) = make_plan(parted(0.004, right_m=1.636)).walks
    assert least_gap_m([walk]) == pytest.approx(JOINT_M, abs=PRESS_M)
    assert [laying.count for laying in walk.layings] == [25, 20]


def test_walks_a_joint_apart_are_laid_each_by_itself():
    layout = parted(0.0101)
    site = resolve(layout)
    (walk,) = make_plan(layout).walks
    assert [laying.count for laying in walk.layings] == [25, 20]
    alone = [
        lay_walk(layout, site, replace(site.paths[0], area=part), FreeSearch()).layings[0]
        for part in sorted(shapely.get_parts(walk.ground), key=lambda part: -part.area)
    ]
    assert list(walk.layings) == alone


@pytest.mark.parametrize("bond", ["stack", "running", "herringbone", "courses", "free"])
@pytest.mark.parametrize("board_m", [0.001, 0.005, 0.009])
def test_every_bond_keeps_the_joint_between_walks(bond, board_m):
    layout = parted(board_m, bond=bond)
    (walk,) = lay_walks(layout, resolve(layout), FreeSearch(0.2))
    assert len(walk.layings) == 2
    assert least_gap_m([walk]) >= JOINT_M - PRESS_M
    ground = walk.ground.buffer(PRESS_M)
    assert all(ground.covers(outline) for outline in walk.outlines)
    assert walk.count <= walk.line_bound <= walk.upper_bound


def test_stepping_stones_keep_the_joint_between_walks():
    (walk,) = make_plan(parted(0.004, 0.4, 0.4, stride_m=0.6)).walks
    assert walk.count == 4  # the narrower walk is no unit wide any more
    assert least_gap_m([walk]) >= JOINT_M - PRESS_M


def test_walks_that_meet_at_a_corner_keep_the_joint():
    # two squares of 1.22 m, corner to corner: three by three units reach into the corner
    beds = [
        bed("south-east", _box(1.22, 0, 2.44, 1.22), edging=None),
        bed("north-west", _box(0, 1.22, 1.22, 2.44), edging=None),
    ]
    paving = Paving("slab", joint_m=(JOINT_M, JOINT_M))
    walk = PathSpec("walk", Rest(), paving=paving)
    layout = garden(rectangle(2.44, 2.44), beds, [walk], pavers={"slab": SLAB}, show="metric")
    (laid,) = make_plan(layout).walks
    assert least_gap_m([laid]) >= JOINT_M - PRESS_M
    assert sorted(laying.count for laying in laid.layings) == [8, 9]  # the corner unit goes


# ---- two paths -----------------------------------------------------------------------------


@pytest.mark.parametrize(("one_m", "two_m"), [(0.01, 0.0), (0.0, 0.01), (0.01, 0.02)])
def test_between_two_paths_the_wider_joint_holds(one_m, two_m):
    one = Paving("slab", joint_m=(one_m, one_m))
    two = Paving("tile", joint_m=(two_m, two_m), direction=0.0)
    walks = make_plan(two_paths(one, two)).walks
    across = min(a.distance(b) for a in walks[0].outlines for b in walks[1].outlines)
    assert across >= max(one_m, two_m) - PRESS_M
    # the earlier path keeps what it had
    alone = two_paths(one, None)
    assert walks[0].layings == make_plan(alone).walks[0].layings


def test_a_later_path_has_lost_what_the_joint_takes():
    # 1.22 m hold three slabs and their joints; of 1.2 m a joint takes the third column
    paving = Paving("slab", joint_m=(JOINT_M, JOINT_M))
    one, two = make_plan(two_paths(paving, paving)).walks
    assert (one.count, two.count) == (15, 10)
    assert least_gap_m([one, two]) >= JOINT_M - PRESS_M


def test_a_path_looked_at_by_itself_knows_its_neighbours():
    paving = Paving("slab", joint_m=(JOINT_M, JOINT_M))
    layout = two_paths(paving, paving)
    site = resolve(layout)
    planned = make_plan(layout).walks[1]
    beside = units_before(layout, site, 1)
    assert [len(each.outlines) for each in beside] == [15]
    assert units_before(layout, site, 0) == ()
    alone = lay_walk(layout, site, site.paths[1], FreeSearch(), beside=beside)
    assert alone.layings == planned.layings
    (chosen,) = [each for each in choices(layout, site, site.paths[1]) if each.chosen]
    assert chosen.walk.layings == planned.layings


def test_paths_that_stay_apart_are_not_laid_for_each_other():
    paving = Paving("slab", joint_m=(JOINT_M, JOINT_M))
    strip_bed = bed("between", _box(1.22, 0, 1.24, 2.04), edging=None)
    layout = replace(two_paths(paving, paving), beds=(strip_bed,))
    assert units_before(layout, resolve(layout), 1) == ()


# ---- limits --------------------------------------------------------------------------------


@pytest.mark.parametrize("limit", [4, 6, 10, 20, 39])
def test_units_moved_to_spread_a_limited_number_keep_the_joint(limit):
    layout = parted(0.004, right_m=1.636)
    few = replace(layout, pavers={"slab": replace(SLAB, limit=limit)})
    (walk,) = make_plan(few).walks
    assert walk.count == limit
    assert least_gap_m([walk]) >= JOINT_M - PRESS_M


@pytest.mark.parametrize("limit", [4, 8, 9, 11, 15])
def test_a_unit_spread_along_its_course_keeps_clear_of_another_walk(limit):
    # a row of slabs below a taller walk: where that stands over it, the row holds none
    beds = [
        bed("west", _box(0, 0.4, 1.6, 2.854), edging=None),
        bed("east", _box(2.41, 0.4, 4.09, 2.854), edging=None),
        bed("board", _box(1.6, 0.4, 2.41, 0.404), edging=None),
    ]
    walk = PathSpec("walk", Rest(), paving=Paving("slab", joint_m=(JOINT_M, JOINT_M)))
    layout = garden(rectangle(4.09, 2.854), beds, [walk], pavers={"slab": SLAB}, show="metric")
    (full,) = make_plan(layout).walks
    tall, row = full.layings
    assert (tall.count, row.count) == (12, 7)
    few = replace(layout, pavers={"slab": replace(SLAB, limit=limit)})
    (spread,) = make_plan(few).walks
    assert spread.count == limit
    assert least_gap_m([spread]) >= JOINT_M - PRESS_M


# ---- the ground left -----------------------------------------------------------------------


def test_ground_gives_way_only_where_units_are_nearer_than_the_joint():
    ground = shapely.box(0, 0, 2, 1)
    near, far = shapely.box(2.004, 0.2, 2.4, 0.6), shapely.box(2.011, 0.2, 2.4, 0.6)
    assert clear_of(ground, [Beside((far,), JOINT_M)], JOINT_M) is ground
    assert clear_of(ground, [], JOINT_M) is ground
    left = clear_of(ground, [Beside((near, far), 0.0)], JOINT_M)
    # 6 mm along the unit and a joint on either side of it
    assert ground.area - left.area == pytest.approx(0.006 * (0.4 + 2 * JOINT_M))
    assert left.distance(near) == pytest.approx(JOINT_M)
    wider = clear_of(ground, [Beside((near,), 0.03)], JOINT_M)
    assert wider.distance(near) == pytest.approx(0.03)
