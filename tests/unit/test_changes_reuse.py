"""Which cut pieces serve which places: held against the figures of the pieces themselves."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from cutting import end, inches, outline, piece
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from shapely import affinity

from bedplan.edging.model import Notch
from bedplan.plan.assignment import NEVER, best_pairs
from bedplan.plan.changes import WITHIN_M, alike, difference
from bedplan.plan.reuse import CutPiece, cut_from, reuse, square_m

THICK = 0.016


def serve(cut, wanted, homes=None, within_m=WITHIN_M):
    return reuse(cut, wanted, {"pine": THICK}, homes or {}, within_m)


def bare(label, long_m, slants=(0.0, 0.0), **more):
    return CutPiece(label, "pine", long_m, slants, **more)


def laid(one, turn):
    """Return a cut piece's figure as it is laid, moved as a rigid board and not by its angles."""
    shape = outline(one.long_m, one.slants_deg, THICK)
    middle = (one.long_m / 2, THICK / 2)
    match turn:
        case "as it is":
            return shape
        case "end for end":  # about a line straight up: half a turn, seen from above
            return affinity.rotate(shape, 180, origin=middle)
        case "rolled over":  # about its length: the faces change about, the ends stay
            return affinity.scale(shape, 1, -1, origin=middle)
        case "end for end on its other edge":  # about a line through its faces
            return affinity.scale(shape, -1, 1, origin=middle)
    raise AssertionError(turn)


SLANTS = st.sampled_from([-45.0, -30.0, -22.5, 0.0, 0.0, 22.5, 30.0, 45.0])
LENGTHS = st.integers(80, 400).map(lambda mm: mm / 1000)


@settings(max_examples=150, deadline=None)
@given(
    cut=st.lists(st.tuples(LENGTHS, SLANTS, SLANTS), max_size=5),
    wanted=st.lists(st.tuples(LENGTHS, SLANTS, SLANTS), max_size=5),
)
def test_a_piece_that_serves_holds_what_is_wanted_of_it(cut, wanted):
    there = [bare(f"c{n}", long_m, (a, b)) for n, (long_m, a, b) in enumerate(cut)]
    places = [piece(f"p{n}", long_m, (a, b)) for n, (long_m, a, b) in enumerate(wanted)]
    made = serve(there, places)
    for served in made.served:
        shape = laid(served.cut, served.turn)
        need = outline(served.piece.long_m, cut_from(served.piece).slants_deg, THICK)
        # where it lies along the other: what comes off the first end says so
        moved = affinity.translate(need, served.off_m[0], 0.0)
        if served.how == "trimmed":
            assert shape.buffer(WITHIN_M, join_style="mitre").covers(moved)
            length_m = served.piece.long_m + sum(served.off_m)
            assert length_m == pytest.approx(served.cut.long_m, abs=2 * WITHIN_M)
            assert any(served.recut)
        else:
            assert shape.symmetric_difference(need).area < WITHIN_M * 2 * THICK + 1e-5
            assert served.off_m == (0.0, 0.0)
    # nobody is lost, nobody is served twice
    assert sorted([s.cut.label for s in made.served] + [c.label for c in made.spare]) == sorted(
        one.label for one in there
    )
    assert sorted([s.piece.label for s in made.served] + [p.label for p in made.wanted]) == sorted(
        each.label for each in places
    )
    # and what is spare serves none of what is still wanted, laid any way, slid anywhere
    for one, place in itertools.product(made.spare, made.wanted):
        assert not any(slides_inside(laid(one, turn), place) for turn in TURNS)


TURNS = ("as it is", "end for end", "rolled over", "end for end on its other edge")


def slides_inside(shape, place):
    need = outline(place.long_m, cut_from(place).slants_deg, THICK)
    room = shape.bounds[2] - place.long_m
    return any(
        shape.buffer(1e-9).covers(affinity.translate(need, room * step / 40, 0.0))
        for step in range(41)
    )


@settings(max_examples=60, deadline=None)
@given(
    cut=st.lists(st.tuples(LENGTHS, SLANTS), min_size=1, max_size=4),
    wanted=st.lists(st.tuples(LENGTHS, SLANTS), min_size=1, max_size=4),
)
def test_the_most_length_is_served_of_all_ways_to_pair_them(cut, wanted):
    there = [bare(f"c{n}", long_m, (slant, slant)) for n, (long_m, slant) in enumerate(cut)]
    places = [piece(f"p{n}", long_m, (slant, slant)) for n, (long_m, slant) in enumerate(wanted)]
    served_m = sum(served.piece.long_m for served in serve(there, places).served)
    fits = {
        (i, k): bool(serve([one], [place]).served)
        for i, one in enumerate(there)
        for k, place in enumerate(places)
    }
    best = 0.0
    numbers = [*range(len(places)), *([None] * len(there))]
    for ways in set(itertools.permutations(numbers, len(there))):
        pairs = [(i, k) for i, k in enumerate(ways) if k is not None]
        if all(fits[pair] for pair in pairs):
            best = max(best, sum(places[k].long_m for _, k in pairs))
    # a piece that fits untouched elsewhere is taken first: it may differ by the tolerance
    assert served_m >= best - 4 * WITHIN_M


@pytest.mark.parametrize(
    ("slants", "turn"),
    [
        ((45.0, 30.0), "as it is"),
        ((-30.0, -45.0), "end for end"),
        ((-45.0, -30.0), "rolled over"),
        ((30.0, 45.0), "end for end on its other edge"),
    ],
)
def test_a_piece_serves_whichever_way_it_must_be_laid(slants, turn):
    (served,) = serve([bare("a", 1.0, slants)], [piece("b", 1.0, (45.0, 30.0))]).served
    assert (served.how, served.turn) == ("elsewhere", turn)


def test_a_mirrored_parallelogram_is_no_other_piece_but_a_hand_is():
    # both ends leaning one way: end for end it is itself, rolled over it leans the other way
    (served,) = serve([bare("a", 1.0, (45.0, -45.0))], [piece("b", 1.0, (-45.0, 45.0))]).served
    assert served.turn == "rolled over"
    made = serve([bare("a", 1.0, (45.0, 45.0))], [piece("b", 1.0, (45.0, -45.0))])
    assert not [each for each in made.served if each.how != "trimmed"]


def test_a_longer_mitred_piece_loses_one_end_only():
    # 41 in with both mitres serves for 40 in: one end stays, one inch comes off the other
    cut, wanted = bare("a", inches(41), (45.0, 45.0)), piece("b", inches(40), (45.0, 45.0))
    (served,) = serve([cut], [wanted]).served
    assert served.how == "trimmed"
    assert served.recut == (False, True)
    assert served.off_m == pytest.approx((0.0, inches(1)))


def test_an_end_that_fits_stays_though_it_is_the_last():
    # 30° at the last end serves; turned about, neither end would
    cut, wanted = bare("a", 1.0, (45.0, 30.0)), piece("b", 0.95, (0.0, 30.0))
    (served,) = serve([cut], [wanted]).served
    assert (served.turn, served.recut) == ("as it is", (True, False))
    assert served.off_m == pytest.approx((0.05, 0.0))


def test_a_mitre_does_not_serve_for_a_square_end_of_its_long_point():
    cut, wanted = bare("a", 1.0, (45.0, 0.0)), piece("b", 1.0)
    assert not serve([cut], [wanted]).served
    # 16 mm shorter, its short point, it does: the slant comes off
    (served,) = serve([cut], [piece("b", 1.0 - THICK)]).served
    assert served.off_m[0] == pytest.approx(THICK)
    assert served.recut == (True, False)
    assert square_m(cut, THICK) == pytest.approx(1.0 - THICK)


def test_a_piece_keeps_its_own_place_though_another_is_nearer():
    cut = [bare("a", 1.001), bare("b", 1.0)]
    made = serve(cut, [piece("a", 1.0)], {"a": "a"})
    assert [(s.cut.label, s.how) for s in made.served] == [("a", "in its place")]
    assert [one.label for one in made.spare] == ["b"]


def test_least_waste_breaks_a_tie():
    cut = [bare("long", 1.5), bare("short", 1.1)]
    made = serve(cut, [piece("x", 1.0)])
    assert [s.cut.label for s in made.served] == ["short"]


def test_another_board_never_serves():
    assert not serve([replace(bare("a", 1.0), board="oak")], [piece("b", 1.0)]).served


def test_notches_are_matched_by_place_and_face():
    notch = Notch(0.2, 0.3, 0.008, "BC 1", "outer")
    wanted = piece("b", 1.0, notches=(notch,))
    turned = replace(notch, start_m=0.7, end_m=0.8)
    (served,) = serve([bare("a", 1.0, notches=(turned,))], [wanted]).served
    assert served.turn == "end for end on its other edge"  # the outer face stays outside
    inner = replace(turned, face="inner")
    (served,) = serve([bare("a", 1.0, notches=(inner,))], [wanted]).served
    assert served.turn == "end for end"
    elsewhere = replace(notch, start_m=0.25, end_m=0.35)
    assert not serve([bare("a", 1.0, notches=(elsewhere,))], [wanted]).served
    assert not serve([bare("a", 1.0, notches=(notch,))], [piece("b", 1.0)]).served
    (whole,) = serve([bare("a", 1.0)], [wanted]).served
    assert (whole.how, whole.notched, whole.recut) == ("trimmed", True, (False, False))


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [(45.0, 45.4, True), (45.0, 45.6, False), (0.3, -0.1, True), (5.0, -5.0, False)],
)
def test_ends_are_alike_by_setting_and_face(one, other, same):
    assert alike(end(one), end(other)) is same


def test_every_kind_of_change_has_its_word():
    old = piece("a", 1.0, (45.0, 0.0))
    within = 0.0016
    assert difference(None, old, within) == ("new",)
    assert difference(old, None, within) == ("gone",)
    assert difference(old, replace(old, long_m=1.001), within) == ("same",)
    assert difference(old, replace(old, long_m=1.002), within) == ("longer",)
    assert difference(old, piece("a", 0.9, (44.0, 0.0)), within) == ("shorter", "other angle")
    assert difference(old, replace(old, board="oak"), within) == ("other board",)


@settings(max_examples=200, deadline=None)
@given(data=st.data(), rows=st.integers(1, 7), columns=st.integers(1, 7))
def test_best_pairs_are_as_good_as_another_solver_finds(data, rows, columns):
    cells = st.one_of(st.just(NEVER), st.integers(-3, 9).map(float))
    worth = np.array(
        data.draw(st.lists(cells, min_size=rows * columns, max_size=rows * columns))
    ).reshape(rows, columns)
    pairs = best_pairs(worth)
    assert len({row for row, _ in pairs}) == len(pairs) == len({column for _, column in pairs})
    plain = np.maximum(np.where(np.isfinite(worth), worth, 0.0), 0.0)
    theirs = plain[linear_sum_assignment(plain, maximize=True)].sum()
    assert sum(worth[pair] for pair in pairs) == pytest.approx(theirs)


def test_shapes_of_the_tests_are_boards():
    assert outline(1.0, (45.0, -45.0), THICK).area == pytest.approx((1.0 - THICK) * THICK)
    assert isinstance(outline(1.0, (0.0, 0.0), THICK), shapely.Polygon)
