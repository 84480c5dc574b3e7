"""Bonds: modules tile the plane, joints are what was asked, symmetries are seen."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from bedplan.errors import GeometryError
from bedplan.model.bonds import MotifUnit, Step
from bedplan.paving import (
    Bond,
    basket_weave,
    best_shift,
    herringbone,
    least_gap_m,
    pinwheel,
    running,
    stack,
)
from bedplan.paving.bonds import lattice_points
from bedplan.paving.rows import rows_of
from bedplan.paving.sides import versions

SIZES = [(0.2, 0.1), (0.2, 0.09), (0.2, 0.15), (0.3, 0.07), (0.4, 0.4)]
MAKERS = {
    "stack": stack,
    "running": running,
    "third": lambda x, y: running(x, y, 1 / 3),
    "herringbone": herringbone,
    "basket weave": basket_weave,
    "pinwheel": pinwheel,
}
JOINTS = [0.0, 0.003, 0.02]


def units_round_the_origin(bond, joint_m, reach_m):
    """Every unit of the pattern near the origin, by plain repetition."""
    steps = lattice_points(bond.lattice(joint_m), reach_m)
    at = (steps[:, None] + bond.offsets(joint_m)[None]).reshape(-1, 2)
    half = np.tile(bond.sizes(), (len(steps), 1)) / 2.0
    return shapely.box(*(at - half).T, *(at + half).T)


@pytest.mark.parametrize("joint_m", JOINTS)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)
def test_least_gap_is_the_joint(make, size, joint_m):
    assert least_gap_m(make(*size), joint_m) == pytest.approx(joint_m, abs=1e-12)


@pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)
def test_gap_agrees_with_distances_between_drawn_units(make):
    units = units_round_the_origin(make(0.2, 0.09), 0.01, 1.0)
    pairs = shapely.STRtree(units).query(units, "dwithin", 0.05)
    first, second = pairs[:, pairs[0] < pairs[1]]
    gaps = shapely.distance(units[first], units[second])
    assert len(gaps) > 100
    assert gaps.min() == pytest.approx(0.01, abs=1e-9)


@pytest.mark.parametrize("joint_m", JOINTS)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)
def test_modules_fill_the_cell(make, size, joint_m):
    bond = make(*size)
    cell_m2 = abs(np.linalg.det(bond.lattice(joint_m)))
    modules_m2 = np.prod(bond.sizes() + joint_m, axis=1).sum()
    # the basket weave leaves one square between four pairs
    hole_m = size[0] - 2 * size[1] - joint_m if bond.name == "basket weave" else 0.0
    assert cell_m2 == pytest.approx(modules_m2 + hole_m**2, rel=1e-12)


def test_overlapping_units_have_a_negative_gap_and_are_refused():
    crowded = Bond(
        "crowded",
        ((0.2, 0.1),),
        (MotifUnit(), MotifUnit(Step(x=(0.5, 0)))),
        along=Step(x=(1, 0)),
        across=Step(y=(0, 1)),
    )
    # the copies lie half a module apart along, full width over each other
    assert least_gap_m(crowded, 0.0) == pytest.approx(-0.1)
    with pytest.raises(GeometryError, match=r"come within -0\.1 m"):
        best_shift(shapely.box(0, 0, 2, 2), crowded, 0.0)


def test_units_nearer_than_the_joint_are_refused():
    tight = Bond(
        "tight", ((0.2, 0.1),), (MotifUnit(),), along=Step(x=(1, 0)), across=Step(y=(0, 0.95))
    )
    assert least_gap_m(tight, 0.02) == pytest.approx(0.95 * 0.12 - 0.1)
    with pytest.raises(GeometryError, match=r"the joint is 0\.02 m"):
        best_shift(shapely.box(0, 0, 2, 2), tight, 0.02)


@pytest.mark.parametrize(
    ("bond", "ways"),
    [
        (stack(0.4, 0.4), 1),  # a square grid is the same turned and mirrored
        (stack(0.4, 0.3), 2),
        (running(0.2, 0.1), 2),
        (running(0.2, 0.1, 1 / 3), 4),  # steps to the left or to the right
        (running(0.4, 0.4), 2),
        (herringbone(0.2, 0.1), 2),  # turned by 90° it is its own mirror image
        (basket_weave(0.2, 0.1), 1),
        (basket_weave(0.2, 0.09), 2),  # round the gap, left- or right-handed
        (pinwheel(0.4, 0.2), 2),
    ],
    ids=lambda value: getattr(value, "name", value),
)
def test_ways_to_lay_a_bond(bond, ways):
    assert len(versions(bond, 0.0)) == ways


@pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)
def test_mirrored_twice_is_the_bond_itself(make):
    bond = make(0.2, 0.09)
    twice = bond.mirrored().mirrored()
    np.testing.assert_allclose(twice.lattice(0.01), bond.lattice(0.01))
    np.testing.assert_allclose(twice.offsets(0.01), bond.offsets(0.01))


def test_a_mirrored_running_bond_steps_back():
    bond = running(0.3, 0.1, 0.25).mirrored()
    np.testing.assert_allclose(bond.lattice(0.0)[1], [-0.075, 0.1])


@pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)
def test_rows_are_the_same_lattice(make):
    lattice = make(0.2, 0.09).lattice(0.004)
    rows = rows_of(lattice)
    place, row = np.meshgrid(np.arange(-3, 4), np.arange(-3, 4))
    points = rows.metres(
        np.column_stack(((place + row * rows.slide).ravel(), row.ravel().astype(float)))
    )
    multiples = np.linalg.solve(lattice.T, points.T)
    np.testing.assert_allclose(multiples, np.round(multiples), atol=1e-9)
    assert rows.pitch_m * rows.rise_m == pytest.approx(abs(np.linalg.det(lattice)))


@pytest.mark.parametrize("faces", [((0.0, 0.1),), ((0.2, -0.1),), ((float("nan"), 0.1),)])
def test_a_face_needs_a_size(faces):
    with pytest.raises(GeometryError, match="has no face"):
        Bond("flat", faces, (MotifUnit(),), along=Step(x=(1, 0)), across=Step(y=(0, 1)))


def test_a_bond_repeats_in_two_directions():
    with pytest.raises(GeometryError, match="two directions"):
        Bond("line", ((0.2, 0.1),), (MotifUnit(),), along=Step(x=(1, 0)), across=Step(x=(2, 0)))


def test_a_motif_unit_has_one_of_the_faces():
    with pytest.raises(GeometryError, match="without a face"):
        Bond(
            "odd", ((0.2, 0.1),), (MotifUnit(face=1),), along=Step(x=(1, 0)), across=Step(y=(0, 1))
        )
