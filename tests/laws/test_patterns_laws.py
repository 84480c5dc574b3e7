"""Laws of drawn bonds: gaps as drawn units have them, whole units inside, counts that add up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from gardens import fence, garden
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import rings

from bedplan.errors import GeometryError, LayoutError
from bedplan.geometry.tolerance import FIT_M
from bedplan.model.bonds import BondPattern, MotifUnit, Step
from bedplan.model.layout import PathSpec, Paving, Rest
from bedplan.model.materials import Paver
from bedplan.paving import least_gap_m
from bedplan.paving.bonds import lattice_points
from bedplan.paving.gaps import tightest_pair
from bedplan.paving.patterns import drawn
from bedplan.plan import make_plan

sides = st.integers(2, 10).map(lambda twentieths: twentieths / 20)
multiples = st.lists(st.sampled_from((-1.0, -0.5, 0.0, 0.5, 1.0)), max_size=4).map(tuple)
# a step goes at least a module its own way, so that many patterns keep their units apart
rises = st.tuples(
    st.sampled_from((1.0, 1.5, 2.0)),
    *[st.sampled_from((0.0, 0.5, 1.0))] * 3,
)
motif_units = st.builds(
    MotifUnit,
    st.builds(Step, multiples, multiples),
    st.booleans(),
    st.sampled_from((0, 1)),
)
patterns = st.builds(
    BondPattern,
    st.just("own"),
    st.lists(motif_units, min_size=1, max_size=3).map(tuple),
    st.builds(Step, rises, multiples),
    st.builds(Step, multiples, rises),
)


def side_by_side(sizes):
    """Return a pattern of two faces side by side, each course slid by a part of the first."""
    (length, width), (other, high), slide = sizes
    units = (
        MotifUnit(Step((0.5,), (0, 0.5))),
        MotifUnit(Step((1, 0, 0.5), (0, 0, 0, 0.5)), face=1),
    )
    rise = (0, 1) if width >= high else (0, 0, 0, 1)
    faces = [(length, width), (other, high)]
    return BondPattern("own", units, Step((1, 0, 1)), Step((slide,), rise)), faces


def units_near(bond, joint_m, reach_m):
    """Return every unit of a pattern near the origin, by plain repetition, motif by motif."""
    points = lattice_points(bond.lattice(joint_m), reach_m)
    at = (points[:, None] + bond.offsets(joint_m)).reshape(-1, 2)
    half = np.tile(bond.sizes(), (len(points), 1)) / 2
    return shapely.box(*(at - half).T, *(at + half).T)


@settings(max_examples=80, deadline=None)
@given(patterns, st.tuples(sides, sides), st.tuples(sides, sides), st.sampled_from((0.0, 0.01)))
def test_the_least_gap_is_that_of_units_drawn_and_measured(pattern, first, second, joint_m):
    try:
        bond = drawn(pattern, [first, second])
        gap_m, one, other = tightest_pair(bond, joint_m)
    except GeometryError:
        assume(False)
    # each unit of the motif as drawn, and the nearest of all units that lie round it
    offsets, half = bond.offsets(joint_m), bond.sizes() / 2
    units = units_near(bond, joint_m, float(np.ptp(offsets, axis=0).max()) + 3.0)
    nearest, overlap_m2 = [], 0.0
    for home in shapely.box(*(offsets - half).T, *(offsets + half).T):
        itself = np.flatnonzero(shapely.area(shapely.intersection(units, home)) > home.area - 1e-9)
        others = np.delete(units, itself[:1])
        nearest.append(float(shapely.distance(others, home).min()))
        overlap_m2 = max(overlap_m2, shapely.area(shapely.intersection(others, home)).max())
    assert (gap_m < -1e-6) == (overlap_m2 > 1e-8)
    assert min(nearest) == pytest.approx(max(gap_m, 0.0), abs=1e-9)
    if gap_m > 0.0:
        assert [nearest[one], nearest[other]] == pytest.approx([min(nearest)] * 2, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(patterns, st.tuples(sides, sides), st.integers(-9, 9), st.integers(-9, 9))
def test_other_steps_to_the_same_places_are_the_same_bond(pattern, face, times, moved):
    def plus(one, other, factor):
        def padded(values):
            return np.array([*values, *[0.0] * (4 - len(values))])

        return Step(
            tuple(padded(one.x) + factor * padded(other.x)),
            tuple(padded(one.y) + factor * padded(other.y)),
        )

    last = pattern.units[-1]
    shifted = replace(last, at=plus(last.at, pattern.along, moved))
    same = replace(
        pattern,
        units=(*pattern.units[:-1], shifted),
        across=plus(pattern.across, pattern.along, times),
    )
    try:
        gaps = [least_gap_m(drawn(each, [face, (0.3, 0.15)]), 0.005) for each in (pattern, same)]
    except GeometryError:
        assume(False)
    assert gaps[0] == pytest.approx(gaps[1], abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(
    rings(least_in=40, most_in=90, most_corners=6),
    st.tuples(st.tuples(sides, sides), st.tuples(sides, sides), st.sampled_from((0.0, 0.25, 0.5))),
    st.sampled_from((0.0, 0.004, 0.02)),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=15, max_size=15),
)
def test_two_sizes_in_a_garden(ring, sizes, joint_m, tries):
    pattern, faces = side_by_side(sizes)
    pavers = {name: Paver(name, *face, 0.05) for name, face in zip("ab", faces, strict=True)}
    paving = Paving("a", "own", direction=0.0, joint_m=(joint_m, joint_m), second="b")
    path = PathSpec("walk", Rest(), paving=paving)
    try:
        (walk,) = make_plan(
            garden(fence(ring), paths=[path], pavers=pavers, bonds={"own": pattern})
        ).walks
    except LayoutError:
        assume(False)  # nowhere as wide as a unit
    units = np.array(walk.outlines)
    # whole and inside, each with its own face, a joint apart, and no more than the bound
    assert shapely.covers(walk.ground.buffer(3 * FIT_M), units).all()
    assert shapely.area(units) == pytest.approx([pavers[n].face_m2 for n in walk.unit_names])
    near, far = shapely.STRtree(units).query(units, "dwithin", joint_m + 0.05)
    gaps = shapely.distance(units[near[near < far]], units[far[near < far]])
    assert np.all(gaps >= joint_m - 1e-9)
    assert sum(walk.counts.values()) == walk.count == len(units) <= walk.upper_bound
    # and no shift tried lays more of both together
    bond = drawn(pattern, faces)
    everywhere = units_near(bond, joint_m, 7.0)
    for share in tries:
        by = np.array(walk.ground.centroid.coords[0]) + np.array(share) @ bond.lattice(joint_m)
        moved = shapely.transform(everywhere, lambda points, by=by: points + by)
        assert shapely.covers(walk.ground, moved).sum() <= walk.count
