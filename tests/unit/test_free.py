"""Free laying: never worse than its start, always layable, and it can be stopped."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.paving import best_courses, best_shift, lay_free, pinwheel, stack, upper_bound

JOINT_M = 0.01
YARD = shapely.Polygon([(0, 0), (4, 0.2), (3.7, 2.9), (0.3, 3.1)]).difference(
    shapely.box(1.4, 1.0, 2.3, 1.9)
)


def one_unit():
    """Return a start with a single unit in a court that holds a dozen."""
    court = shapely.box(0.0, 0.0, 1.7, 1.3)
    full = best_shift(court, stack(0.4, 0.4), JOINT_M)
    return court, replace(full, units=full.units[:1], faces=full.faces[:1])


def assert_layable(region, laying, joint_m):
    outlines = laying.outlines()
    assert bool(np.all(shapely.covers(region.buffer(5e-5), outlines)))
    tree = shapely.STRtree(outlines)
    one, other = tree.query(outlines, predicate="dwithin", distance=joint_m - 1e-4)
    assert not np.any(one != other)


def test_a_poor_start_is_filled_up():
    court, start = one_unit()
    laid = lay_free(court, start, time_limit_s=5.0, enough=12)
    assert laid.count == 12  # four by three, as 4 * 0.4 + 3 * 0.01 <= 1.7 and 3 * 0.41 <= 1.3
    assert laid.bond.name == "free"
    assert laid.proven
    assert_layable(court, laid, JOINT_M)


@settings(max_examples=6, deadline=None)
@given(st.floats(0.0, 90.0), st.floats(0.3, 0.5), st.floats(0.2, 0.5))
def test_never_fewer_than_the_start_and_never_above_the_bound(turn, length, width):
    yard = shapely.affinity.rotate(YARD, turn)
    start = best_courses(yard, length, width, JOINT_M, turn)
    laid = lay_free(yard, start, time_limit_s=0.4)
    assert start.count <= laid.count <= upper_bound(yard, length, width, JOINT_M)
    assert_layable(yard, laid, JOINT_M)


def test_enough_ends_the_search_at_once():
    start = best_courses(YARD, 0.4, 0.4, JOINT_M)
    told = []
    laid = lay_free(
        YARD,
        start,
        time_limit_s=60.0,
        enough=start.count,
        progress=lambda share, count: told.append((share, count)),
    )
    assert laid is start
    assert told == []


def test_progress_goes_forward_and_counts_never_fall():
    court, start = one_unit()
    told = []
    lay_free(court, start, time_limit_s=0.5, progress=lambda *now: told.append(now))
    shares, counts = zip(*told, strict=True)
    assert list(shares) == sorted(shares)
    assert list(counts) == sorted(counts)
    assert 0.0 <= shares[0] <= shares[-1] <= 1.0


def test_ctrl_c_keeps_the_best_so_far():
    court, start = one_unit()

    def stop_when_better(_share, count):
        if count > start.count:
            raise KeyboardInterrupt

    laid = lay_free(court, start, time_limit_s=60.0, progress=stop_when_better)
    assert laid.count > start.count
    assert not laid.proven
    assert_layable(court, laid, JOINT_M)


@pytest.mark.parametrize(
    "start",
    [
        best_shift(YARD, pinwheel(0.4, 0.2), JOINT_M),  # two kinds of unit
        best_shift(shapely.box(0, 0, 0.1, 0.1), stack(0.4, 0.4), JOINT_M),  # no unit
    ],
)
def test_what_it_cannot_better_comes_back_as_it_is(start):
    assert lay_free(YARD, start, time_limit_s=60.0) is start
