"""Laws of the survey engine: what moving, turning, renaming and mirroring must not change."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations
from string import ascii_uppercase

import numpy as np
import shapely
from gardens import fence, moved_point
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from strategies import angles, fences, tape

from bedplan.errors import GeometryError, LayoutError
from bedplan.model.ties import RingShape, Tape, Tie
from bedplan.site.enclosure import build_enclosure
from bedplan.survey import Means, frame, set_out, solve, string_line
from bedplan.survey.stakes import crossing_deg, stake_ties

FEW = settings(max_examples=40, deadline=None)


def turn_of(points):
    return "ccw" if Polygon(points).exterior.is_ccw else "cw"


def named(points):
    return dict(zip(ascii_uppercase, points, strict=False))


def ties_of(places, pairs):
    return [Tie(a, b, math.dist(places[a], places[b])) for a, b in pairs]


def firmly(points):
    """Keep away from corners that all but touch a side far off: no tape settles those."""
    ring = Polygon(points)
    assume(not ring.buffer(-0.2).is_empty and ring.buffer(-0.2).geom_type == "Polygon")
    corners = [Point(point) for point in points]
    for i, corner in enumerate(corners):
        for j in range(len(points)):
            if j != i and (j + 1) % len(points) != i:
                side = LineString([points[j], points[(j + 1) % len(points)]])
                assume(side.distance(corner) > 0.1)


def distances(places, names):
    return [math.dist(places[a], places[b]) for a, b in combinations(names, 2)]


@FEW
@given(fences)
def test_every_ring_comes_back_from_all_its_ties(points):
    # concave or not, whichever way round: sides and all diagonals leave one figure only
    firmly(points)
    places = named(points)
    names = list(places)
    found = solve(
        names, {}, ties_of(places, combinations(names, 2)), shape=RingShape(turn_of(points))
    )
    assert not found.rivals
    assert np.allclose(distances(found.places, names), distances(places, names), atol=1e-7)
    assert found.places[names[0]] == (0.0, 0.0)
    assert turn_of([found.places[name] for name in names]) == turn_of(points)
    assert abs(found.area_m2 - Polygon(points).area) < 1e-5
    assert max(abs(check.residual_m) for check in found.ties) < 1e-7
    assert found.sound


@FEW
@given(fences, st.randoms(use_true_random=False), st.integers(0, 3))
def test_the_true_ring_is_taken_or_told_as_a_rival(points, chance, spare):
    # sides and diagonals at random, just enough or a few more
    firmly(points)
    places = named(points)
    names = list(places)
    sides = [(names[i], names[(i + 1) % len(names)]) for i in range(len(names))]
    diagonals = [p for p in combinations(names, 2) if p not in sides and p[::-1] not in sides]
    chance.shuffle(diagonals)
    pairs = [*sides, *diagonals[: len(names) - 3 + spare]]
    try:
        found = solve(names, {}, ties_of(places, pairs), shape=RingShape(turn_of(points)))
    except LayoutError as error:
        told = str(error)
        assert "free to move" in told or "too flat" in told
        return
    figures = [found.places, *(rival.places for rival in found.rivals)]
    true = distances(places, names)
    # a corner all but in line with its two ties is known the worse for it
    slack = 1e-4
    assert any(np.allclose(distances(each, names), true, atol=slack) for each in figures)
    for rival in found.rivals:
        assert abs(rival.here_m - rival.there_m) > 1e-4
        assert abs(math.dist(*(found.places[m] for m in rival.settle)) - rival.here_m) < 1e-9


@FEW
@given(fences, angles, tape(-200, 200), tape(-200, 200), st.integers(0, 2**31))
def test_moving_known_marks_moves_the_survey_and_nothing_else(points, turn, dx, dy, seed):
    firmly(points)
    places, chance = named(points), np.random.default_rng(seed)
    names = list(places)
    ties = [
        replace(tie, length_m=tie.length_m + chance.uniform(-0.005, 0.005))
        for tie in ties_of(places, combinations(names, 2))
    ]
    shape = RingShape(turn_of(points))
    here = solve(names, {n: places[n] for n in names[:2]}, ties, shape=shape)
    known = {n: moved_point(places[n], turn, dx, dy) for n in names[:2]}
    there = solve(names, known, ties, shape=shape)
    for name in names:
        assert math.dist(moved_point(here.places[name], turn, dx, dy), there.places[name]) < 1e-6
    for one, other in zip(here.ties, there.ties, strict=True):
        assert abs(one.residual_m - other.residual_m) < 1e-7
        assert abs(one.redundancy - other.redundancy) < 1e-5
    assert abs((here.unit_weight or 0) - (there.unit_weight or 0)) < 1e-4
    for one, other in zip(here.marks[2:], there.marks[2:], strict=True):
        assert abs(one.error.semi_major_m - other.error.semi_major_m) < 1e-7


@FEW
@given(fences, st.integers(0, 2**31), st.integers(0, 7))
def test_order_start_and_direction_of_ties_change_no_shape(points, seed, start):
    firmly(points)
    places, chance = named(points), np.random.default_rng(seed)
    names = list(places)
    ties = [
        replace(tie, length_m=tie.length_m + chance.uniform(-0.005, 0.005))
        for tie in ties_of(places, combinations(names, 2))
    ]
    turn = turn_of(points)
    other = "cw" if turn == "ccw" else "ccw"
    plain = solve(names, {}, ties, shape=RingShape(turn))
    back = [*names[start % len(names) :], *names[: start % len(names)]][::-1]
    turned = [Tie(tie.second, tie.first, tie.length_m) for tie in ties[::-1]]
    again = solve(back, {}, turned, shape=RingShape(other))
    assert np.allclose(distances(plain.places, names), distances(again.places, names), atol=1e-6)
    assert abs((plain.unit_weight or 0) - (again.unit_weight or 0)) < 1e-5
    # the mirror image, asked for, is the same figure with y turned over
    mirrored = solve(names, {}, ties, shape=RingShape(other))
    for name in names:
        x, y = plain.places[name]
        assert math.dist(mirrored.places[name], (x, -y)) < 1e-6


@FEW
@given(fences, st.integers(0, 2**31))
def test_redundancy_numbers_add_up(points, seed):
    firmly(points)
    places, chance = named(points), np.random.default_rng(seed)
    names = list(places)
    pairs = list(combinations(names, 2))
    known = {names[0]: places[names[0]], names[1]: places[names[1]]} if seed % 2 else {}
    ties = [
        replace(tie, length_m=tie.length_m + chance.uniform(-0.005, 0.005))
        for tie in ties_of(places, pairs)
    ]
    found = solve(names, known, ties, shape=RingShape(turn_of(points)))
    expected = len(pairs) - (2 * (len(names) - 2) if known else 2 * len(names) - 3)
    assert found.redundancy == expected
    assert abs(sum(check.redundancy for check in found.ties) - expected) < 1e-6
    assert all(0.0 <= check.redundancy <= 1.0 for check in found.ties)


# ---- set-out ---------------------------------------------------------------------------------


@st.composite
def yards(draw):
    """A fence and two points inside, a foot from every corner and side."""
    points = draw(fences)
    room = Polygon(points).buffer(-0.3)
    cells = [
        cell
        for cell in shapely.get_parts(shapely.constrained_delaunay_triangles(room))
        if cell.area > 0.01
    ]
    assume(cells)
    spots = []
    for _ in range(2):
        cell = draw(st.sampled_from(cells))
        u, v = draw(st.floats(0, 1)), draw(st.floats(0, 1))
        u, v = (u, v) if u + v <= 1 else (1 - u, 1 - v)
        (ax, ay), (bx, by), (cx, cy) = cell.exterior.coords[:3]
        spots.append((ax + u * (bx - ax) + v * (cx - ax), ay + u * (by - ay) + v * (cy - ay)))
    assume(math.dist(*spots) > 0.3)
    return points, spots


def tick(show):
    return 0.0254 / 16 if show == "imperial" else 0.001


@FEW
@given(yards(), st.sampled_from(["imperial", "metric"]))
def test_set_out_ties_put_through_a_survey_give_the_points_back(yard, show):
    points, spots = yard
    marks = named(points)
    targets = {"p": spots[0], "q": spots[1]}
    stakes = set_out(targets, marks, means=Means(show))
    ties = [tie for stake in stakes for tie in stake_ties(stake)]
    found = solve(
        list(marks),
        marks,
        ties,
        others=dict.fromkeys(targets, "inside"),
        shape=RingShape(turn_of(points)),
    )
    for stake in stakes:
        half = math.radians(stake.crossing_deg / 2)
        # two arcs off by h meet at most h / sin or h / cos of half their angle away; a third tie,
        # weighed against them, can draw the point as far again by its own h
        worst = tick(show) / 2 / min(math.sin(half), math.cos(half))
        assert stake.rounding_m <= worst * 1.01
        places = [found.places, *(rival.places for rival in found.rivals)]
        assert min(math.dist(each[stake.name], stake.at) for each in places) <= 3 * worst
        for tie in stake.ties:
            assert abs(tie.tape_m - tie.exact_m) <= tick(show) / 2 + 1e-12
            assert abs(tie.tape_m / tick(show) - round(tie.tape_m / tick(show))) < 1e-6


@FEW
@given(yards(), st.floats(3.0, 20.0))
def test_the_pair_of_ties_is_the_best_there_is(yard, longest):
    # by brute force over pairs, the ellipse by inverting the normal matrix
    points, spots = yard
    marks, ground, tape_ = named(points), Polygon(points), Tape()
    means = Means(longest_m=longest, open_ground=ground)
    (stake,) = set_out({"p": spots[0]}, marks, means=means)
    at = np.array(spots[0])

    def hindered(name):
        line = LineString([marks[name], spots[0]])
        return (line.length > longest + 1e-4) + (not ground.buffer(1e-4).covers(line)) > 0

    def sigma(a, b):
        rows = []
        for name in (a, b):
            gap = at - np.array(marks[name])
            far = np.hypot(*gap)
            rows.append(gap / far / tape_.sigma_m(far))
        normal = np.array(rows).T @ np.array(rows)
        return math.sqrt(np.linalg.eigvalsh(np.linalg.inv(normal))[1])

    def rank(a, b):
        angle = crossing_deg(spots[0], marks[a], marks[b])
        return (hindered(a) + hindered(b), not 30 <= angle <= 150)

    pairs = [
        pair
        for pair in combinations(marks, 2)
        if math.sin(math.radians(crossing_deg(spots[0], marks[pair[0]], marks[pair[1]]))) > 1e-3
    ]
    chosen = [tie.mark for tie in stake.ties]
    best = min(rank(*pair) for pair in pairs)
    assert rank(*chosen) == best
    assert stake.clear == (best[0] == 0)
    least = min(sigma(*pair) for pair in pairs if rank(*pair) == best)
    assert abs(stake.sigma_m - sigma(*chosen)) < 1e-6
    assert stake.sigma_m <= least + 2e-6
    assert stake.check is None or stake.check.mark not in chosen
    if len(marks) > 3 and best[0] == 0 and stake.check is not None:
        rest = [name for name in marks if name not in chosen]
        assert hindered(stake.check.mark) == min(hindered(name) for name in rest)


@FEW
@given(yards(), st.sampled_from(["imperial", "metric"]))
def test_along_and_in_lead_back_to_the_point(yard, show):
    points, spots = yard
    made = build_enclosure(fence(points))
    (stake,) = set_out({"p": spots[0]}, named(points), made.sides, Means(show))
    beside = stake.beside
    side = made.side(beside.side)
    assert math.dist(side.point(beside.along.exact_m, beside.in_exact_m), spots[0]) < 1e-9
    near = side.point(beside.along.tape_m, beside.in_tape_m)
    assert math.dist(near, spots[0]) <= tick(show) / 2 * math.sqrt(2) + 1e-9
    # no other side that the point stands square to is nearer
    for other in made.sides:
        along = other.line.station(spots[0])
        inside = other.inward * other.line.left_of(spots[0])
        if 0 <= along <= other.length_m and inside >= 0:
            assert abs(beside.in_exact_m) <= inside + 1e-9


@FEW
@given(yards(), st.sampled_from(["imperial", "metric"]))
def test_a_string_tied_to_the_fence_runs_over_the_edge(yard, show):
    points, (start, end) = yard
    made = build_enclosure(fence(points))
    try:
        line = string_line("edge", start, end, made.sides, show)
    except GeometryError:
        raise AssertionError from None  # every line from inside meets the fence both ways
    tied = []
    for each in line.ends:
        side = made.side(each.side)
        walked = side if each.corner == side.first else side.reversed()
        spot = walked.point(each.exact_m)
        assert made.polygon.exterior.distance(Point(spot)) < 1e-6
        assert each.exact_m <= side.length_m / 2 + 1e-6
        tied.append((spot, walked.point(each.tape_m)))
    exact = LineString([tied[0][0], tied[1][0]])
    assert exact.distance(Point(start)) < 1e-6
    assert exact.distance(Point(end)) < 1e-6
    # nothing of the fence stands between the edge and where its string is tied, beyond the edge
    for spot, edge in ((tied[0][0], start), (tied[1][0], end)):
        reach = LineString([spot, edge])
        assert shapely.length(reach.difference(made.polygon.buffer(1e-6))) < 1e-6
    taped = LineString([tied[0][1], tied[1][1]])
    off = max(taped.distance(Point(start)), taped.distance(Point(end)))
    assert abs(off - line.rounding_m) < 1e-9


@FEW
@given(fences)
def test_a_frame_goes_together_again_from_its_own_figures(points):
    # sides and diagonals alone, rounded, give the ring back as well as a tape tells
    firmly(points)
    assume(len(points) > 3)
    stakes = list(named(points).items())
    made = frame(stakes, "metric")
    count = len(stakes)
    assert len(made.sides) == count
    assert len(made.diagonals) == (2 if count == 4 else count)
    for span in (*made.sides, *made.diagonals):
        assert span.exact_m == math.dist(dict(stakes)[span.first], dict(stakes)[span.second])
        assert abs(span.tape_m - span.exact_m) <= 0.0005 + 1e-12
    ties = [Tie(s.first, s.second, s.tape_m) for s in (*made.sides, *made.diagonals)]
    found = solve([n for n, _ in stakes], {}, ties, shape=RingShape(turn_of(points)))
    assert found.redundancy == (1 if count == 4 else 3)
    assert found.sound
