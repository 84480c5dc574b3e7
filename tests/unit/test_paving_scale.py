"""Very large ground: only a sample of the slabs is searched, and the answer says so."""

from __future__ import annotations

import functools
import math

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from bedplan.paving import best_laying, best_shift, herringbone, running, shift, stack
from bedplan.paving.deepest import deepest
from bedplan.paving.rows import Edges

JOINT_M = 0.005
EFFORTS = (200_000, 20_000, 5_000)


def court(size_m=12.0):
    """A crooked court with sixteen round beds, a stone's throw from the thousand of a park."""
    turns = 2 * math.pi * np.arange(9) / 9
    reach = size_m * (0.8 + 0.2 * np.sin(5.0 * turns + 1.0))
    ground = Polygon(np.column_stack((reach * np.cos(turns), reach * np.sin(turns))))
    places = [
        shapely.Point(size_m * (x + 0.03 * y), size_m * (y - 0.05 * x)).buffer(0.5, quad_segs=4)
        for x in (-0.45, -0.15, 0.15, 0.45)
        for y in (-0.45, -0.15, 0.15, 0.45)
    ]
    return ground.difference(shapely.union_all(places))


COURT = court()
BONDS = [stack(0.2, 0.2), running(0.3, 0.15), herringbone(0.2, 0.1)]


@functools.cache
def proven_laying(bond):
    return best_shift(COURT, bond, JOINT_M, 13.0)


@pytest.fixture
def with_effort(monkeypatch):
    """Return a function that lets the shift search sweep no more than so many edges."""

    def _set(effort):
        found = []

        def limited(*args, **more):
            found.append(deepest(*args, **more, effort=effort))
            return found[-1]

        monkeypatch.setattr(shift, "deepest", limited)
        return found

    return _set


@pytest.mark.parametrize("effort", EFFORTS)
@pytest.mark.parametrize("bond", BONDS, ids=lambda bond: bond.name)
def test_a_sample_of_the_slabs_finds_nearly_all_units_and_claims_no_proof(
    with_effort, bond, effort
):
    most = proven_laying(bond)
    assert most.proven
    assert most.count > 4500
    found = with_effort(effort)
    laying = best_shift(COURT, bond, JOINT_M, 13.0)
    assert not laying.proven
    assert 0.98 * most.count <= laying.count <= most.count
    assert found[0].work <= effort
    assert laying.count == found[0].depth
    # what was found is a real laying, not a guess
    units = laying.outlines()
    shapely.prepare(COURT)
    assert np.all(shapely.covers(COURT.buffer(3e-5), units))


def test_more_effort_comes_nearer_and_enough_proves(with_effort):
    bond = BONDS[2]
    counts = []
    for effort in (5_000, 100_000, 8_000_000):
        with_effort(effort)
        counts.append(best_shift(COURT, bond, JOINT_M, 13.0))
    most = proven_laying(bond)
    assert [laying.proven for laying in counts] == [False, False, True]
    assert counts[0].count <= counts[2].count
    assert counts[1].count <= counts[2].count
    assert counts[2].units == most.units


def test_a_sample_in_one_direction_leaves_the_whole_choice_unproven(with_effort):
    with_effort(5_000)
    laying = best_laying(COURT, BONDS[0], JOINT_M, [13.0, 40.0])
    assert not laying.proven
    assert laying.count >= 0.98 * proven_laying(BONDS[0]).count


def test_a_sample_that_misses_the_one_good_shift_is_no_proof_that_there_is_none(with_effort):
    # ten slabs a side fit exactly, so one shift alone holds them: a sample may well miss it
    yard = box(0, 0, 4.0, 4.0).difference(shapely.Point(2, 2).buffer(0.7))
    most = best_shift(yard, stack(0.4, 0.4), 0.0)
    found = with_effort(40)
    laying = best_shift(yard, stack(0.4, 0.4), 0.0)
    assert (most.proven, found[0].proven, laying.proven) == (True, False, False)
    assert laying.count <= most.count


def test_no_effort_at_all_is_told_as_nothing_found():
    # one upright strip in row measure, as wide as a pitch: every shift hits it in every row
    edges = Edges(
        np.array([[0.0, 0.0], [1.0, 0.0]]),
        np.array([[0.0, 9.0], [1.0, 9.0]]),
        np.array([-1, 1]),
        np.array([0, 0]),
    )
    full = deepest(edges, 0.0, 1e-6, lambda _shift: 9)
    assert (full.depth, full.proven) == (9, True)
    gone = deepest(edges, 0.0, 1e-6, lambda _shift: 9, effort=8)
    assert (gone.depth, gone.proven, gone.work > 8) == (0, False, True)
