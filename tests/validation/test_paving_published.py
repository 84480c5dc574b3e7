"""Whole-unit counts printed in the trade's books, or following exactly from what they print."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import box

from bedplan.paving import basket_weave, best_laying, best_shift, running, stack, upper_bound
from bedplan.paving.bonds import lattice_points

# International Yard and Pound agreement (1959): 1 in = 25.4 mm exactly, 1 ft = 12 in.
INCH, FOOT = 0.0254, 0.3048


@pytest.mark.parametrize(("face_in", "joint_in"), [((8, 4), 0.0), ((7.625, 3.625), 0.375)])
def test_four_by_eight_modules_come_at_four_and_a_half_to_the_square_foot(face_in, joint_in):
    # C. Beall, Masonry and Concrete, Paving, p. 301 (author from memory): 4 x 8 in units laid
    # dry, or 3 5/8 x 7 5/8 in units with 3/8 in joints, take 4.5 units per square foot; so a
    # walk of 4 by 20 ft takes 360, all whole. A walk with joints ends on a face, not a joint.
    joint_m = joint_in * INCH
    walk = box(0, 0, 20 * FOOT - joint_m, 4 * FOOT - joint_m)
    laying = best_laying(walk, stack(face_in[0] * INCH, face_in[1] * INCH), joint_m)
    assert laying.count == 360
    assert laying.proven
    assert laying.count / (20 * 4) == 4.5
    assert upper_bound(walk, face_in[0] * INCH, face_in[1] * INCH, joint_m) >= 360


@pytest.mark.parametrize(
    ("face_in", "joint_in", "per_ft2", "within"),
    [
        # exact arithmetic: 144 / (4.125 * 8.125)
        ((8, 4), 1 / 8, 4.2965, 1e-4),
        # US Navy Builder 3 & 2, NAVEDTRA 14045, brick estimating example: with a 1/2 in joint the
        # face brick covers 2.75 x 8.5 in = 23.375 in2, 6.16 bricks to the square foot
        ((8, 2.25), 1 / 2, 6.16, 0.005),
    ],
)
def test_units_per_square_foot_with_a_joint(face_in, joint_in, per_ft2, within):
    bond = running(face_in[0] * INCH, face_in[1] * INCH)
    joint_m = joint_in * INCH
    cell_ft2 = abs(np.linalg.det(bond.lattice(joint_m))) / FOOT**2
    assert 1 / cell_ft2 == pytest.approx(per_ft2, abs=within)
    # and laid for real: in a large court nearly as many, never more than the joint allows
    court = box(0, 0, 20 * FOOT, 20 * FOOT)
    laid = best_shift(court, bond, joint_m).count / 400
    assert 0.96 * per_ft2 < laid < 1.003 * per_ft2


@pytest.mark.parametrize(("joint_in", "across"), [(0.0, 4), (1 / 8, 3)])
def test_twelve_inch_slabs_across_four_feet(joint_in, across):
    # exact arithmetic: n * 12 + (n - 1) * j <= 48
    walk = box(0, 0, 12 * INCH, 48 * INCH)
    assert best_laying(walk, stack(12 * INCH, 12 * INCH), joint_in * INCH).count == across


def test_basket_weave_in_common_brick_leaves_half_inch_squares():
    # University of Missouri Extension G6930 (1998): 8 x 3 3/4 in brick with closed joints leave
    # a hole half an inch square in every group of eight
    bond = basket_weave(8 * INCH, 3.75 * INCH)
    at = (lattice_points(bond.lattice(0.0), 1.0)[:, None] + bond.offsets(0.0)).reshape(-1, 2)
    half = np.tile(bond.sizes() / 2, (len(at) // 8, 1))
    paving = shapely.union_all(shapely.box(*(at - half).T, *(at + half).T), grid_size=1e-9)
    holes = [shapely.Polygon(ring) for ring in paving.interiors]
    cells = paving.area / abs(np.linalg.det(bond.lattice(0.0)))
    assert len(holes) > 20
    assert len(holes) == pytest.approx(cells, rel=0.15)
    for hole in holes:
        west, south, east, north = hole.bounds
        assert (east - west, north - south) == pytest.approx((0.5 * INCH, 0.5 * INCH), abs=1e-8)
        assert hole.area == pytest.approx((0.5 * INCH) ** 2, rel=1e-4)
