"""Mulch as deep as what is on hand spreads it: depths by hand.

Two beds of 6 and 4 m² ask for the heap, a third of 4 m² for 5 cm. The heap is 1 m³ loose and loses
a fifth, so 0.8 m³ stays in place; 4 × 0.05 = 0.2 m³ goes to the third bed, and 0.6 m³ over 10 m²
lie 6 cm deep.
"""

from __future__ import annotations

import math

import pytest

from bedplan.errors import LayoutError
from bedplan.layout_file import parse_layout
from bedplan.plan import make_plan

YARD = """\
title = "Y"
unit = "m"
show = "metric"
[enclosure]
corners = { A = [0, 0], B = [12, 0], C = [12, 6], D = [0, 6] }
[material.bark]
on_hand = "1 m^3"
settles = 0.2
[[bed]]
name = "six"
polygon = [[1, 1], [4, 1], [4, 3], [1, 3]]
mulch = { material = "bark", depth = "on hand" }
[[bed]]
name = "four"
polygon = [[5, 1], [7, 1], [7, 3], [5, 3]]
mulch = { material = "bark", depth = "on hand" }
[[bed]]
name = "set"
polygon = [[8, 1], [10, 1], [10, 3], [8, 3]]
mulch = { material = "bark", depth = 0.05 }
"""


def planned(*changes):
    text = YARD
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return make_plan(parse_layout(text))


def depths(plan):
    return {line.where: line.depth_m for line in plan.fill if line.kind == "mulch"}


def findings(plan, rule):
    return {each.where: each for each in plan.findings if each.rule == rule}


def test_beds_that_ask_for_the_heap_lie_equally_deep():
    plan = planned()
    assert depths(plan) == pytest.approx({"six": 0.06, "four": 0.06, "set": 0.05})
    assert [bed.mulch.depth_m for bed in plan.layout.beds] == pytest.approx([0.06, 0.06, 0.05])
    (total,) = plan.totals
    assert total.loose_m3 == pytest.approx(1.0)
    # the heap is used up to the last, and nothing is bought
    assert not plan.order.lines
    assert not findings(plan, "mulch-depth")


def test_a_layout_planned_again_gives_the_same():
    plan = planned()
    assert depths(make_plan(plan.layout)) == depths(plan)


def test_the_heap_goes_on_top_of_what_lies_there():
    plan = planned(("[7, 3], [5, 3]]\nmulch = { ", "[7, 3], [5, 3]]\nmulch = { there = 0.02, "))
    assert depths(plan) == pytest.approx({"six": 0.06, "four": 0.08, "set": 0.05})
    assert sum(line.loose_m3 for line in plan.fill) == pytest.approx(1.0)


def test_waste_is_lost_of_every_volume_spread():
    # 1 / 1.25 = 0.8 m³ loose are spread, 0.64 in place; less 0.2 that is 0.44 over 10 m²
    plan = planned(("settles = 0.2", "settles = 0.2\nwaste = 0.25"))
    assert depths(plan) == pytest.approx({"six": 0.044, "four": 0.044, "set": 0.05})
    assert not plan.order.lines
    short = findings(plan, "mulch-depth")
    assert set(short) == {"six", "four"}
    assert "fewer beds" in short["six"].remedy


def test_clear_rings_and_layers_of_paths_count():
    # a square metre of path takes 0.1 in place, and 0.5 is left
    path = (
        '[[path]]\nname = "walk"\npolygon = [[1, 4], [2, 4], [2, 5], [1, 5]]\n'
        'layers = [{ material = "bark", depth = 0.1 }]\n[[bed]]\nname = "six"'
    )
    plan = planned(('[[bed]]\nname = "six"', path))
    assert depths(plan)["six"] == pytest.approx(0.05)
    plant = '[[plant]]\nname = "fig"\nat = [2, 2]\nkeep_clear = 0.5\n[[bed]]\nname = "six"'
    plan = planned(('[[bed]]\nname = "six"', plant))
    # the ring is a figure of 64 corners on the circle: n r² sin(2π/n) / 2
    ring_m2 = 64 * 0.5**2 * math.sin(math.tau / 64) / 2
    assert depths(plan)["six"] == pytest.approx(0.6 / (10 - ring_m2))


def test_two_heaps_go_each_over_its_own_beds():
    plan = planned(
        ("[material.bark]", '[material.chips]\non_hand = "0.4 m^3"\n[material.bark]'),
        (
            '[7, 3], [5, 3]]\nmulch = { material = "bark"',
            '[7, 3], [5, 3]]\nmulch = { material = "chips"',
        ),
    )
    assert depths(plan) == pytest.approx({"six": 0.1, "four": 0.1, "set": 0.05})


@pytest.mark.parametrize("heap", ["0.2 m^3", "0 m^3"])
def test_a_heap_that_set_depths_use_up_is_a_finding(heap):
    plan = planned(("1 m^3", heap))
    assert depths(plan) == pytest.approx({"six": 0.0, "four": 0.0, "set": 0.05})
    found = findings(plan, "mulch-depth")
    assert set(found) == {"six", "four"}
    assert "nothing on hand of bark is left" in found["four"].remedy
    # the set bed wants 0.25 m³ loose; only that is bought, after the heap
    (line,) = plan.order.lines
    assert line.volume_m3 == pytest.approx(0.25 - float(heap.split()[0]))


def test_boards_are_judged_by_the_depth_found():
    board = (
        '[board.low]\nthickness = "2 cm"\nheight = "5 cm"\n'
        'stock = [{ length = "4 m" }]\n[material.bark]'
    )
    edged = ('name = "six"\n', 'name = "six"\nedging = "low"\n')
    plan = planned(("[material.bark]", board), edged)
    (found,) = findings(plan, "fill-height").values()
    assert found.where == "six"
    # inside boards of 2 cm the bed is 2.96 by 1.96 m: 0.6 / (5.8016 + 4) = 0.0612 m
    assert depths(plan)["six"] == pytest.approx(0.6 / (2.96 * 1.96 + 4.0))
    assert not findings(planned(("[material.bark]", board)), "fill-height")


def test_a_material_that_says_nothing_of_what_is_on_hand_is_a_fault():
    text = YARD.replace('on_hand = "1 m^3"\n', "")
    with pytest.raises(LayoutError) as raised:
        parse_layout(text, "y.toml")
    lines = [n for n, line in enumerate(text.splitlines(), 1) if '"on hand"' in line]
    told = str(raised.value)
    for line, number in zip(lines, (1, 2), strict=True):
        assert f"y.toml:{line}: bed[{number}].mulch.depth: " in told
    assert "add on_hand to the material 'bark'" in told


def test_layers_under_the_mulch_need_a_depth():
    text = YARD.replace(
        'mulch = { material = "bark", depth = 0.05 }',
        'layers = [{ material = "bark", depth = "on hand" }]',
    )
    with pytest.raises(LayoutError, match="depth"):
        parse_layout(text)
