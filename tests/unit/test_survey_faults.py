"""Ties that cannot be used: each is named, with what would mend it."""

from __future__ import annotations

import math

import pytest
from test_survey_solve import FIVE, YARD, ties_of

from bedplan.errors import LayoutError
from bedplan.model.ties import RingShape, Tie
from bedplan.survey import solve


def faults_of(*args, **more):
    with pytest.raises(LayoutError) as caught:
        solve(*args, **more)
    return caught.value.faults


def test_all_faults_of_names_and_lengths_come_at_once():
    ties = [
        *ties_of(YARD),
        Tie("A", "Z", 3.0),
        Tie("B", "B", 2.0),
        Tie("A", "C", 0.0),
        Tie("B", "D", -4.0),
        Tie("C", "D", math.nan),
        Tie("A", "B", 8.0, 0.0),
    ]
    faults = faults_of("ABCDA", {"P": (1.0, 1.0), "Q": (1.0, 1.0)}, ties)
    told = "\n".join(map(str, faults))
    for words in (
        "corner A twice",
        "Q is given the place of P",
        "AZ runs to Z, which is no mark",
        "a tie from B to itself",
        "AC is 0 m long",
        "BD is -4 m long",
        "CD is nan m long",
        "AB has a standard deviation of 0 m",
    ):
        assert words in told
    assert ("enclosure", "ties", "AZ") in [fault.path for fault in faults]


def test_two_corners_are_no_fence():
    assert "2 corners" in faults_of("AB", {}, [Tie("A", "B", 3.0)])[0].got


def test_an_inward_corner_must_be_a_corner():
    shape = RingShape(inward=frozenset("Q"))
    assert "Q" in faults_of("ABCD", {}, ties_of(YARD), shape=shape)[0].got


def test_a_triangle_that_cannot_close_is_named_with_its_gap():
    ties = [Tie("A", "B", 4.0), Tie("B", "C", 3.0), Tie("A", "C", 7.25)]
    (fault,) = faults_of("ABC", {}, ties)
    assert fault.path == ("enclosure", "ties", "AC")
    assert "250 mm) short" in fault.got
    assert fault.remedy == "tape AB, BC and AC again"


def test_three_marks_in_one_line_may_miss_by_what_a_tape_does():
    # B stands in the line AC; AC was read 4 mm over AB + BC, well within three tapes' spread
    line = {"A": (0, 0), "B": (4, 0), "C": (9, 0), "D": (4, 6)}
    found = solve("ABCD", {}, ties_of(line, AC=0.004))
    assert found.suspect is None
    assert found.places["B"] == pytest.approx((4, 0), abs=0.005)
    assert found.corners[1].interior_deg == pytest.approx(180.0, abs=1.5)


def test_other_ties_tell_which_side_of_an_open_triangle_is_wrong():
    ties = ties_of(FIVE, AB=9.0)
    faults = faults_of("ABCDE", {}, ties)
    assert len(faults) == 2  # with C and with E; AD + DB reaches 18 m
    for fault in faults:
        assert fault.path[-1] == "AB"
        assert "begin with AB, which by all other ties is 29' 6-5/16\" (9000 mm)" in fault.remedy


@pytest.mark.parametrize(
    ("pairs", "movable", "count", "remedy"),
    [
        (["AB", "BC", "CD", "DA"], "C, D", 1, "tape AC"),
        (["AB", "BC", "CA"], "D", 2, "tape AD, CD"),
        (["BC", "CD", "DA", "AC", "BD"], None, 0, None),
        (["AB", "BC", "CD"], "C, D", 2, "tape AD, AC"),
        ([], "B, C, D", 5, "tape AB, AD, BC, CD, AC"),
    ],
)
def test_too_few_ties_name_the_corners_that_move_and_ties_to_hold_them(
    pairs, movable, count, remedy
):
    if movable is None:
        assert solve("ABCD", {}, ties_of(YARD, pairs)).redundancy == 0
        return
    ties = ties_of(YARD, pairs) if pairs else []
    (fault,) = faults_of("ABCD", {}, ties)
    assert f"leave {movable} free to move" in fault.got
    assert f"at least {count} more" in fault.wanted
    assert fault.remedy.startswith(remedy + ",")


def test_ties_asked_for_are_enough():
    # two ties of ten: with those asked for added, the yard just holds
    ties = ties_of(FIVE, ["AB", "CD"])
    (fault,) = faults_of("ABCDE", {}, ties)
    wanted = fault.remedy.removeprefix("tape ").split(", and")[0].split(", ")
    assert len(wanted) == 2 * 5 - 3 - 2
    assert solve("ABCDE", {}, [*ties, *ties_of(FIVE, wanted)]).redundancy == 0


def test_many_ties_in_one_part_do_not_hold_another():
    # ten ties, seven needed, and E still swings about A
    pairs = ["AB", "BC", "CD", "DA", "AC", "BD", "AB", "BC", "CD", "AE"]
    (fault,) = faults_of("ABCDE", {}, ties_of(FIVE, pairs))
    assert "leave E free to move" in fault.got


def test_ties_in_one_line_hold_nothing_square_to_it():
    # P stands between A and B: two ties along AB fix it along the side only
    ties = [*ties_of(YARD), Tie("A", "P", 3.0), Tie("P", "B", 5.0)]
    (fault,) = faults_of("ABCD", {}, ties, others={"P": "anywhere"})
    assert "P cross too flat" in fault.got
    assert "P" in fault.remedy


def test_lengths_no_figure_has():
    # every triangle closes, and still D's three arcs from known corners miss by far
    known = {name: YARD[name] for name in "ABC"}
    ties = [Tie("A", "D", 2.0), Tie("C", "D", 2.0)]
    (fault,) = faults_of("ABCD", known, ties)
    assert "no figure has these lengths" in fault.got
    assert "AD" in fault.remedy
    assert "CD" in fault.remedy


def test_corners_out_of_order_cross():
    (fault,) = faults_of("ACBD", {}, ties_of(YARD))
    assert "across side" in fault.got
    assert "in order round the fence" in fault.remedy


def test_known_corners_that_run_the_other_way():
    (fault,) = faults_of("ABCD", YARD, ties_of(YARD), shape=RingShape("cw"))
    assert "the other way round" in fault.got


def test_what_the_file_says_of_inward_corners_is_checked():
    shape = RingShape(inward=frozenset("C"))
    (fault,) = faults_of("ABCD", {}, ties_of(YARD), shape=shape)
    assert "no corner point inward" in fault.got
