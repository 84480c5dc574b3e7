"""Best shift against brute force, exact fits, awkward regions, order and margins."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving import (
    basket_weave,
    best_laying,
    best_shift,
    directions,
    herringbone,
    open_joints,
    pinwheel,
    running,
    stack,
    upper_bound,
)
from bedplan.paving.bonds import lattice_points
from bedplan.paving.deepest import deepest
from bedplan.paving.rows import edges_of, rows_of, runs_at

INCH = 0.0254
CROOKED = Polygon([(0, 0), (3.1, 0.2), (2.8, 1.3), (1.7, 1.1), (1.9, 2.6), (0.3, 2.2)])
POTTED = CROOKED.difference(shapely.Point(1.1, 1.0).buffer(0.21, quad_segs=2))
APART = MultiPolygon([box(0, 0, 1.13, 0.9), Polygon([(2, 0), (3.3, 0.4), (2.6, 1.7)])])
REGIONS = {"crooked": CROOKED, "potted": POTTED, "apart": APART}
BONDS = [
    stack(0.3, 0.3),
    stack(0.31, 0.17),
    running(0.31, 0.17),
    running(0.3, 0.2, 0.3),
    herringbone(0.3, 0.15),
    herringbone(0.31, 0.13),
    basket_weave(0.3, 0.14),
    pinwheel(0.3, 0.14),
]


def units_at(bond, joint_m, shift, reach_m):
    """Every unit of a pattern that might touch the region, by plain repetition."""
    steps = lattice_points(bond.lattice(joint_m), reach_m) + shift
    at = (steps[:, None] + bond.offsets(joint_m)[None]).reshape(-1, 2)
    half = np.tile(bond.sizes(), (len(steps), 1)) / 2.0
    return at, half


def laid_by_covers(region, bond, joint_m, shift, press_m=0.0):
    """Units inside at one shift: shapely's own test, unit by unit."""
    reach = 2.0 * float(np.abs(region.bounds).max())
    at, half = units_at(bond, joint_m, shift, reach)
    half = half - press_m
    return int(shapely.covers(region, shapely.box(*(at - half).T, *(at + half).T)).sum())


@pytest.mark.parametrize("bond", BONDS, ids=lambda bond: bond.name)
@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
def test_no_shift_of_a_dense_grid_lays_more(region, bond):
    shapely.prepare(region)
    laying = best_shift(region, bond, 0.01)
    lattice = bond.lattice(0.01)
    grid = [
        laid_by_covers(region, bond, 0.01, np.array([a, b]) / 9 @ lattice)
        for a in range(9)
        for b in range(9)
    ]
    assert laying.proven
    assert laying.count >= max(grid) > 0


@pytest.mark.parametrize("seed", [8, 24, 29, 113, 115, 150, 155, 185, 195, 233, 279])
def test_the_count_is_the_best_corner_of_all_critical_lines(seed):
    # The depth of closed sets is reached at a corner of the arrangement of their folded
    # boundaries: a vertex, or a crossing of two. All of them are tried one by one here. In most
    # of these regions a first look, one sweep through each slab, finds one unit or two too few.
    rng = np.random.default_rng(seed)
    corners = int(rng.integers(3, 6))
    turn = (np.arange(corners) + rng.uniform(-0.3, 0.3, corners)) * 2 * np.pi / corners
    region = Polygon(np.column_stack((np.cos(turn), np.sin(turn))))
    bond = stack(0.31, 0.23) if seed % 2 else running(0.31, 0.23, 0.37)
    lattice = bond.lattice(0.0)
    places = erode(region, rectangle_kernel(bond.length_m - 2 * FIT_M, bond.width_m - 2 * FIT_M))
    outlines = shapely.boundary(shapely.get_parts(places))
    folded = shapely.union_all(
        [
            affinity.translate(line, *-step)
            for line in outlines
            for step in lattice_points(lattice, 1.5)
        ]
    )
    cell = Polygon([(0, 0), lattice[0], lattice[0] + lattice[1], lattice[1]]).buffer(1e-6)
    corners = shapely.get_coordinates(shapely.intersection(folded, cell))
    shapely.prepare(region)
    exact = max(
        laid_by_covers(region, bond, 0.0, corner, 1.5 * FIT_M)
        for corner in np.unique(np.round(corners, 8), axis=0)
    )
    laying = best_shift(region, bond, 0.0)
    assert (laying.count, laying.proven) == (exact, True)


def exact_walk(units, size, joint, turn_deg, at):
    """A walk just as long and as wide as whole units and the joints between them."""
    sides = [n * side + (n - 1) * joint for n, side in zip(units, size, strict=True)]
    return affinity.translate(affinity.rotate(box(0, 0, *sides), turn_deg, origin=(0, 0)), *at)


@pytest.mark.parametrize("turn_deg", [0.0, 7.3, 33.333, 45.0, 89.99])
@pytest.mark.parametrize(
    ("units", "size", "joint"),
    [
        ((10, 3), (16 * INCH, 16 * INCH), 3 / 8 * INCH),
        ((7, 5), (7.625 * INCH, 3.625 * INCH), 3 / 8 * INCH),
        ((30, 12), (8 * INCH, 4 * INCH), 0.0),
        ((9, 4), (0.4, 0.6), 0.003),
        ((11, 1), (0.333, 0.111), 0.0007),
    ],
    ids=["slabs", "bricks", "dry bricks", "metric", "one course"],
)
def test_a_walk_exactly_so_many_units_wide_holds_them(units, size, joint, turn_deg):
    walk = exact_walk(units, size, joint, turn_deg, (31.7, -12.9))
    laying = best_shift(walk, stack(*size), joint, turn_deg)
    assert laying.count == math.prod(units)
    assert laying.proven
    assert upper_bound(walk, *size, joint) >= laying.count


def test_a_walk_a_hair_too_narrow_loses_a_course():
    size, joint = (0.4, 0.3), 0.005
    full = box(0, 0, 10 * 0.4 + 9 * joint, 4 * 0.3 + 3 * joint)
    less = box(0, 0, full.bounds[2], full.bounds[3] - 1e-4)
    assert best_shift(full, stack(*size), joint).count == 40
    assert best_shift(less, stack(*size), joint).count == 30


def test_every_other_course_of_a_half_bond_is_one_short():
    # five courses in a walk ten units long: 10 + 9 + 10 + 9 + 10
    walk = exact_walk((10, 5), (0.2, 0.1), 0.0, 12.0, (3, 4))
    assert best_shift(walk, running(0.2, 0.1), 0.0, 12.0).count == 48


@pytest.mark.parametrize(
    "region", [box(0, 0, 0.29, 5.0), Polygon(), Polygon([(0, 0), (5, 0), (5, 0.2)])]
)
def test_where_nothing_fits_none_are_laid_and_that_is_proven(region):
    laying = best_shift(region, stack(0.3, 0.3), 0.01)
    assert (laying.count, laying.units, laying.proven) == (0, (), True)
    assert laying.outlines().shape == (0,)
    assert laying.paved_area_m2 == 0.0


def test_a_single_unit_in_its_own_outline():
    outline = affinity.rotate(box(5, 5, 5.4, 5.2), 21.0)
    laying = best_shift(outline, stack(0.4, 0.2), 0.01, 21.0)
    assert laying.count == 1
    assert laying.outlines()[0].equals_exact(outline, 1e-8, normalize=True)


def test_parts_of_a_region_share_one_pattern():
    # two beds of one unit each, 0.55 m apart: no stack bond of 0.5 m modules serves both
    apart = MultiPolygon([box(0, 0, 0.5, 0.5), box(1.05, 0, 1.55, 0.5)])
    aligned = MultiPolygon([box(0, 0, 0.5, 0.5), box(1.0, 0, 1.5, 0.5)])
    assert best_shift(apart, stack(0.5, 0.5), 0.0).count == 1
    assert best_shift(aligned, stack(0.5, 0.5), 0.0).count == 2


def test_a_hole_takes_its_units_away():
    court = box(0, 0, 5, 5)
    assert best_shift(court.difference(box(2, 2, 3, 3)), stack(1, 1), 0.0).count == 24
    assert best_shift(court.difference(box(2.4, 2.4, 2.6, 2.6)), stack(1, 1), 0.0).count == 24
    assert best_shift(court.difference(box(1.9, 1.9, 2.1, 2.1)), stack(1, 1), 0.0).count == 21


def test_margins_are_even_in_a_rectangle():
    laying = best_shift(box(1, 2, 4.3, 3.15), stack(0.4, 0.5), 0.01, 0.0)
    ground = shapely.total_bounds(laying.outlines())
    assert laying.count == 8 * 2
    assert ground[0] - 1 == pytest.approx(4.3 - ground[2], abs=1e-9)
    assert ground[1] - 2 == pytest.approx(3.15 - ground[3], abs=1e-9)


def test_units_come_course_by_course():
    laying = best_shift(
        affinity.rotate(CROOKED, 30.0, origin=(0, 0)), running(0.3, 0.2), 0.0, 30.0
    )
    at = np.array(laying.units)[:, :2]
    turn = math.radians(30.0)
    along = at @ [math.cos(turn), math.sin(turn)]
    course = np.round((at @ [-math.sin(turn), math.cos(turn)]) / 0.2, 6)
    order = np.lexsort((along, np.round(course - course.min())))
    np.testing.assert_array_equal(order, np.arange(laying.count))


@pytest.mark.parametrize("bond", BONDS, ids=lambda bond: bond.name)
def test_units_lie_on_the_pattern_of_the_stated_shift(bond):
    laying = best_shift(POTTED, bond, 0.008, 0.0)
    steps = np.array(laying.units)[:, None, :2] - bond.offsets(0.008)[None] - laying.shift_m
    multiples = steps @ np.linalg.inv(bond.lattice(0.008))
    on_pattern = np.all(np.abs(multiples - np.round(multiples)) < 1e-7, axis=2)
    assert np.all(on_pattern.any(axis=1))
    assert (
        laid_by_covers(POTTED.buffer(3 * FIT_M), bond, 0.008, np.array(laying.shift_m))
        == laying.count
    )


def test_turned_units_of_a_herringbone():
    laying = best_shift(CROOKED, herringbone(0.3, 0.15), 0.0, 150.0)
    assert {unit.turn_deg for unit in laying.units} == {150.0, 60.0}
    assert shapely.area(laying.outlines()) == pytest.approx(0.045)
    assert laying.paved_area_m2 == pytest.approx(laying.count * 0.045)


def test_two_sizes_are_told_apart():
    laying = best_shift(CROOKED, pinwheel(0.3, 0.15), 0.01)
    areas = shapely.area(laying.outlines())
    assert set(laying.faces) == {0, 1}
    np.testing.assert_allclose(areas, np.where(np.array(laying.faces) == 0, 0.09, 0.0225))
    assert laying.paved_area_m2 == pytest.approx(areas.sum())


@pytest.mark.parametrize("joint_m", [-0.001, float("nan"), float("inf")])
def test_a_joint_that_cannot_be_laid_is_refused(joint_m):
    with pytest.raises(GeometryError, match="joint"):
        best_shift(CROOKED, stack(0.3, 0.3), joint_m)


def test_a_direction_that_is_no_number_is_refused():
    with pytest.raises(GeometryError, match="no direction"):
        best_shift(CROOKED, stack(0.3, 0.3), 0.0, float("nan"))


def test_rings_that_touch_in_a_point_stay_usable_when_turned():
    # found by the laws: a hole's corner lies on the outline, and a rounding makes it cross
    region = Polygon(
        [(0.3125, 0), (0, -0.4375), (-0.3125, 0), (0, 0.3125)],
        [[(0.15625, 0.15625), (0.05, 0.1), (0.1, 0.0)]],
    )
    angles = [
        angle for angle in range(90) if affinity.rotate(region, angle, origin=(0, 0)).is_valid
    ]
    crossing = [
        angle for angle in range(90) if not affinity.rotate(region, -angle, origin=(0, 0)).is_valid
    ]
    assert crossing
    for angle in crossing:
        assert best_shift(region, stack(0.1, 0.1), 0.0, angle).proven
    counts = {
        best_shift(
            affinity.rotate(region, angle, origin=(0, 0)), stack(0.1, 0.1), 0.0, angle
        ).count
        for angle in angles
    }
    grid = [
        laid_by_covers(region, stack(0.1, 0.1), 0.0, np.array([x, y]) / 400)
        for x in range(40)
        for y in range(40)
    ]
    assert counts == {max(grid)}


def small_stack(region):
    """Edges of the places of a small unit, and the count at any shift."""
    rows = rows_of(stack(0.11, 0.07).lattice(0.0))
    edges = edges_of([erode(region, rectangle_kernel(0.11, 0.07))], np.zeros((1, 2)), rows)
    return edges, lambda shift: runs_at(edges, shift, rows.slide).count()


def test_a_search_cut_short_says_so():
    edges, recount = small_stack(CROOKED)
    whole = deepest(edges, 0.0, 1e-4, recount)
    short = deepest(edges, 0.0, 1e-4, recount, effort=whole.work // 2)
    assert whole.proven
    assert not short.proven
    assert 0 < short.depth <= whole.depth == recount(whole.shift)


def test_nothing_above_the_best_is_found_and_that_is_proven():
    edges, recount = small_stack(CROOKED)
    best = deepest(edges, 0.0, 1e-4, recount).depth
    assert deepest(edges, 0.0, 1e-4, recount, beat=best - 1).depth == best
    again = deepest(edges, 0.0, 1e-4, recount, beat=best)
    assert (again.depth, again.proven) == (best, True)


def test_a_corner_where_two_pieces_of_ground_meet_counts_once():
    # found by the laws: the deepest place of 7 units is such a corner, and was taken for 8
    region = Polygon(
        [
            (0.3125, 0),
            (0.59375, 1.0284051669940208),
            (-0.15625, 0.2706329386826371),
            (-0.4375, 0),
            (-0.15625, -0.270632938682637),
            (0.15625, -0.270632938682637),
        ]
    )
    laying = best_shift(region, herringbone(0.25, 0.125), 0.0234)
    assert (laying.count, laying.proven) == (7, True)


def test_ground_on_both_sides_of_a_slanting_slot_counts_once():
    # at the slot's tip a slab of any height lets the ground on either side claim one point
    slotted = Polygon(
        [(0, 0), (2, 0), (2, 1.5), (1.0834, 1.5), (0.9551, 1.0011), (1.0644, 1.5), (0, 1.5)]
    )
    edges = edges_of([slotted], np.zeros((1, 2)), rows_of(np.eye(2)))
    depth = {
        shift: runs_at(edges, shift, 0.0).count()
        for shift in np.random.default_rng(1)
        .uniform(0, 1, (2000, 2))
        .round(6)
        .view("f8,f8")
        .ravel()
        .tolist()
    }
    found = deepest(edges, 0.0, 1e-5, lambda shift: runs_at(edges, shift, 0.0).count())
    assert (found.depth, found.proven) == (max(depth.values()), True)


class TestDirections:
    def test_longest_total_first(self):
        house = Polygon([(0, 0), (4, 0), (4, 3), (2, 4.5), (0, 3)])
        angles = directions(house)
        assert angles[0] == 0.0  # 4 + 3 + 3 m against two slopes of 2.5 m
        np.testing.assert_allclose(sorted(angles[1:]), [36.8699, 90 - 36.8699], atol=1e-3)

    def test_many_short_sides_outweigh_a_long_one(self):
        stairs = Polygon([(0, 0), (3, 4), (3, 3), (2, 3), (2, 2), (1, 2), (1, 0.6), (0.8, 0)])
        # the slope measures 5 m at 53.13°; level and upright sides 1+1+1+1+1.4+0.8 m
        assert directions(stairs)[0] in (0.0, 90.0)

    def test_holes_and_parts_count(self):
        court = box(0, 0, 1, 1).union(affinity.rotate(box(3, 0, 6, 3), 10.0))
        np.testing.assert_allclose(directions(court), [10.0, 0.0], atol=1e-9)

    def test_turning_the_region_turns_its_directions(self):
        turned = affinity.rotate(CROOKED, 25.0)
        wanted = (np.array(directions(CROOKED)) + 25.0) % 90.0
        np.testing.assert_allclose(directions(turned), wanted, atol=1e-9)

    def test_a_round_edge_gives_no_more_than_asked(self):
        assert len(directions(shapely.Point(0, 0).buffer(2.0, quad_segs=40), most=5)) == 5


class TestBestLaying:
    def test_it_is_the_best_of_all_it_tries(self):
        bonds = [stack(0.31, 0.17), running(0.31, 0.17, 0.3)]
        best = best_laying(POTTED, bonds, 0.01)
        counts = [
            best_shift(POTTED, version, 0.01, angle + turn).count
            for angle in directions(POTTED)
            for bond in bonds
            for version in (bond, bond.mirrored())
            for turn in (0, 90, 180, 270)
        ]
        assert best.count == max(counts) > min(counts)
        assert best.proven

    def test_a_bond_seen_in_a_mirror_is_tried_too(self):
        bond = running(0.4, 0.2, 0.25)
        counts = {
            version.name: max(
                best_shift(CROOKED, version, 0.01, angle + turn).count
                for angle in directions(CROOKED)
                for turn in (0, 90, 180, 270)
            )
            for version in (bond, bond.mirrored())
        }
        best = best_laying(CROOKED, bond, 0.01)
        assert counts[bond.name] < counts[bond.mirrored().name] == best.count
        assert best.bond == bond.mirrored()

    def test_a_unit_that_only_fits_crosswise_is_turned(self):
        passage = box(0, 0, 5, 0.3)
        laying = best_laying(passage, stack(0.3, 0.45), 0.0)
        assert laying.count == 11
        assert {unit.turn_deg for unit in laying.units} == {90.0}

    def test_equal_counts_take_the_longest_side(self):
        laying = best_laying(box(0, 0, 3, 1), stack(0.5, 0.5), 0.0, [0.0, 90.0])
        assert laying.direction_deg == 0.0

    def test_given_directions_alone_are_tried(self):
        laying = best_laying(CROOKED, stack(0.3, 0.3), 0.0, [12.0])
        assert laying.direction_deg == 12.0

    def test_nothing_fits(self):
        laying = best_laying(box(0, 0, 0.1, 3), [stack(0.3, 0.3)], 0.0)
        assert (laying.count, laying.proven) == (0, True)

    def test_no_bond_is_refused(self):
        with pytest.raises(GeometryError, match="no bond"):
            best_laying(CROOKED, [], 0.0)


class TestOpenJoints:
    def test_slack_goes_into_the_joints_to_a_tenth_of_a_millimetre(self):
        # 14 slabs of 16 in along 20 ft leave 16 in for 13 joints: 1.2308 in
        walk = box(0, 0, 240 * INCH, 48 * INCH)
        least = best_shift(walk, stack(16 * INCH, 16 * INCH), 3 / 8 * INCH)
        opened = open_joints(walk, least, 1.5 * INCH)
        assert opened.count == least.count == 28
        assert opened.joint_m == pytest.approx(16 / 13 * INCH, abs=1e-4)
        assert opened.joint_m <= (16 * INCH + 4 * FIT_M) / 13

    def test_the_greatest_joint_is_taken_where_it_fits(self):
        walk = box(0, 0, 2.0, 2.0)
        least = best_shift(walk, stack(0.9, 0.9), 0.003)
        assert open_joints(walk, least, 0.01).joint_m == 0.01

    def test_no_room_leaves_the_laying_alone(self):
        walk = exact_walk((4, 3), (0.3, 0.2), 0.004, 0.0, (0, 0))
        least = best_shift(walk, stack(0.3, 0.2), 0.004)
        assert open_joints(walk, least, 0.02) is least
        assert open_joints(walk, least, 0.004) is least

    def test_no_units_stay_none(self):
        none = best_shift(box(0, 0, 0.1, 0.1), stack(0.3, 0.2), 0.004)
        assert open_joints(box(0, 0, 0.1, 0.1), none, 0.02) is none


class TestUpperBound:
    def test_a_neck_too_narrow_for_a_unit_does_not_count(self):
        rooms = shapely.union_all([box(0, 0, 1, 1), box(1, 0.4, 9, 0.6), box(9, 0, 10, 1)])
        assert rooms.area == pytest.approx(3.6)
        assert upper_bound(rooms, 0.5, 0.5, 0.0) <= 10
        assert upper_bound(rooms, 0.5, 0.5, 0.0) >= best_laying(rooms, stack(0.5, 0.5), 0).count

    def test_each_piece_is_rounded_down_alone(self):
        rooms = MultiPolygon([box(3 * k, 0, 3 * k + 1.9, 1) for k in range(5)])
        assert upper_bound(rooms, 1.0, 1.0, 0.0) == 5

    def test_nothing_fits(self):
        assert upper_bound(box(0, 0, 0.2, 9), 0.5, 0.3, 0.0) == 0

    @pytest.mark.parametrize("figures", [(0.0, 0.1, 0.0), (0.1, 0.1, -0.1)])
    def test_what_is_no_unit_is_refused(self, figures):
        with pytest.raises(GeometryError, match="no unit"):
            upper_bound(CROOKED, *figures)
