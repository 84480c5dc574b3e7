"""Stepping stones: equal strides no longer than asked, whole units only, ends at the margins."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from gardens import INCH, fence, garden, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from bedplan.errors import GeometryError, LayoutError
from bedplan.layout_file import parse_layout
from bedplan.model.layout import BedSpec, Centerline, Outline, PathSpec, Paving, Plant, Rest
from bedplan.model.materials import Paver
from bedplan.paving.stepping import step_along
from bedplan.plan import make_plan
from bedplan.plan.choices import choices

STONE = Paver("stone", 0.5, 0.3, 0.05)


def stations(laying, line):
    return [LineString(line).project(Point(unit[:2])) for unit in laying.units]


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.4, 12.0),
    st.floats(0.31, 1.5),
    st.floats(0.0, 0.01),
    st.floats(0, 180),
    st.booleans(),
)
def test_a_straight_walk_has_the_fewest_equal_strides(long, stride, joint, angle, tall):
    # of n steps each is (long - 0.3) / n, and n is the least for which that is no more than asked
    size = (0.3, 0.5) if tall else (0.5, 0.3)
    along = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    across = np.array([-along[1], along[0]])
    walk = Polygon(
        [
            3 * along + 0.4 * across * s + long * along * e
            for s, e in ((-1, 0), (-1, 1), (1, 1), (1, 0))
        ]
    )
    line = [tuple((3 - 1) * along), tuple((3 + long + 1) * along)]
    laying = step_along(walk, line, size, joint, stride)
    at, room = stations(laying, line), long - 0.3
    steps = math.ceil(room / stride)
    whole = abs(room / stride - round(room / stride)) < 1e-3
    tight = abs(room / max(steps, 1) - 0.3 - joint) < 1e-3
    assert at[0] - 1.15 == pytest.approx(1 + long - 0.15 - at[-1], abs=1e-4)
    assert len(at) == 1 or max(np.diff(at)) <= stride + 1e-4
    if whole or tight:
        pass  # a hair more or less decides
    elif room / max(steps, 1) > 0.3 + joint:
        assert np.allclose(np.diff(at), room / steps, atol=1e-4)
        assert len(at) == steps + 1
    else:
        # so many steps would push stones together: as asked, the rest in even margins
        assert np.allclose(np.diff(at), stride, atol=1e-4)
        assert len(at) == steps
    assert all(walk.buffer(1e-4).covers(outline) for outline in laying.outlines())
    assert all(one.distance(other) >= joint - 1e-4 for one, other in pairwise(laying.outlines()))


def test_one_stone_where_two_would_touch():
    laying = step_along(shapely.box(0, 0, 0.5, 0.6), [(0, 0.3), (0.5, 0.3)], (0.5, 0.3), 0.0, 0.6)
    assert [round(unit.x_m, 6) for unit in laying.units] == [0.25]


def test_stones_lie_across_the_walk_unless_it_is_too_narrow():
    for wide, turn in ((0.6, 90.0), (0.4, 0.0)):
        walk, line = shapely.box(0, 0, 4, wide), [(0, wide / 2), (4, wide / 2)]
        laying = step_along(walk, line, (0.5, 0.3), 0.0, 0.8)
        assert {unit.turn_deg for unit in laying.units} == {turn}
        assert laying.count >= 5


@settings(max_examples=30, deadline=None)
@given(st.floats(-1.2, 1.2), st.floats(-1.2, 1.2), st.floats(0.45, 0.9))
def test_a_walk_with_bends_keeps_its_stones_apart_and_whole(up, down, stride):
    walk = PathSpec(
        "walk",
        Centerline(((0.0, 2.0), (2.0, 2.0 + up), (4.0, 2.0 + down), (6.0, 2.0)), 0.7),
        paving=Paving("stone", joint_m=(0.01, 0.01), stride_m=stride),
    )
    laid = make_plan(garden(rectangle(6, 4), [], [walk], pavers={"stone": STONE})).walks[0]
    outlines = laid.outlines
    assert laid.count >= 5
    assert all(laid.ground.buffer(1e-4).covers(outline) for outline in outlines)
    for number, one in enumerate(outlines):
        assert all(one.distance(other) >= 0.01 - 1e-4 for other in outlines[:number])
    line = [(0.0, 2.0), (2.0, 2.0 + up), (4.0, 2.0 + down), (6.0, 2.0)]
    at = np.diff(stations(laid.layings[0], line))
    # a stone that does not fit at a bend leaves a whole stride, or several, empty
    assert np.allclose(at / at.min(), np.round(at / at.min()), atol=1e-3)
    assert at.min() <= stride + 1e-6


def test_a_skew_fence_is_met_by_whole_stones():
    spec = fence([(0, 0), (5, 0), (4, 3), (0.5, 3)])
    walk = PathSpec(
        "walk", Centerline(((0.25, 1.5), (4.5, 1.5)), 0.8), paving=Paving("stone", stride_m=0.6)
    )
    laid = make_plan(garden(spec, [], [walk], pavers={"stone": STONE})).walks[0]
    first, last = laid.outlines[0], laid.outlines[-1]
    ring = laid.ground.exterior
    # the end stones touch the fence with one corner
    assert ring.distance(first) < 1e-4
    assert ring.distance(last) < 1e-4
    assert all(laid.ground.buffer(1e-4).covers(outline) for outline in laid.outlines)


def test_a_plant_in_the_way_moves_the_strides_or_leaves_one_out():
    plant = Plant("rose", (2.0, 1.0), stem_m=0.02, keep_clear_m=0.1)
    walk = PathSpec(
        "walk",
        Centerline(((0.0, 1.0), (4.0, 1.0)), 0.7),
        paving=Paving("stone", stride_m=0.65),
    )
    layout = garden(rectangle(4, 2), [], [walk], pavers={"stone": STONE}, plants=(plant,))
    laid = make_plan(layout).walks[0]
    assert not any(outline.distance(Point(2.0, 1.0)) < 0.11 - 1e-3 for outline in laid.outlines)
    at = [unit.x_m for unit in laid.layings[0].units]
    assert np.allclose(np.diff(at) / min(np.diff(at)), np.round(np.diff(at) / min(np.diff(at))))


def test_an_area_is_crossed_along_its_longest_course():
    border = BedSpec("bed", Outline(((2, 2), (6, 2), (6, 5), (2, 5))))
    walk = PathSpec("walk", Rest(), paving=Paving("stone", stride_m=0.7))
    laid = make_plan(garden(rectangle(6, 5), [border], [walk], pavers={"stone": STONE})).walks[0]
    table = np.array(laid.layings[0].units)
    long = np.hypot(*(table[-1, :2] - table[0, :2]))
    assert long == pytest.approx(6 - 0.3, abs=1e-4)
    assert laid.path.spec.paving.pattern == "stepping stones"


def test_a_stride_shorter_than_a_stone_is_told():
    walk = PathSpec("walk", Rest(), paving=Paving("stone", joint_m=(0.02, 0.02), stride_m=0.31))
    with pytest.raises(LayoutError) as error:
        make_plan(garden(rectangle(4, 2), [], [walk], pavers={"stone": STONE}))
    assert error.value.faults[0].path == ("path", 0, "stride")
    with pytest.raises(GeometryError, match="shorter than a unit"):
        step_along(shapely.box(0, 0, 4, 1), [(0, 0.5), (4, 0.5)], (0.5, 0.3), 0.02, 0.31)
    enough = replace(walk, paving=replace(walk.paving, stride_m=0.32))
    assert make_plan(garden(rectangle(4, 2), [], [enough], pavers={"stone": STONE})).walks[0].count


def test_stride_is_read_in_any_unit_and_only_beside_pavers(tmp_path):
    text = """\
title = "Steps"
unit = "ft"
[enclosure]
corners = { A = [0, 0], B = [20, 0], C = [20, 6], D = [0, 6] }
[[path]]
name = "walk"
centerline = [[0, 3], [20, 3]]
width = 3
pavers = "stone"
stride = "24 in"
[paver.stone]
size = ["18 in", "12 in"]
thickness = "2 in"
"""
    layout = parse_layout(text, "steps.toml", tmp_path)
    assert layout.paths[0].paving.stride_m == pytest.approx(24 * INCH)
    # 19 ft between the end stones' centres: ten strides of 22.8 in
    laid = make_plan(layout).walks[0]
    at = [unit.x_m / INCH for unit in laid.layings[0].units]
    assert at == pytest.approx([6 + 22.8 * i for i in range(11)], abs=0.01)
    metric = parse_layout(text.replace('"24 in"', '"600 mm"'), "steps.toml", tmp_path)
    assert metric.paths[0].paving.stride_m == pytest.approx(0.6)
    with pytest.raises(LayoutError, match="'stride' without 'pavers'"):
        parse_layout(text.replace('pavers = "stone"\n', ""), "steps.toml", tmp_path)


def test_choices_set_the_stepping_stones_of_the_file_beside_whole_bonds():
    walk = PathSpec("walk", Rest(), paving=Paving("stone", stride_m=0.9))
    plan = make_plan(garden(rectangle(3, 2), [], [walk], pavers={"stone": STONE}))
    made = choices(plan.layout, plan.site, plan.site.paths[0])
    (stones,) = [choice for choice in made if choice.chosen]
    assert stones.walk.count == plan.walks[0].count
    others = [choice for choice in made if not choice.chosen]
    assert min(choice.walk.count for choice in others) > plan.walks[0].count


@pytest.mark.parametrize("limit", [0, 1, 7])
def test_a_walk_whose_share_of_a_limit_is_nothing_is_no_fault(limit):
    stone = replace(STONE, limit=limit)
    walks = [
        PathSpec("long", Centerline(((0.0, 1.0), (6.0, 1.0)), 0.7), paving=Paving("stone")),
        PathSpec("short", Centerline(((0.0, 3.0), (1.0, 3.0)), 0.7), paving=Paving("stone")),
    ]
    plan = make_plan(garden(rectangle(6, 4), [], walks, pavers={"stone": stone}))
    assert sum(walk.count for walk in plan.walks) == limit
    assert not [finding for finding in plan.findings if finding.rule == "no-unit-fits"]
