"""What holds of every laying, whatever the region: attacked with random polygons with holes."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from bedplan.geometry.erosion import dilate, erode, rectangle_kernel
from bedplan.geometry.tolerance import FIT_M
from bedplan.model.bonds import MotifUnit, Step
from bedplan.paving import (
    Bond,
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
from bedplan.paving.shift import search_shift
from bedplan.paving.symmetry import SEEN

SIXTEENTH = 1 / 16
laws = settings(max_examples=40, deadline=None)
joints = st.sampled_from([0.0, 0.003, 0.0127, 0.04])


@st.composite
def regions(draw):
    """A star-shaped outline on a grid of sixteenths, less none to two holes."""
    corners = draw(st.integers(3, 9))
    reach = draw(st.lists(st.integers(5, 32), min_size=corners, max_size=corners))
    turn = 2 * np.pi * np.arange(corners) / corners + draw(st.floats(0, 1.5))
    radius = np.array(reach) * SIXTEENTH
    region = Polygon(np.column_stack((radius * np.cos(turn), radius * np.sin(turn))))
    for _ in range(draw(st.integers(0, 2))):
        x, y = (draw(st.integers(-20, 20)) * SIXTEENTH for _ in range(2))
        hole = shapely.Point(x, y).buffer(draw(st.integers(1, 6)) * SIXTEENTH, quad_segs=2)
        region = region.difference(hole)
    assume(region.is_valid and region.area > 0.05)
    return region


@st.composite
def bonds(draw):
    length = draw(st.integers(3, 10)) * SIXTEENTH
    width = draw(st.integers(2, 10)) * SIXTEENTH
    make = draw(
        st.sampled_from(
            [stack, running, lambda x, y: running(x, y, 0.3), herringbone, basket_weave, pinwheel]
        )
    )
    return make(length, width)


@laws
@given(regions(), bonds(), joints, st.floats(0, 360))
def test_units_are_whole_inside_and_a_joint_apart(region, bond, joint_m, angle):
    laying = best_shift(region, bond, joint_m, angle)
    units = laying.outlines()
    assert laying.proven
    assert np.all(shapely.covers(region.buffer(3 * FIT_M), units))
    first, second = shapely.STRtree(units).query(units, "dwithin", joint_m + 1e-6)
    first, second = first[first < second], second[first < second]
    assert np.all(shapely.distance(units[first], units[second]) >= joint_m - 1e-9)
    overlap = shapely.intersection(units[first], units[second], grid_size=1e-9)
    assert np.all(shapely.area(overlap) < 1e-8)
    if len(bond.faces) == 1:
        assert laying.count <= upper_bound(region, bond.length_m, bond.width_m, joint_m)


@laws
@given(regions(), bonds(), joints, st.integers(0, 2**32 - 1))
def test_no_random_shift_lays_more(region, bond, joint_m, seed):
    lattice, offsets, half = bond.lattice(joint_m), bond.offsets(joint_m), bond.sizes() / 2
    steps = lattice_points(lattice, 4.0)
    shapely.prepare(region)
    count = best_shift(region, bond, joint_m).count
    for shift in np.random.default_rng(seed).uniform(0, 1, (20, 2)) @ lattice:
        at = steps[:, None] + offsets[None] + shift
        low, high = (at - half).reshape(-1, 2), (at + half).reshape(-1, 2)
        assert shapely.covers(region, shapely.box(*low.T, *high.T)).sum() <= count


@laws
@given(regions(), bonds(), joints, st.floats(0, 360), st.floats(-90, 90), st.floats(-90, 90))
def test_moving_and_turning_region_and_bond_together_changes_nothing(
    region, bond, joint_m, angle, x, y
):
    moved = affinity.translate(affinity.rotate(region, angle, origin=(0, 0)), x, y)
    assert best_shift(moved, bond, joint_m, angle).count == best_shift(region, bond, joint_m).count


@laws
@given(regions(), bonds(), joints)
def test_a_mirrored_region_holds_as_many_of_the_mirrored_bond(region, bond, joint_m):
    mirrored = affinity.scale(region, -1.0, 1.0, origin=(0, 0))
    assert (
        best_shift(mirrored, bond.mirrored(), joint_m).count
        == best_shift(region, bond, joint_m).count
    )


@laws
@given(regions(), joints, st.integers(2, 4), st.integers(1, 3))
def test_the_same_pattern_written_with_a_larger_motif_lays_the_same(
    region, joint_m, along, across
):
    motif = tuple(MotifUnit(Step(x=(a, 0), y=(0, b))) for a in range(along) for b in range(across))
    written_out = Bond(
        "stack", ((0.3, 0.2),), motif, Step(x=(along, 0)), Step(x=(-along, 0), y=(0, across))
    )
    assert (
        best_shift(region, written_out, joint_m, 20.0).count
        == best_shift(region, stack(0.3, 0.2), joint_m, 20.0).count
    )


@laws
@given(regions(), bonds(), joints)
def test_ground_added_never_costs_a_unit(region, bond, joint_m):
    filled = Polygon(max(shapely.get_parts(region), key=lambda part: part.area).exterior)
    larger = shapely.union_all([region, filled, shapely.box(0, 0, 0.8, 0.8)])
    assert best_shift(larger, bond, joint_m).count >= best_shift(region, bond, joint_m).count


@laws
@given(regions(), bonds(), joints)
def test_the_best_laying_is_no_worse_along_any_side(region, bond, joint_m):
    best = best_laying(region, bond, joint_m)
    angle = directions(region)[-1]
    if len(directions(region)) < 12:
        assert best.count >= best_shift(region, bond, joint_m, angle + 90.0).count
    assert best.count == best_shift(region, best.bond, joint_m, best.direction_deg).count


@settings(max_examples=20, deadline=None)
@given(regions(), bonds(), st.floats(0.003, 0.05))
def test_opened_joints_lose_no_unit(region, bond, greatest_m):
    least = best_shift(region, bond, 0.003)
    opened = open_joints(region, least, greatest_m)
    units = opened.outlines()
    assert opened.count >= least.count
    assert opened.proven
    assert least.joint_m <= opened.joint_m <= greatest_m
    assert np.all(shapely.covers(region.buffer(3 * FIT_M), units))
    if least.count and opened.joint_m + 2e-4 < greatest_m:
        # a tenth wider costs a unit, or symmetry that can be seen
        beat = least.count - 1
        closed = search_shift(region, bond, 0.003, 0.0, beat=beat).found
        wider = search_shift(region, bond, opened.joint_m + 1e-4, 0.0, beat=beat).found
        assert wider is None or wider.choice.symmetry < closed.choice.symmetry - SEEN


@laws
@given(regions(), st.floats(0.05, 0.6), st.floats(0.05, 0.6), joints)
def test_the_upper_bound_holds_for_units_in_any_direction(region, length_m, width_m, joint_m):
    most = upper_bound(region, length_m, width_m, joint_m)
    least_m2 = (length_m - 4 * FIT_M) * (width_m - 4 * FIT_M)
    assert most <= region.area / least_m2 + 1e-4
    assert most <= upper_bound(region, length_m, width_m, 0.0)
    assert most >= best_laying(region, stack(length_m, width_m), joint_m).count


@laws
@given(regions(), st.floats(0.05, 0.6), st.floats(0.05, 0.6))
def test_opening_gives_no_new_ground_and_closing_takes_none(region, length_m, width_m):
    kernel = rectangle_kernel(length_m, width_m)
    opened = dilate(erode(region, kernel), kernel)
    closed = erode(dilate(region, kernel), kernel)
    assert shapely.difference(opened, region, grid_size=1e-9).area < 1e-7
    assert shapely.difference(region, closed, grid_size=1e-9).area < 1e-7
