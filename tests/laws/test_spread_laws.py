"""What holds of fewer units than fit, however many, wherever: shares, spread, thinned."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from bedplan.geometry.tolerance import FIT_M
from bedplan.paving import best_shift, herringbone, pinwheel, running, stack
from bedplan.paving.spread import courses, shares, spread, thinned

laws = settings(max_examples=40, deadline=None)
JOINT_M = 0.02
BONDS = (stack(0.4, 0.3), running(0.35, 0.25), herringbone(0.4, 0.2))


@st.composite
def walks(draw):
    """A rectangle, turned, mostly with a post in it."""
    walk = shapely.box(0.0, 0.0, draw(st.floats(0.5, 4.0)), draw(st.floats(0.5, 3.0)))
    if draw(st.booleans()):
        post = shapely.Point(draw(st.floats(0.0, 4.0)), draw(st.floats(0.0, 3.0)))
        walk = walk.difference(post.buffer(0.2, quad_segs=2))
    assume(walk.geom_type == "Polygon")
    return affinity.rotate(walk, draw(st.floats(0.0, 90.0)), origin=(0, 0))


def nearest_m(laying):
    """The least distance of two centres, pair by pair."""
    at = [unit[:2] for unit in laying.units]
    pairs = [math.dist(a, b) for i, a in enumerate(at) for b in at[i + 1 :]]
    return min(pairs, default=math.inf)


portions = st.lists(st.tuples(st.integers(1, 4000), st.integers(0, 60)), min_size=1, max_size=6)


@laws
@given(st.integers(0, 400), portions)
def test_shares_use_up_the_limit_and_no_walk_gets_more_than_it_holds(limit, walks):
    areas, counts = [area / 100.0 for area, _ in walks], [count for _, count in walks]
    given_out = shares(limit, areas, counts)
    assert len(given_out) == len(counts)
    assert sum(given_out) == min(limit, sum(counts))
    assert all(0 <= share <= count for share, count in zip(given_out, counts, strict=True))


@laws
@given(st.integers(0, 100), st.lists(st.integers(1, 4000), min_size=1, max_size=6))
def test_where_no_walk_is_full_shares_are_those_of_the_largest_remainder(limit, areas):
    # each gets its part of the limit rounded down, and the units left over go to the largest
    # fractions: worked out in whole fractions
    parts = [Fraction(limit * area, sum(areas)) for area in areas]
    given_out = shares(limit, areas, [limit + 1] * len(areas))
    up = [share - math.floor(part) for share, part in zip(given_out, parts, strict=True)]
    assert set(up) <= {0, 1}
    fractions = [part - math.floor(part) for part in parts]
    rounded_up = [part for part, more in zip(fractions, up, strict=True) if more]
    rounded_down = [part for part, more in zip(fractions, up, strict=True) if not more]
    assume(not rounded_up or not rounded_down or min(rounded_up) != max(rounded_down))
    assert not rounded_up or not rounded_down or min(rounded_up) > max(rounded_down)


@laws
@given(st.integers(0, 200), portions)
def test_what_a_full_walk_cannot_take_goes_to_the_others_by_area(limit, walks):
    areas, counts = [area / 100.0 for area, _ in walks], [count for _, count in walks]
    given_out = shares(limit, areas, counts)
    free = [i for i, count in enumerate(counts) if given_out[i] < count]
    for i in free:
        for j in range(len(counts)):
            # nobody has more than another with room would have at the same rate, but for a unit
            assert given_out[j] <= areas[j] * (given_out[i] + 1) / areas[i] + 1 + 1e-9


@laws
@given(st.integers(0, 60), st.lists(st.integers(1, 4000), min_size=2, max_size=5), st.data())
def test_shares_do_not_depend_on_the_order_of_walks(limit, areas, data):
    parts = [Fraction(limit * area, sum(areas)) % 1 for area in areas]
    assume(len(set(parts)) == len(parts))
    order = data.draw(st.permutations(range(len(areas))))
    one = shares(limit, areas, [99] * len(areas))
    other = shares(limit, [areas[i] for i in order], [99] * len(areas))
    assert other == [one[i] for i in order]


@laws
@given(walks(), st.sampled_from(BONDS), st.floats(0.0, 90.0), st.integers(0, 40))
def test_a_spread_has_so_many_units_inside_and_a_joint_apart(walk, bond, angle, limit):
    full = best_shift(walk, bond, JOINT_M, angle)
    few = spread(walk, full, limit)
    assert few.count == min(limit, full.count) == len(few.faces)
    outlines = few.outlines()
    assert np.all(shapely.covers(walk.buffer(4 * FIT_M, join_style="mitre"), outlines))
    for i, outline in enumerate(outlines):
        assert np.all(shapely.distance(outline, outlines[i + 1 :]) >= JOINT_M - 2 * FIT_M)
    assert {unit.turn_deg for unit in few.units} <= {unit.turn_deg for unit in full.units}


@laws
@given(walks(), st.sampled_from(BONDS), st.integers(1, 40))
def test_a_spread_leaves_units_in_place_or_at_equal_gaps_on_their_courses(walk, bond, limit):
    full = best_shift(walk, bond, JOINT_M)
    few = spread(walk, full, limit)
    if set(few.units) <= set(full.units):
        assert len(set(few.units)) == few.count
        return
    lines = {round(full.units[row[0]].y_m, 4): row for row in courses(full)}
    lengths = set()
    for row in courses(few):
        at = [few.units[i] for i in row]
        whole = [full.units[i].x_m for i in lines[round(at[0].y_m, 4)]]
        gaps = np.diff([unit.x_m for unit in at])
        assert np.ptp([unit.y_m for unit in at]) < FIT_M
        assert np.ptp(gaps) < FIT_M if len(gaps) else True
        ends = [0.5 * (whole[0] + whole[-1])] if len(at) == 1 else [whole[0], whole[-1]]
        np.testing.assert_allclose([at[0].x_m, at[-1].x_m], [ends[0], ends[-1]], atol=1e-9)
        lengths.add(len(at))
    assert len(lengths) == 1


@laws
@given(walks(), st.sampled_from(BONDS), st.integers(2, 12), st.integers(0, 2**32 - 1))
def test_no_random_choice_of_places_is_twice_as_far_apart(walk, bond, limit, seed):
    # T. F. Gonzalez, Theoretical Computer Science 38, 1985 (from memory): the farthest-first
    # choice is within a factor of 2 of any; a grid is taken only where it keeps 3/4 of that
    full = best_shift(walk, bond, JOINT_M)
    assume(full.count > limit)
    few, rng = nearest_m(spread(walk, full, limit)), np.random.default_rng(seed)
    for _ in range(30):
        chosen = rng.choice(full.count, limit, replace=False)
        at = [full.units[i][:2] for i in chosen]
        apart = min(math.dist(a, b) for i, a in enumerate(at) for b in at[i + 1 :])
        assert few >= 0.75 * 0.5 * apart - 1e-9


@laws
@given(st.integers(2, 30), st.integers(2, 30), st.floats(0.0, 0.39), st.floats(0.0, 90.0))
def test_one_course_keeps_its_ends_and_equal_gaps(units, limit, over, turn):
    walk = shapely.box(0.0, 0.0, 0.4 * units + over, 0.4)
    walk = affinity.rotate(walk, turn, origin=(0, 0))
    full = best_shift(walk, stack(0.4, 0.4), 0.0, turn)
    few = spread(walk, full, limit)
    at = np.array(few.units)[:, :2]
    gaps = np.hypot(*np.diff(at, axis=0).T)
    assert few.count == min(limit, units)
    # from the first unit's centre to the last's, in equal steps
    np.testing.assert_allclose(gaps, 0.4 * (units - 1) / (few.count - 1), atol=1e-6)
    np.testing.assert_allclose(at[[0, -1]], np.array(full.units)[[0, -1], :2], atol=1e-9)


@laws
@given(walks(), st.integers(0, 1), st.integers(0, 40))
def test_thinning_one_size_moves_nothing_and_spares_the_other(walk, face, limit):
    full = best_shift(walk, pinwheel(0.3, 0.15), JOINT_M)
    few = thinned(full, face, limit)
    before = list(zip(full.units, full.faces, strict=True))
    after = list(zip(few.units, few.faces, strict=True))
    assert [each for each in before if each in set(after)] == after
    assert [each for each in after if each[1] != face] == [
        each for each in before if each[1] != face
    ]
    assert few.faces.count(face) == min(limit, full.faces.count(face))
