"""Of equal counts the most symmetric: by hand, in walks a paver would set out from the middle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

from bedplan.paving import (
    basket_weave,
    best_shift,
    herringbone,
    open_joints,
    pinwheel,
    running,
    stack,
)
from bedplan.paving.bond_symmetry import symmetries_of
from bedplan.paving.bonds import Step
from bedplan.paving.centre_lines import centre_lines
from bedplan.paving.margins import margins
from bedplan.paving.rows import Runs
from bedplan.paving.shift import search_shift
from bedplan.paving.symmetry import depth_along

X, Y = (1.0, 0.0), (0.0, 1.0)
NORMALS = (X, Y)


def images(laying, change, about=(0.0, 0.0), within_m=1e-6):
    """How many units have their image, mirrored or turned about a point, among the units."""
    at = np.array(laying.units)[:, :2] - about
    turn = np.array(laying.units)[:, 2]
    to, to_turn = at @ np.array(change).T, (turn * np.linalg.det(change)) % 180.0
    gap = np.abs(to[:, None] - at).max(axis=2)
    # half a turn leaves a rectangle as it is
    askew = np.abs((to_turn[:, None] - turn + 90.0) % 180.0 - 90.0)
    return int(np.sum(np.any((gap < within_m) & (askew < 1e-6), axis=1)))


LEFT_RIGHT, NEAR_FAR, HALF_TURN = [[-1, 0], [0, 1]], [[1, 0], [0, -1]], [[-1, 0], [0, -1]]

# Units of 1 by 1 m in a walk of 4.5 m. Slid along by s, four fit wherever 0 ≤ s ≤ 0.5; one more
# fits top left up to s = 0.19, one more top right from s = 0.31, and below one more, two in all,
# from s = 0.21 to 0.29. So six fit in three ways, and only the tightest is symmetric: s = 0.25.
THREE_WAYS = shapely.union_all(
    [box(0, 0, 4.5, 1), box(0, 1, 1.19, 2), box(3.31, 1, 4.5, 2), box(1.21, -1, 3.29, 0)]
)


@pytest.mark.parametrize("turn_deg", [0.0, 37.0, 90.0, 180.0])
def test_of_three_ways_with_equal_counts_the_symmetric_one_is_taken(turn_deg):
    walk = affinity.rotate(THREE_WAYS, turn_deg, origin=(0, 0))
    laying = best_shift(walk, stack(1.0, 1.0), 0.0, turn_deg)
    assert (laying.count, laying.proven) == (6, True)
    back = -np.radians(turn_deg)
    frame = np.array([[np.cos(back), np.sin(back)], [-np.sin(back), np.cos(back)]])
    x = np.sort((np.array(laying.units)[:, :2] @ frame)[:, 0])
    assert x == pytest.approx([0.75, 1.75, 1.75, 2.75, 2.75, 3.75], abs=2e-5)


def test_a_symmetric_way_that_costs_a_unit_is_not_taken():
    # without the ground below, six fit to neither side but five fit left or right
    lopsided = shapely.union_all([box(0, 0, 4.5, 1), box(0, 1, 1.19, 2), box(3.31, 1, 4.5, 2)])
    laying = best_shift(lopsided, stack(1.0, 1.0), 0.0)
    x = np.array(laying.units)[:, 0]
    assert laying.count == 5
    # the slack is shared out: the pattern may slide by 0.19 with all five units inside
    assert min(x % 1.0) == pytest.approx(0.5 + 0.095, abs=2e-5) or min(x % 1.0) == pytest.approx(
        0.5 + 0.31 + 0.095, abs=2e-5
    )


@pytest.mark.parametrize(
    ("wide", "holds", "on_the_line"),
    [(4.5, 4, False), (5.5, 5, True), (4.0, 4, False), (5.0, 5, True), (3.99, 3, True)],
)
def test_a_joint_or_a_unit_lies_on_the_centre_line_as_more_fit(wide, holds, on_the_line):
    walk = box(10.0, 2.0, 10.0 + wide * 0.4, 2.4)
    laying = best_shift(walk, stack(0.4, 0.4), 0.0)
    off = np.abs(np.array(laying.units)[:, 0] - (10.0 + 0.2 * wide))
    assert laying.count == holds
    assert bool(np.min(off) < 1e-6) is on_the_line
    west, _, east, _ = shapely.total_bounds(laying.outlines())
    assert west - 10.0 == pytest.approx((wide - holds) * 0.2)
    assert 10.0 + wide * 0.4 - east == pytest.approx((wide - holds) * 0.2)


def test_a_gabled_walk_is_the_same_left_and_right():
    # isosceles: no side is parallel to the centre line
    house = Polygon([(-2, 0), (2, 0), (1.2, 2.5), (-1.2, 2.5)])
    for bond in (stack(0.4, 0.4), running(0.2, 0.1)):
        laying = best_shift(house, bond, 0.003)
        assert images(laying, LEFT_RIGHT) == laying.count


@pytest.mark.parametrize(
    ("top", "height", "face", "holds"),
    [
        (0.3, 2.5, (0.5, 0.2), 42),
        (0.3, 3.1, (0.3, 0.25), 76),
        (0.5, 3.1, (0.4, 0.2), 77),
        (0.8, 3.1, (0.3, 0.35), 66),
    ],
)
def test_where_only_left_and_right_can_be_alike_courses_lie_where_most_fit(
    top, height, face, holds
):
    gable = Polygon([(-2, 0), (2, 0), (top, height), (-top, height)])
    laying = best_shift(gable, stack(*face), 0.003)
    # with a unit or a joint on the middle line, as many as hold at any height of the courses
    by_hand = 0
    for first in np.arange(0.0, face[1] + 0.003, 0.0005):
        for joint_in_the_middle in (False, True):
            low = np.arange(first, height - face[1], face[1] + 0.003)
            half = 2.0 - (2.0 - top) * (low + face[1]) / height
            if joint_in_the_middle:
                each = 2 * ((half + 0.0015) // (face[0] + 0.003))
            else:
                each = 1 + 2 * ((half - face[0] / 2) // (face[0] + 0.003))
            by_hand = max(by_hand, int(np.sum(np.maximum(each, 0))))
    assert laying.count == by_hand == holds
    downwards = replace(stack(*face), across=Step(y=(0, -1)))
    for each in (laying, best_shift(gable, downwards, 0.003)):
        assert each.count == holds
        assert images(each, LEFT_RIGHT) == holds
        assert np.all(shapely.covers(gable.buffer(2e-5), each.outlines()))


def test_a_lattice_that_starts_on_the_edge_is_not_counted_twice():
    one = np.zeros(1, dtype=np.int64)
    levels, depth = depth_along(Runs(one, one, np.array([0.0]), np.array([1.5])))
    spans = zip(levels[:-1].tolist(), levels[1:].tolist(), depth.tolist(), strict=True)
    assert [span for span in spans if span[1] > span[0]] == [(0.0, 0.5, 2), (0.5, 1.0, 1)]


def test_a_bed_in_the_middle_keeps_both_sides_alike():
    court = box(-3, -2, 3, 2).difference(box(-1, -0.7, 1, 0.7))
    laying = best_shift(court, basket_weave(0.2, 0.1), 0.003)
    # images lie off by the 3 mm that two widths and a joint between are more than one length
    for change in (LEFT_RIGHT, NEAR_FAR, HALF_TURN):
        assert images(laying, change, within_m=0.0031) == laying.count


def test_a_bond_without_mirror_lines_looks_the_same_from_both_ends():
    walk = box(-2.5, -0.65, 2.5, 0.65)
    laying = best_shift(walk, running(0.2, 0.1, 1 / 3), 0.003)
    assert images(laying, HALF_TURN) == laying.count
    assert images(laying, LEFT_RIGHT) < laying.count


def test_a_spur_moves_no_centre():
    # the spur is too thin for a unit, and moves the middle of the whole by 0.15 m
    walk = box(-2.5, -0.65, 2.5, 0.65).union(box(2.5, -0.3, 2.8, -0.28))
    laying = best_shift(walk, running(0.2, 0.1, 1 / 3), 0.003)
    assert images(laying, HALF_TURN) == laying.count


@pytest.mark.parametrize(("flag", "symmetry"), [(7.0, 10 / 11 + 4 / 11), (9.0, 12 / 13)])
def test_a_share_below_a_third_is_chance(flag, symmetry):
    # a mast of four units, each its own mirror image, and a flag one unit high on its right:
    # of 11 units 4 have an image across the mast, of 13 too few. Across the flag's middle only
    # the mast's lowest unit has none
    mast = box(0, 0, 1, 4).union(box(1, 2, 1 + flag, 3))
    found = search_shift(mast, stack(1.0, 1.0), 0.0, 0.0, beat=0).found
    assert found.count == 4 + flag
    assert found.choice.symmetry == pytest.approx(symmetry)


def test_a_herringbone_at_45_degrees_looks_the_same_from_both_ends():
    court = box(-3, -2, 3, 2).difference(box(-1, -0.7, 1, 0.7))
    laying = best_shift(court, herringbone(0.2, 0.1), 0.003, 45.0)
    assert images(laying, HALF_TURN) == laying.count


def test_slabs_laid_cornerwise_are_mirrored_in_the_walks_own_middle():
    walk = box(-2.1, -0.9, 2.1, 0.9)
    laying = best_shift(walk, stack(0.4, 0.4), 0.01, 45.0)
    assert images(laying, HALF_TURN) == laying.count
    assert images_of_squares(laying, LEFT_RIGHT) == laying.count
    assert images_of_squares(laying, NEAR_FAR) == laying.count


def images_of_squares(laying, change):
    """As `images`, for units that are the same after a quarter of a turn."""
    at = np.array(laying.units)[:, :2]
    return int(np.sum(np.any(np.abs((at @ np.array(change))[:, None] - at).max(2) < 1e-6, axis=1)))


def test_each_leg_of_a_bent_walk_is_laid_from_its_own_middle():
    bent = Polygon([(0, 0), (5, 0), (5, 1.3), (1.3, 1.3), (1.3, 5), (0, 5)])
    laying = best_shift(bent, stack(0.4, 0.4), 0.003)
    by_side = {(each.start, each.end): each.least_m for each in margins(bent, laying)}
    # three units and two joints in each leg of 1.3 m: (1.3 - 1.206) / 2
    legs = [((0, 5), (0, 0)), ((1.3, 1.3), (1.3, 5)), ((0, 0), (5, 0)), ((5, 1.3), (1.3, 1.3))]
    assert [by_side[side] for side in legs] == pytest.approx([0.047] * 4, abs=1e-4)


def test_joints_stop_opening_where_the_symmetry_would_go():
    # as above, with room between the courses: below, two units and their joint lie in 2.05 m,
    # so the symmetric way ends at a joint of 50 mm, and those with a unit top left or right go on
    tops = box(0, 1, 1.02, 2.3).union(box(3.48, 1, 4.5, 2.3))
    walk = shapely.union_all([box(0, 0, 4.5, 1), tops, box(1.225, -1.3, 3.275, 0)])
    least = best_shift(walk, stack(1.0, 1.0), 0.0)
    wide = open_joints(walk, least, 0.1)
    assert best_shift(walk, stack(1.0, 1.0), 0.1).count == least.count == wide.count == 6
    assert wide.joint_m == pytest.approx(0.05)
    for laying in (least, wide):
        assert images(laying, LEFT_RIGHT, (2.25, 0.0)) == 6


class TestBonds:
    def test_a_stack_bond_mirrors_about_units_and_joints(self):
        found = symmetries_of(stack(0.5, 0.25), 0.0, NORMALS)
        assert found.mirrors == {X: (0.0, 0.25), Y: (0.0, 0.125)}
        assert len(found.centres) == 4

    def test_half_bond_mirrors_across_its_courses_at_every_half_unit(self):
        # about y only the middle of a course will do: the next is half a unit on
        found = symmetries_of(running(0.5, 0.25), 0.0, NORMALS)
        assert found.mirrors[X] == pytest.approx((0.0, 0.25))
        assert found.mirrors[Y] == pytest.approx((0.0, 0.25))

    @pytest.mark.parametrize(
        "bond", [herringbone(0.2, 0.1), pinwheel(0.3, 0.15), running(0.2, 0.1, 0.3)]
    )
    def test_some_bonds_have_no_mirror_lines_but_centres(self, bond):
        found = symmetries_of(bond, 0.003, NORMALS)
        assert found.mirrors == {X: (), Y: ()}
        assert len(found.centres) == 4

    def test_a_basket_weave_mirrors_but_for_the_joint(self):
        # two widths and a joint are 3 mm more than a length
        found = symmetries_of(basket_weave(0.2, 0.1), 0.003, NORMALS)
        assert len(found.mirrors[X]) >= 2
        assert len(found.mirrors[Y]) >= 2

    def test_squares_mirror_at_45_degrees(self):
        slant = (np.sqrt(0.5), np.sqrt(0.5))
        assert symmetries_of(stack(0.4, 0.4), 0.0, (slant,)).mirrors[slant]
        assert not symmetries_of(stack(0.4, 0.2), 0.0, (slant,)).mirrors[slant]


class TestCentreLines:
    def lines(self, region, direction_deg=0.0):
        found = centre_lines(region, (0.0, 0.0), direction_deg, 0.05)
        return {line.normal: line.at_m for line in found.lines}, found.centre

    def test_posts_and_beds_do_not_move_the_middle(self):
        post, bed = box(0, 0.5, 0.09, 0.6), box(2, 0.3, 4, 0.8)
        walk = box(0, 0, 6, 1.2).difference(post.union(bed))
        lines, centre = self.lines(walk)
        assert lines == {X: pytest.approx(3.0), Y: pytest.approx(0.6)}
        assert centre == pytest.approx((3.0, 0.6))

    def test_a_turned_walk_has_its_lines_along_its_own_sides(self):
        walk = affinity.rotate(box(0, 0, 6, 1.2), 20.0, origin=(0, 0))
        lines, _ = self.lines(walk, 20.0)
        assert lines == {X: pytest.approx(3.0), Y: pytest.approx(0.6)}

    def test_a_walk_seen_cornerwise_has_slanting_lines(self):
        walk = affinity.rotate(box(0, 0, 6, 1.2), 45.0, origin=(0, 0))
        lines, centre = self.lines(walk)
        assert sorted(lines.values()) == pytest.approx([0.6, 3.0])
        assert np.abs(np.array([*lines])) == pytest.approx(np.sqrt(0.5))
        assert centre is not None

    def test_a_bent_walk_has_a_line_in_each_leg_and_no_centre(self):
        bent = Polygon([(0, 0), (5, 0), (5, 1.2), (1.2, 1.2), (1.2, 5), (0, 5)])
        assert self.lines(bent) == ({X: pytest.approx(0.6), Y: pytest.approx(0.6)}, None)

    def test_a_parallelogram_has_a_centre_and_no_lines(self):
        lines, centre = self.lines(Polygon([(0, 0), (4, 0), (6, 2), (2, 2)]))
        assert (lines, centre) == ({}, pytest.approx((3.0, 1.0)))

    def test_a_gable_has_no_centre(self):
        assert self.lines(Polygon([(-2, 0), (2, 0), (1, 3), (-1, 3)]))[1] is None

    def test_a_crooked_yard_has_neither(self):
        yard = Polygon([(0, 0), (4, 0.7), (5.5, 3.1), (2.2, 5.0), (-1.3, 2.4)])
        assert self.lines(yard) == ({}, None)

    def test_parts_far_apart_count_together(self):
        apart = box(0, 0, 1, 2).union(box(0, 3, 1, 5))
        assert self.lines(apart)[0][X] == pytest.approx(0.5)

    def test_nothing_is_symmetric_about_nothing(self):
        assert self.lines(Polygon()) == ({}, None)
