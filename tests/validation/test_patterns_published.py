"""Patterns written in a layout file against figures the trade prints and mathematics proves."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
import shapely

from bedplan.layout_file import parse_layout
from bedplan.paving import herringbone
from bedplan.paving.bonds import lattice_points
from bedplan.paving.patterns import drawn

TABLE = Path(__file__).parents[1] / "data/check-values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())}
# International Yard and Pound agreement (1959): 1 in = 25.4 mm exactly
INCH = 0.0254

YARD = """
title = "Yard"
unit = "m"
[enclosure]
corners = { A = [0, 0], B = [4, 0], C = [4, 3], D = [0, 3] }
"""
WEAVE = """
[bond.weave]
along = { x = [1, 2] }
across = { y = [1, 2] }
units = [
    { x = ["1/2"], y = [0, 0.5] },
    { x = ["1/2"], y = [0, 1.5] },
    { x = ["1/2", 2], y = [1, 0.5] },
    { x = ["1/2", 2], y = [1, 1.5] },
    { x = [1, 0.5], y = ["1/2"], turned = true },
    { x = [1, 1.5], y = ["1/2"], turned = true },
    { x = [0, 0.5], y = ["1/2", 2], turned = true },
    { x = [0, 1.5], y = ["1/2", 2], turned = true },
]
"""
ZIGZAG = """
[bond.zigzag]
along = { x = [0, 1], y = [0, 1] }
across = { x = [1], y = [-1] }
units = [{ x = [0.5], y = [0, 0.5] }, { x = [1, 0.5], y = [-0.5, 1], turned = true }]
"""
WHEEL = """
[bond.wheel]
along = { x = [1], y = [0, 0, 1] }
across = { x = [0, 0, -1], y = [1] }
units = [{ x = [0.5], y = [0.5] }, { x = [1, 0, 0.5], y = [0, 0, 0.5], face = 2 }]
"""


def bond_of(text, *faces):
    (pattern,) = parse_layout(YARD + text).bonds.values()
    return drawn(pattern, faces)


def laid_out(bond, joint_m):
    """Return every unit of a bond near the origin as one shape."""
    points = lattice_points(bond.lattice(joint_m), 1.5)
    at = (points[:, None] + bond.offsets(joint_m)).reshape(-1, 2)
    half = np.tile(bond.sizes() / 2, (len(points), 1))
    return shapely.union_all(shapely.box(*(at - half).T, *(at + half).T), grid_size=1e-9)


def test_a_basket_weave_written_by_hand_leaves_the_published_hole():
    # A25: University of Missouri Extension G6930 (1998): 8 by 3 3/4 in brick, closed joints,
    # leave a hole half an inch square in every group of eight
    side = float(ROWS["A25"]["expected"]) * INCH
    bond = bond_of(WEAVE, (8 * INCH, 3.75 * INCH))
    paving = laid_out(bond, 0.0)
    holes = [shapely.Polygon(ring) for ring in paving.interiors]
    assert len(bond.motif) == 8
    assert len(holes) == pytest.approx(
        paving.area / abs(np.linalg.det(bond.lattice(0.0))), rel=0.15
    )
    for hole in holes:
        west, south, east, north = hole.bounds
        assert (east - west, north - south) == pytest.approx((side, side), abs=1e-8)
        assert hole.area == pytest.approx(side**2, rel=1e-4)


@pytest.mark.parametrize("face", [(0.2, 0.1), (0.2, 0.09), (0.3, 0.07)])
def test_a_herringbone_written_by_hand_covers_the_ground_like_the_word(face):
    # exact identity: two modules fill the cell, whatever their shape
    bond = bond_of(ZIGZAG, face)
    assert not laid_out(bond, 0.0).interiors
    cells = [abs(np.linalg.det(each.lattice(0.01))) for each in (bond, herringbone(*face))]
    assert cells[0] == pytest.approx(cells[1])
    assert cells[0] == pytest.approx(2 * (face[0] + 0.01) * (face[1] + 0.01))


@pytest.mark.parametrize(("large", "small"), [(0.4, 0.2), (0.3, 0.1), (0.5, 0.12)])
def test_squares_of_two_sizes_fill_the_square_on_the_long_side(large, small):
    # Euclid, Elements I.47, as squares of two sizes tile the plane: the lattice of the tiling is
    # square, and its cell is the sum of the two (exact identity)
    bond = bond_of(WHEEL, (large, large), (small, small))
    lattice = bond.lattice(0.0)
    assert np.hypot(*lattice.T) == pytest.approx([np.hypot(large, small)] * 2)
    assert float(lattice[0] @ lattice[1]) == pytest.approx(0.0, abs=1e-12)
    assert abs(np.linalg.det(lattice)) == pytest.approx(large**2 + small**2)
    assert not laid_out(bond, 0.0).interiors
