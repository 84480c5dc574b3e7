"""Slack shared out into the joints (layer: paving engine).

A joint is given from a least to a greatest width. The best laying is found at the least joint,
where most units fit; what room is left over then goes into wider joints, all alike, as far as
that loses no unit and costs no symmetry.

Public entry point: `open_joints`.
"""

from __future__ import annotations

import math

from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import GRID_M, SNAP_M
from bedplan.paving.bonds import Bond
from bedplan.paving.gaps import least_gap_m
from bedplan.paving.laying import Laying
from bedplan.paving.shift import Pattern, search_shift
from bedplan.paving.symmetry import SEEN


def open_joints(region: BaseGeometry, laying: Laying, greatest_m: float) -> Laying:
    """Return the same bond and direction with the widest joints that lose no unit.

    Parameters
    ----------
    region
        Where units may lie [m].
    laying
        The laying at the least joint, from `best_shift` or `best_laying`.
    greatest_m
        The widest joint allowed [m].

    Returns
    -------
    opened
        A laying of no fewer units, and no less symmetric; its joint is wider than the least by a
        whole number of tenths of a millimetre, or is the greatest. `laying` itself where nothing
        can be gained.

    Notes
    -----
    A wider joint nearly always lays fewer units, but not by law: in a crooked region a wider
    lattice can happen to miss an obstacle. The joint is found by halving, so it is one at which
    all units fit and a tenth wider at which they do not; a wider one still is not ruled out,
    unless it is the greatest, which is tried first. Symmetry is looked at once the widest joint
    is found; if that has cost any, the joint is sought anew among those that keep it.
    """
    if not laying.units or greatest_m <= laying.joint_m:
        return laying
    widest = _widest(region, laying, greatest_m, -math.inf)
    if widest is None:
        return laying
    closed = _opened(region, laying, laying.joint_m, -math.inf)
    symmetry = closed.choice.symmetry - SEEN if closed is not None else -math.inf
    if widest.choice.symmetry < symmetry:
        widest = _widest(region, laying, greatest_m, symmetry)
    return laying if widest is None else widest.laying()


def _widest(
    region: BaseGeometry, laying: Laying, greatest_m: float, symmetry: float
) -> Pattern | None:
    """Return the pattern with the widest joints that keeps all units and so much symmetry."""
    widest = _opened(region, laying, greatest_m, symmetry)
    if widest is not None:
        return widest
    best, fits = None, 0
    fails = int((greatest_m - laying.joint_m) / SNAP_M) + 1
    while fails - fits > 1:
        middle = (fits + fails) // 2
        opened = _opened(region, laying, laying.joint_m + middle * SNAP_M, symmetry)
        if opened is None:
            fails = middle
        else:
            best, fits = opened, middle
    return best


def _opened(
    region: BaseGeometry, laying: Laying, joint_m: float, symmetry: float
) -> Pattern | None:
    """Return the best pattern at another joint if it holds as many units, as symmetric."""
    if not _keeps(laying.bond, joint_m):
        return None
    found = search_shift(
        region, laying.bond, joint_m, laying.direction_deg, beat=laying.count - 1
    ).found
    if found is None or (math.isfinite(symmetry) and found.choice.symmetry < symmetry):
        return None
    return found


def _keeps(bond: Bond, joint_m: float) -> bool:
    """Tell whether units stay a joint apart; a drawn bond may keep a narrow one and no wider."""
    try:
        return least_gap_m(bond, joint_m) >= joint_m - GRID_M
    except GeometryError:
        return False
