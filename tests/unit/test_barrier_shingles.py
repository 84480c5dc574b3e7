"""Barrier strips laid like shingles: hand-made slopes over a bed of three strips.

The bed is 28 ft by 7 ft; rolls 3 ft wide lapping 1 ft take ceil((7 - 1) / (3 - 1)) = 3 strips
along it (84 ft; 14 across it would be 98 ft), strip 1 from 1 to 4 ft, 2 from 3 to 6 and
3 from 5 to 8 ft north of the fence. From rolls of 20 ft each is pieced 20 + 9 with an end lap
of 1 ft.
"""

from __future__ import annotations

import json

import pytest

from bedplan.layout_file import parse_layout
from bedplan.outputs.barrier_record import barrier_record
from bedplan.outputs.barrier_sheet import barrier_sheets
from bedplan.outputs.tables_barrier import strips_table
from bedplan.plan import make_plan
from bedplan.plan.shingling import laid_areas

FOOT = 0.3048
BED = """\
[[bed]]
name = "bank"
polygon = [[1, 1], [29, 1], [29, 8], [1, 8]]
barrier = "woven"
"""
YARD = """\
title = "Y"
unit = "ft"
[enclosure]
corners = { A = [0, 0], B = [30, 0], C = [30, 10], D = [0, 10] }
[fabric.woven]
width = "3 ft"
lap = "1 ft"
rolls = [{ length = "20 ft" }]
"""


def corners(a, b, c, d):
    """Return spots of heights [ft] at the four corners of the fence."""
    return f"[[0, 0, {a}], [30, 0, {b}], [30, 10, {c}], [0, 10, {d}]]"


def planned(spots, things=BED):
    ground = f"[ground]\nspots = {spots}\n" if spots else ""
    return make_plan(parse_layout(YARD.replace("[fabric", ground + "[fabric") + things))


def laid(spots, things=BED):
    plan = planned(spots, things)
    (area,) = laid_areas(plan, plan.barriers[0])
    return area


def told(area):
    """Return number and what it lies on, in order of laying."""
    return [(each.strip.number, each.over) for each in area.strips]


@pytest.mark.parametrize(
    ("spots", "fall_deg", "order"),
    [
        # 1 ft up over 10 ft to the north: the south strip first
        (corners(0, 0, 1, 1), 270, [(1, ()), (2, (1,)), (3, (2,))]),
        # the same to the south: the north strip first
        (corners(1, 1, 0, 0), 90, [(3, ()), (2, (3,)), (1, (2,))]),
    ],
)
def test_a_fall_square_to_the_strips_is_laid_from_the_low_side(spots, fall_deg, order):
    area = laid(spots)
    assert area.way == "shingled"
    assert area.slope == pytest.approx(0.1)
    assert area.fall_deg == pytest.approx(fall_deg)
    assert told(area) == order
    assert [each.order for each in area.strips] == [1, 2, 3]


@pytest.mark.parametrize(
    ("spots", "begin_x", "pieces"),
    [(corners(0, 3, 3, 0), 1, [20, 9]), (corners(3, 0, 0, 3), 29, [9, 20])],
)
def test_laps_that_run_down_the_fall_keep_their_order_but_end_laps_do_not(spots, begin_x, pieces):
    area = laid(spots)
    assert area.way == "down the slope"
    assert told(area) == [(1, ()), (2, (1,)), (3, (2,))]
    for each in area.strips:
        assert each.begin[0] == pytest.approx(begin_x * FOOT)
        assert each.pieces_m == pytest.approx([piece * FOOT for piece in pieces])


def test_a_fall_askew_settles_both_laps_and_end_laps():
    # 0.1 down to the north, 0.05 down to the east: z = 1 - y / 10 + 1.5 - x / 20
    area = laid(corners(2.5, 1.0, 0.0, 1.5))
    assert area.way == "shingled"
    assert area.slope == pytest.approx(0.0125**0.5)
    assert told(area) == [(3, ()), (2, (3,)), (1, (2,))]
    assert {round(each.begin[0] / FOOT, 6) for each in area.strips} == {29.0}


def test_a_ditch_under_the_middle_strip_is_laid_first_and_a_ridge_last():
    # its line runs east 4.5 ft north of the fence, between the laps at 3 to 4 and 5 to 6 ft
    # the bed reaches 3.5 ft to either side of it, so that as a whole it is level
    def spots(rise):
        heights = ((0, 0.45), (4.5, 0), (10, 0.55))
        return str([[x, y, rise * z + 1] for x in (0, 30) for y, z in heights])

    ditch, ridge = laid(spots(1)), laid(spots(-1))
    assert told(ditch) == [(2, ()), (1, (2,)), (3, (2,))]
    assert told(ridge) == [(1, ()), (3, ()), (2, (1, 3))]
    assert (ditch.way, ditch.fall_deg, ridge.way) == ("shingled", None, "shingled")
    plan = planned(spots(1))
    assert "Area 1 does not lie level: begin" in strips_table(plan, plan.barriers[0]).note


@pytest.mark.parametrize("spots", ["", "[]", corners(1, 1, 1, 1)])
def test_without_a_fall_strips_are_laid_as_numbered(spots):
    area = laid(spots)
    assert (area.way, area.fall_deg) == ("as numbered", None)
    assert told(area) == [(1, ()), (2, (1,)), (3, (2,))]


def test_fabric_under_a_dug_path_goes_by_its_formation():
    # the ground falls south, the path is dug with a fall to the north
    path = BED.replace("[[bed]]", "[[path]]") + (
        'layers = [{ material = "rock", depth = "4 in" }]\n'
        'fall = { toward = "CD", slope = "2 %" }\n[material.rock]\n'
    )
    area = laid(corners(0, 0, 1, 1), path)
    assert area.slope == pytest.approx(0.02)
    assert told(area) == [(3, ()), (2, (3,)), (1, (2,))]


def test_separate_areas_are_ordered_each_by_itself():
    # 7 ft wide beds at both ends of a yard that is highest in the middle, strips north to south
    beds = "".join(
        f'[[bed]]\nname = "{name}"\npolygon = [[{x}, 1], [{x + 5}, 1], [{x + 5}, 9], [{x}, 9]]\n'
        'barrier = "woven"\n'
        for name, x in (("west", 1), ("east", 24))
    )
    spots = str([[x, y, 2 if x == 15 else 0] for x in (0, 15, 30) for y in (0, 10)])
    plan = planned(spots, beds)
    areas = list(laid_areas(plan, plan.barriers[0]))
    firsts = [area.strips[0].strip.start[0] / FOOT for area in areas]
    # a 5 ft width takes two strips, middles 1.5 ft from either edge: the outermost is lowest
    assert firsts == pytest.approx([2.5, 27.5])
    assert [len(area.strips) for area in areas] == [2, 2]
    assert all(area.strips[1].over for area in areas)


# ---- told -----------------------------------------------------------------------------------


def test_table_record_and_sheet_tell_the_order_and_what_lies_on_top():
    plan = planned(corners(1, 1, 0, 0))
    part = plan.barriers[0]
    table = strips_table(plan, part)
    assert [row[1:4] for row in table.rows] == [("1", "3", ""), ("2", "2", "3"), ("3", "1", "2")]
    assert "Area 1 falls 10 %: begin at the low side" in table.note
    data = json.loads(json.dumps(barrier_record(plan, part)))
    assert [(each["order"], each["number"], each["over"]) for each in data["strips"]] == [
        (1, 3, []),
        (2, 2, [3]),
        (3, 1, [2]),
    ]
    assert [area["way"] for area in data["areas"]] == ["shingled"]
    assert data["areas"][0]["fall_deg"] == pytest.approx(90)
    (scene,) = barrier_sheets(plan)
    words = {label.subject: label.words for label in scene.labels}
    assert words["strip 1"] == "1 lay 3, over 2"
    assert words["strip 3"] == "3 lay 1"
    assert words["fall 1"] == "10 %"


def test_laps_down_the_slope_are_told():
    plan = planned(corners(0, 3, 3, 0))
    note = strips_table(plan, plan.barriers[0]).note
    assert "Area 1 falls 10 %: laps run down the slope" in note
    assert "the upper on top at every end lap" in note
    level = planned("")
    assert "falls" not in strips_table(level, level.barriers[0]).note
