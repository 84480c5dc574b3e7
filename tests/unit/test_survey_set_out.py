"""Stakes, string lines and frames: hand cases, and what is refused."""

from __future__ import annotations

import math

import pytest
from gardens import FOOT, INCH, rectangle
from shapely.geometry import Polygon, box

from bedplan.errors import GeometryError
from bedplan.site.enclosure import build_enclosure
from bedplan.survey import Means, frame, set_out, string_line
from bedplan.survey.stakes import tape_reading

CORNERS = {"A": (0.0, 0.0), "B": (8.0, 0.0), "C": (8.0, 6.0), "D": (0.0, 6.0)}
SIDES = build_enclosure(rectangle(8.0, 6.0)).sides
METRIC = Means("metric")


def stake_at(x, y, marks=CORNERS, means=METRIC, sides=SIDES):
    (stake,) = set_out({"s": (x, y)}, marks, sides, means)
    return stake


def test_a_stake_near_a_side_is_taped_from_that_sides_corners_and_checked_across():
    stake = stake_at(4.0, 3.9)
    assert {tie.mark for tie in stake.ties} <= {"A", "B", "C", "D"}
    assert 30.0 <= stake.crossing_deg <= 150.0
    assert stake.check.mark not in [tie.mark for tie in stake.ties]
    assert stake.clear
    assert (stake.beside.side, stake.beside.along.mark) == ("CD", "C")
    assert stake.beside.along.tape_m == pytest.approx(4.0)
    assert stake.beside.in_tape_m == pytest.approx(2.1)


def test_the_hand_is_that_of_someone_looking_from_the_first_mark():
    above = stake_at(3.0, 3.0, {"A": CORNERS["A"], "B": CORNERS["B"]})
    assert [tie.mark for tie in above.ties] == ["A", "B"]
    assert above.hand == "left"
    below = stake_at(3.0, 3.0, {"D": CORNERS["D"], "C": CORNERS["C"]})
    assert [tie.mark for tie in below.ties] == ["D", "C"]
    assert below.hand == "right"


def test_two_marks_leave_no_check():
    assert stake_at(3.0, 3.0, {"A": (0.0, 0.0), "B": (8.0, 0.0)}).check is None


def test_no_side_no_along_and_in():
    assert stake_at(3.0, 3.0, sides=()).beside is None


def test_a_mark_at_the_stake_and_marks_in_line_with_it_give_no_tie():
    stake = stake_at(0.0, 0.0)
    assert "A" not in [tie.mark for tie in stake.ties]
    with pytest.raises(GeometryError, match="no two marks give ties that cross at s"):
        stake_at(4.0, 0.0, {"A": CORNERS["A"], "B": CORNERS["B"]})


def test_a_tie_longer_than_the_tape_is_a_last_resort():
    # from the middle of a long yard only A and D are within 6 m
    marks = {"A": (0.0, 0.0), "B": (20.0, 0.0), "C": (20.0, 6.0), "D": (0.0, 6.0)}
    near = stake_at(5.0, 3.0, marks, Means("metric", longest_m=6.0), ())
    assert {tie.mark for tie in near.ties} == {"A", "D"}
    assert near.clear
    far = stake_at(10.0, 3.0, marks, Means("metric", longest_m=6.0), ())
    assert not far.clear


def test_no_tie_runs_through_a_tree():
    tree = box(1.4, 1.0, 2.0, 1.6)
    ground = Polygon([CORNERS[name] for name in "ABCD"]).difference(tree)
    free = stake_at(3.0, 2.3)
    assert "A" in [tie.mark for tie in free.ties]
    round_it = stake_at(3.0, 2.3, means=Means("metric", open_ground=ground))
    assert "A" not in [tie.mark for tie in round_it.ties]
    assert round_it.clear


def test_rounding_is_what_the_two_taped_figures_do_to_the_stake():
    # by hand: arcs of the rounded lengths about A and B, cut by the law of cosines
    stake = stake_at(3.1234, 2.7183, {"A": (0.0, 0.0), "B": (8.0, 0.0)}, Means("imperial"))
    a, b = (tie.tape_m for tie in stake.ties)
    assert a / INCH * 16 == pytest.approx(round(a / INCH * 16), abs=1e-9)
    x = (a * a - b * b + 64.0) / 16.0
    y = math.sqrt(a * a - x * x)
    assert stake.rounding_m == pytest.approx(math.dist((x, y), (3.1234, 2.7183)), abs=1e-12)


@pytest.mark.parametrize(
    ("length_m", "show", "read_m"),
    [
        (10 * FOOT + 3.04 * INCH, "imperial", 10 * FOOT + 3.0625 * INCH),
        (10 * FOOT + 3.03 * INCH, "imperial", 10 * FOOT + 3 * INCH),
        (2.34567, "metric", 2.346),
        (0.0, "metric", 0.0),
    ],
)
def test_what_a_tape_reads(length_m, show, read_m):
    assert tape_reading(length_m, show) == pytest.approx(read_m, abs=1e-12)


def test_a_string_over_a_slanting_edge():
    # y = x: from the corner A to the far side CD, 6 m along; D is nearer than C
    line = string_line("bed", (2.0, 2.0), (4.0, 4.0), SIDES, "metric")
    first, second = line.ends
    assert first.tape_m == pytest.approx(0.0, abs=1e-9)
    assert first.corner == "A"
    assert (second.side, second.corner) == ("CD", "C")
    assert second.tape_m == pytest.approx(2.0)
    assert line.rounding_m == pytest.approx(0.0, abs=1e-9)


def test_a_string_that_meets_no_fence_is_refused():
    with pytest.raises(GeometryError, match="does not meet the fence both ways"):
        string_line("bed", (2.0, 2.0), (4.0, 4.0), SIDES[:1])
    with pytest.raises(GeometryError, match="no length"):
        string_line("bed", (2.0, 2.0), (2.0, 2.0), SIDES)


def test_frames():
    three = frame([("1", (0.0, 0.0)), ("2", (3.0, 0.0)), ("3", (0.0, 4.0))], "metric")
    assert three.diagonals == ()
    assert [span.tape_m for span in three.sides] == [3.0, 5.0, 4.0]
    assert not three.square
    leaning = [("1", (0.0, 0.0)), ("2", (3.0, 0.0)), ("3", (3.1, 2.0)), ("4", (0.1, 2.0))]
    assert not frame(leaning).square
    five = [(str(i), (math.cos(1.2 * i), math.sin(1.2 * i))) for i in range(5)]
    assert [(d.first, d.second) for d in frame(five).diagonals] == [
        ("0", "2"),
        ("1", "3"),
        ("2", "4"),
        ("3", "0"),
        ("4", "1"),
    ]
    with pytest.raises(GeometryError, match="2 stakes"):
        frame(leaning[:2])
