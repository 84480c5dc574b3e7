"""Corners from ties: datum, residuals, the suspect, mirror images, marks that are no corners."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from bedplan.model.ties import RingShape, Tape, Tie
from bedplan.survey import solve
from bedplan.survey.reliability import chi2_limit

YARD = {"A": (0.0, 0.0), "B": (8.0, 0.0), "C": (8.3, 6.1), "D": (0.2, 6.4)}
FIVE = {"A": (0.0, 0.0), "B": (9.0, 0.0), "C": (10.0, 5.0), "D": (5.0, 8.0), "E": (-1.0, 5.5)}
ELL = {
    "A": (0.0, 0.0),
    "B": (10.0, 0.0),
    "C": (10.0, 4.0),
    "D": (4.0, 4.1),
    "E": (4.2, 9.0),
    "F": (0.1, 9.2),
}


def ties_of(places, pairs=None, **off):
    """Return ties between places, all of them or the pairs named; `AC=0.1` reads 0.1 m long."""
    names = pairs or ["".join(pair) for pair in combinations(places, 2)]
    return [
        Tie(name[0], name[1], math.dist(places[name[0]], places[name[1]]) + off.get(name, 0.0))
        for name in names
    ]


def shaken(places, chance):
    tape = Tape()
    return [
        Tie(tie.first, tie.second, tie.length_m + tape.sigma_m(tie.length_m) * chance.normal())
        for tie in ties_of(places)
    ]


def same(places, expected, within=1e-7):
    for name, at in expected.items():
        assert places[name] == pytest.approx(at, abs=within), name


def moved(places, turn_deg, dx, dy):
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return {n: (c * x - s * y + dx, s * x + c * y + dy) for n, (x, y) in places.items()}


# ---- datum -----------------------------------------------------------------------------------


def test_first_corner_is_the_origin_and_the_second_lies_along_x():
    away = moved(YARD, 33.0, 5.0, -7.0)
    found = solve("ABCD", {}, ties_of(away))
    same(found.places, YARD)
    assert [mark.error is None for mark in found.marks] == [True, False, False, False]
    assert found.marks[1].error.semi_minor_m == pytest.approx(0.0, abs=1e-9)
    assert found.marks[1].error.direction_deg % 180.0 == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("held", "ABCD")
def test_one_known_corner_is_held_and_the_first_side_keeps_to_x(held):
    there = moved(YARD, 0.0, 12.0, 3.0)
    found = solve("ABCD", {held: there[held]}, ties_of(YARD))
    same(found.places, there)
    assert [mark.name for mark in found.marks if mark.error is None] == [held]


def test_corners_partly_given_partly_taped():
    there = moved(FIVE, 71.0, 3.0, 4.0)
    known = {name: there[name] for name in "ABD"}
    found = solve("ABCDE", known, ties_of(there, ["BC", "CD", "DE", "EA"]))
    same(found.places, there)
    assert found.redundancy == 0
    assert found.unit_weight is None
    assert {tie.name for tie in found.unchecked} == {"BC", "CD", "DE", "EA"}


def test_a_known_mark_that_is_no_corner_carries_the_figure():
    house = {"H": (4.0, -3.0), "J": (12.0, -3.0)}
    ties = ties_of(YARD | house, ["HA", "JA", "HB", "JB", "BC", "AC", "AD", "CD", "BD"])
    found = solve("ABCD", house, ties, others={"H": "outside", "J": "outside"})
    same(found.places, YARD | house)
    assert [name for name, _ in found.ring] == list("ABCD")
    assert not found.rivals
    # nobody said that the house stands outside: the yard could lie about it as well
    (rival,) = solve("ABCD", house, ties).rivals
    assert set(rival.settle) & set("HJ")


def test_ties_between_known_marks_are_checked_too():
    known = {"A": YARD["A"], "B": YARD["B"]}
    ties = ties_of(YARD, AB=0.05)
    check = next(check for check in solve("ABCD", known, ties).ties if check.tie.name == "AB")
    assert check.redundancy == pytest.approx(1.0)
    assert check.residual_m == pytest.approx(0.05)


# ---- residuals and redundancy ------------------------------------------------------------------


def test_perfect_ties_leave_nothing():
    found = solve("ABCDE", {}, ties_of(FIVE))
    assert max(abs(check.residual_m) for check in found.ties) < 1e-9
    assert found.redundancy == 10 - 7
    assert found.unit_weight == pytest.approx(0.0, abs=1e-6)
    assert found.suspect is None
    assert found.sound
    assert found.closure.gap_m == pytest.approx(0.0, abs=1e-9)
    assert found.closure.taped_sides == 5


def test_redundancy_numbers_are_the_share_of_an_error_that_shows():
    # by definition: read one tie longer by a little, and see how much its own residual grows
    ties = ties_of(FIVE)
    found = solve("ABCDE", {}, ties)
    assert sum(check.redundancy for check in found.ties) == pytest.approx(3.0)
    for i, tie in enumerate(ties):
        longer = [*ties[:i], Tie(tie.first, tie.second, tie.length_m + 1e-4), *ties[i + 1 :]]
        again = solve("ABCDE", {}, longer, tape=Tape(0.003, 0.0)).ties[i]
        assert again.residual_m / 1e-4 == pytest.approx(again.redundancy, abs=1e-3)


def test_both_ways_are_two_observations():
    ties = [*ties_of(YARD, ["AB", "BC", "CD", "DA", "AC"]), Tie("C", "A", 10.31)]
    ties[4] = Tie("A", "C", 10.29)
    found = solve("ABCD", {}, ties)
    assert found.redundancy == 1
    assert [check.redundancy for check in found.ties] == pytest.approx(
        [0, 0, 0, 0, 0.5, 0.5], abs=1e-3
    )
    assert math.dist(found.places["A"], found.places["C"]) == pytest.approx(10.30, abs=1e-5)
    assert found.ties[4].residual_m == pytest.approx(-0.01, abs=1e-5)
    assert found.unit_weight == pytest.approx(
        math.sqrt(2) * 0.01 / Tape().sigma_m(10.29), rel=1e-3
    )


def test_a_reading_with_its_own_spread_gives_way():
    # two readings of one length: the mean weighted by 1/sigma^2, so 1:4
    ties = [*ties_of(YARD, ["AB", "BC", "CD", "DA"]), Tie("A", "C", 10.30, 0.002)]
    ties.append(Tie("C", "A", 10.35, 0.001))
    places = solve("ABCD", {}, ties).places
    assert math.dist(places["A"], places["C"]) == pytest.approx(10.34, abs=1e-6)


def test_uncertainties_are_those_of_repeated_surveys():
    # seeded: places and angles of 400 surveys scatter as the first one says they will
    chance = np.random.default_rng(4)
    said = solve("ABCDE", {}, ties_of(FIVE))
    runs = [solve("ABCDE", {}, shaken(FIVE, chance)) for _ in range(400)]
    for i in range(1, 5):
        seen = np.cov(np.array([run.marks[i].at for run in runs]).T)
        sizes, axes = np.linalg.eigh(seen)
        told = said.marks[i].error
        assert told.semi_major_m == pytest.approx(math.sqrt(sizes[1]), rel=0.12)
        assert told.semi_minor_m == pytest.approx(
            math.sqrt(max(sizes[0], 0.0)), rel=0.12, abs=1e-9
        )
        turn = math.degrees(math.atan2(axes[1, 1], axes[0, 1])) - told.direction_deg
        assert min(turn % 180.0, -turn % 180.0) < 12.0
        angles = [run.corners[i].interior_deg for run in runs]
        assert said.corners[i].sigma_deg == pytest.approx(np.std(angles), rel=0.12)
    # and ties that are only as good as the tape seldom look worse
    assert np.mean([run.unit_weight**2 for run in runs]) == pytest.approx(1.0, abs=0.12)
    assert sum(run.suspect is not None for run in runs) <= 8


def test_uncertainty_grows_where_ties_disagree():
    good, poor = (solve("ABCD", {}, ties_of(YARD, AC=off)) for off in (0.0, 0.5))
    assert poor.unit_weight > 3.0
    assert poor.marks[2].error.semi_major_m > 2.5 * good.marks[2].error.semi_major_m


# ---- the suspect -----------------------------------------------------------------------------


@pytest.mark.parametrize("off", [0.08, -0.08, 0.3048])
@pytest.mark.parametrize("name", ["AC", "BE", "CD"])
def test_one_wrong_tie_is_named_and_mended(name, off):
    found = solve("ABCDE", {}, ties_of(FIVE, **{name: off}))
    assert found.suspect.tie.name == name
    assert found.suspect.certain
    assert found.suspect.error_m == pytest.approx(off, abs=1e-6)
    a, b = name
    assert found.suspect.corrected_m == pytest.approx(math.dist(FIVE[a], FIVE[b]), abs=1e-6)
    assert not found.sound


def test_one_tie_to_spare_shows_an_error_and_cannot_tell_whose():
    found = solve("ABCD", {}, ties_of(YARD, BC=0.1))
    assert not found.suspect.certain
    names = {found.suspect.tie.name, *(tie.name for tie in found.suspect.alike)}
    assert names == {"AB", "AC", "AD", "BC", "BD", "CD"}
    sizes = [abs(check.standardised) for check in found.ties]
    assert sizes == pytest.approx([sizes[0]] * 6, rel=0.02)


def test_a_tie_that_nothing_checks_is_never_suspect():
    ties = ties_of(FIVE, ["AB", "BC", "CD", "DA", "AC", "BD", "DE", "EA"], DE=0.5)
    found = solve("ABCDE", {}, ties)
    assert {tie.name for tie in found.unchecked} == {"DE", "EA"}
    assert found.suspect is None


@pytest.mark.parametrize(
    ("off", "least_seen", "least_named"), [(0.05, 0.97, 0.93), (0.1, 1.0, 0.99)]
)
def test_rate_of_detection_with_six_ties_to_spare(off, least_seen, least_named):
    # seeded: an L-shaped yard, all 15 ties, one of them wrong by 2 in or 4 in
    chance = np.random.default_rng(11)
    seen = named = 0
    trials = 80
    for trial in range(trials):
        ties = shaken(ELL, chance)
        wrong = trial % len(ties)
        tie = ties[wrong]
        ties[wrong] = Tie(tie.first, tie.second, tie.length_m + off * chance.choice((-1.0, 1.0)))
        suspect = solve("ABCDEF", {}, ties).suspect
        seen += suspect is not None
        named += suspect is not None and suspect.tie is ties[wrong]
    assert seen >= least_seen * trials
    assert named >= least_named * trials


def test_visible_error_is_seen_four_times_in_five():
    # the size of error told for a tie, put into it: 200 seeded surveys, 80 % within 3 sigma
    chance = np.random.default_rng(5)
    size = solve("ABCDE", {}, ties_of(FIVE)).ties[1].visible_m
    seen = 0
    for _ in range(200):
        ties = shaken(FIVE, chance)
        ties[1] = Tie(ties[1].first, ties[1].second, ties[1].length_m + size)
        standardised = solve("ABCDE", {}, ties).ties[1].standardised
        seen += abs(standardised) > 3.29
    assert 0.72 * 200 <= seen <= 0.88 * 200


@pytest.mark.parametrize(("count", "table"), [(1, 10.828), (3, 16.266), (6, 22.458), (20, 45.315)])
def test_limit_of_the_sum_of_squares(count, table):
    # 0.1 % points of chi-square, printed tables, from memory; the approximation keeps 3.5 %
    assert chi2_limit(count) == pytest.approx(table, rel=0.035)


# ---- mirror images and shapes ----------------------------------------------------------------


def test_the_way_round_settles_the_mirror_image():
    left = solve("ABCD", {}, ties_of(YARD))
    right = solve("ABCD", {}, ties_of(YARD), shape=RingShape("cw"))
    same(left.places, YARD)
    same(right.places, {name: (x, -y) for name, (x, y) in YARD.items()})
    assert left.area_m2 == pytest.approx(right.area_m2)


def test_an_inward_corner_is_found_where_ties_check_it():
    found = solve("ABCDEF", {}, ties_of(ELL))
    same(found.places, ELL)
    assert not found.rivals
    assert [c.name for c in found.corners if c.interior_deg > 180.0] == ["D"]
    # at D, from DE to DC round the outside, against a square inner corner
    off = {c.name: c.off_square_deg for c in found.corners}
    between = math.degrees(math.atan2(4.9, 0.2) - math.atan2(-0.1, 6.0))
    assert off["D"] == pytest.approx(90.0 - between, abs=1e-6)


DART = {"A": (0.0, 0.0), "B": (10.0, 0.0), "C": (3.0, 3.0), "D": (0.0, 9.0)}
BARE = ["AB", "BC", "CD", "DA", "BD"]


def test_a_dart_is_told_from_its_kite_only_by_another_tie():
    plain = solve("ABCD", {}, ties_of(DART, BARE))
    (rival,) = plain.rivals
    assert rival.inward == {"C"}
    same(rival.places, DART)
    assert set(rival.settle) == {"A", "C"}
    assert rival.there_m == pytest.approx(math.dist(DART["A"], DART["C"]))
    assert rival.here_m == pytest.approx(math.dist(plain.places["A"], plain.places["C"]))
    settled = solve("ABCD", {}, ties_of(DART, [*BARE, "AC"]))
    same(settled.places, DART)
    assert not settled.rivals


def test_a_dart_is_taken_where_the_file_says_so():
    found = solve("ABCD", {}, ties_of(DART, BARE), shape=RingShape(inward=frozenset("C")))
    same(found.places, DART)
    assert not found.rivals


def test_a_ring_no_arcs_can_strike_off_is_still_found():
    # K(3,3): every diagonal right across, no triangle anywhere
    at = [(0, 0), (7, -1), (10, 4), (8, 9), (2, 10), (-2, 4)]
    ring = dict(zip("ABCDEF", at, strict=True))
    pairs = ["AB", "BC", "CD", "DE", "EF", "FA", "AD", "BE", "CF"]
    found = solve("ABCDEF", {}, ties_of(ring, pairs))
    here = [math.dist(found.places[a], found.places[b]) for a, b in combinations("ABCDEF", 2)]
    there = [
        [math.dist(rival.places[a], rival.places[b]) for a, b in combinations("ABCDEF", 2)]
        for rival in found.rivals
    ]
    true = [math.dist(ring[a], ring[b]) for a, b in combinations("ABCDEF", 2)]
    assert any(figure == pytest.approx(true, abs=1e-6) for figure in [here, *there])
    whole = solve("ABCDEF", {}, ties_of(ring, [*pairs, "AC", "BD"]))
    assert [math.dist(whole.places[a], whole.places[b]) for a, b in combinations("ABCDEF", 2)] == (
        pytest.approx(true, abs=1e-6)
    )


@pytest.mark.parametrize(("where", "at"), [("inside", (4.0, 2.0)), ("outside", (4.0, -2.0))])
def test_a_tree_by_two_ties_stands_on_its_side_of_the_fence(where, at):
    # two ties from one side: the tree could stand either side of that side
    ties = [*ties_of(YARD), *ties_of(YARD | {"T": at}, ["TA", "TB"])]
    found = solve("ABCD", {}, ties, others={"T": where})
    assert found.places["T"] == pytest.approx(at, abs=1e-7)
    assert not found.rivals
    loose = solve("ABCD", {}, ties, others={"T": "anywhere"})
    assert len(loose.rivals) == 1
    assert "T" in loose.rivals[0].settle


def test_angles_and_squareness():
    found = solve("ABCD", {}, ties_of({"A": (0, 0), "B": (8, 0), "C": (8, 6), "D": (0, 6)}))
    assert [c.off_square_deg for c in found.corners] == pytest.approx([0] * 4, abs=1e-6)
    skew = solve("ABCDE", {}, ties_of(FIVE))
    assert sum(c.interior_deg for c in skew.corners) == pytest.approx(540.0)
    off = {c.name: c.off_square_deg for c in skew.corners}
    assert off["D"] is None
    assert off["A"] == pytest.approx(math.degrees(math.atan2(1.0, 5.5)), abs=1e-6)


def test_closure_is_the_gap_of_a_walk_with_taped_sides():
    # four square corners held by place; side AB read 30 mm long: the walk ends 30 mm past A
    square = {"A": (0, 0), "B": (8, 0), "C": (8, 6), "D": (0, 6)}
    found = solve("ABCD", square, ties_of(square, ["AB", "BC", "CD", "DA"], AB=0.03))
    assert found.closure.gap_m == pytest.approx(0.03)
    assert found.closure.ratio == pytest.approx(28.0 / 0.03)
