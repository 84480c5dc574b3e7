"""What holds of free courses and of their bound, whatever the region: attacked at random."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon

from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving import best_shift, running, stack, upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_directions import direction_bound
from bedplan.paving.courses import best_courses, courses_along

SIXTEENTH = 1 / 16
laws = settings(max_examples=60, deadline=None)
few = settings(max_examples=12, deadline=None)
joints = st.sampled_from([0.0, 0.003, 0.0127, 0.04])


@st.composite
def grounds(draw):
    """A star-shaped or rectangular outline on a grid of sixteenths, less none to three holes."""
    if draw(st.booleans()):
        region = shapely.box(
            -1.5, -1.2, draw(st.integers(0, 30)) * SIXTEENTH, draw(st.integers(0, 30)) * SIXTEENTH
        )
    else:
        corners = draw(st.integers(3, 9))
        reach = draw(st.lists(st.integers(5, 32), min_size=corners, max_size=corners))
        turn = 2 * np.pi * np.arange(corners) / corners + draw(st.floats(0, 1.5))
        radius = np.array(reach) * SIXTEENTH
        region = Polygon(np.column_stack((radius * np.cos(turn), radius * np.sin(turn))))
    for _ in range(draw(st.integers(0, 3))):
        x, y, a, b = (
            draw(st.integers(*ends)) * SIXTEENTH
            for ends in ((-20, 20), (-20, 20), (1, 12), (1, 12))
        )
        hole = (
            shapely.box(x, y, x + a, y + b)
            if draw(st.booleans())
            else shapely.Point(x, y).buffer(a / 2, quad_segs=2)
        )
        region = region.difference(hole)
    assume(region.is_valid and region.area > 0.05)
    return region


@st.composite
def faces(draw):
    return draw(st.integers(3, 10)) * SIXTEENTH, draw(st.integers(2, 10)) * SIXTEENTH


@laws
@given(grounds(), faces(), joints, st.floats(0, 360), st.sampled_from([0.0, 0.004, 0.5]))
def test_units_are_whole_inside_and_a_joint_apart(region, face, joint_m, angle, more_m):
    laying = best_courses(region, *face, joint_m, angle, greatest_m=joint_m + more_m)
    units = laying.outlines()
    assert laying.proven
    assert laying.count == best_courses(region, *face, joint_m, angle).count
    assert np.all(shapely.covers(region.buffer(2 * FIT_M), units))
    first, second = shapely.STRtree(units).query(units, "dwithin", joint_m + 1e-6)
    first, second = first[first < second], second[first < second]
    assert np.all(shapely.distance(units[first], units[second]) >= joint_m - 1e-8)
    overlap = shapely.intersection(units[first], units[second], grid_size=1e-9)
    assert np.all(shapely.area(overlap) < 1e-8)


@laws
@given(grounds(), faces(), joints, st.floats(0, 360), st.floats(0.1, 0.9))
def test_no_bond_of_straight_rows_holds_more(region, face, joint_m, angle, offset):
    count = best_courses(region, *face, joint_m, angle).count
    for bond in (stack(*face), running(*face), running(*face, offset)):
        assert best_shift(region, bond, joint_m, angle).count <= count


@laws
@given(grounds(), faces(), joints, st.floats(0, 360))
def test_no_courses_exceed_the_bounds(region, face, joint_m, angle):
    count = best_courses(region, *face, joint_m, angle).count
    across = best_courses(region, *face[::-1], joint_m, angle + 90.0).count
    assert max(count, across) <= line_bound(region, *face, joint_m, angle)
    assert max(count, across) <= upper_bound(region, *face, joint_m)


@laws
@given(grounds(), faces(), joints, st.integers(0, 2**32 - 1))
def test_no_units_set_at_random_exceed_the_bound(region, face, joint_m, seed):
    rng = np.random.default_rng(seed)
    places = erode(region, rectangle_kernel(*face))
    assume(not places.is_empty)
    module, bound = np.array(face) + joint_m, line_bound(region, *face, joint_m)
    low, high = np.array(places.bounds).reshape(2, 2)
    tried = rng.uniform(low, high, (400, 2))
    tried = np.vstack([tried, shapely.get_coordinates(places)])
    tried = tried[shapely.intersects_xy(places, *tried.T)]
    for way in (rng.normal(size=2), np.array([1.0, 1e-3])):
        set_down = np.empty((0, 2))
        for at in tried[np.argsort(tried @ way)]:
            if np.all(np.any(np.abs(set_down - at) >= module, axis=1)):
                set_down = np.vstack([set_down, at])
        assert len(set_down) <= bound


@laws
@given(grounds(), faces(), joints, st.floats(0, 360), st.floats(-90, 90), st.floats(-90, 90))
def test_moving_and_turning_region_and_courses_together_changes_nothing(
    region, face, joint_m, angle, x, y
):
    moved = affinity.translate(affinity.rotate(region, angle, origin=(0, 0)), x, y)
    assert (
        best_courses(moved, *face, joint_m, angle).count
        == best_courses(region, *face, joint_m).count
    )


@laws
@given(grounds(), faces(), joints)
def test_a_mirrored_region_holds_as_many(region, face, joint_m):
    for x, y in ((-1.0, 1.0), (1.0, -1.0)):
        mirrored = affinity.scale(region, x, y, origin=(0, 0))
        assert (
            best_courses(mirrored, *face, joint_m).count
            == best_courses(region, *face, joint_m).count
        )


@laws
@given(grounds(), faces(), joints)
def test_ground_added_never_costs_a_unit(region, face, joint_m):
    larger = shapely.union_all([region, shapely.box(0, 0, 0.8, 0.8)])
    assert best_courses(larger, *face, joint_m).count >= best_courses(region, *face, joint_m).count


@few
@given(grounds(), faces(), joints, st.lists(st.floats(0, 90), min_size=1, max_size=3))
def test_the_best_of_several_directions_is_no_worse_along_any(region, face, joint_m, angles):
    best = courses_along(region, *face, joint_m, angles)
    assert best.count == max(
        best_courses(region, *size, joint_m, angle + turn).count
        for angle in angles
        for turn in (0.0, 90.0)
        for size in (face, face[::-1])
    )
    assert np.all(shapely.covers(region.buffer(2 * FIT_M), best.outlines()))


@few
@given(grounds(), faces(), joints, st.lists(st.floats(0, 180), min_size=5, max_size=5))
def test_no_courses_in_any_direction_exceed_the_direction_bound(region, face, joint_m, angles):
    bound = direction_bound(region, *face, joint_m, ranges=50)
    assert max(best_courses(region, *face, joint_m, angle).count for angle in angles) <= bound
