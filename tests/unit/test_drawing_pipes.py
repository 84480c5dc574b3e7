"""Buried pipes and stakes on the site plan."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
import shapely
from gardens import bed, garden, pine, rectangle

from bedplan.model.layout import Pipe, SidePoint
from bedplan.model.materials import Stake
from bedplan.outputs.scene import Shapes, Strokes
from bedplan.outputs.site_plan import site_plan
from bedplan.plan import make_plan

BORDER = bed("border", [(1, 1), (4, 1), (4, 2), (1, 2)])


def plan_with(*pipes, **changes):
    layout = garden(rectangle(8, 6), [BORDER], [], board=pine(**changes))
    stakes = {"peg": Stake("peg", 0.04, 0.45, 1.0)}
    return make_plan(replace(layout, pipes=tuple(pipes), stakes=stakes))


def test_a_pipe_is_drawn_where_it_runs_inside_the_fence_to_scale():
    pipe = Pipe("gas", (SidePoint("AB", 6.0), (6.0, 9.0)), 0.3)
    scene = site_plan(plan_with(pipe), "a4")
    (mark,) = [each for each in scene.on("pipes") if isinstance(each, Strokes)]
    (line,) = mark.lines
    drawn_m = shapely.LineString(line).length * scene.denominator / 1000.0
    assert drawn_m == pytest.approx(6.0, rel=1e-6)
    assert [label.words for label in scene.labels if label.subject == "pipe gas"] == ["gas"]


def test_names_of_pipes_cover_no_other_label():
    pipes = [Pipe(f"line {n}", ((0.5 + n, 0.0), (7.5, 5.0 - n / 2))) for n in range(4)]
    scene = site_plan(plan_with(*pipes), "a4")
    boxes = [label.box for label in scene.labels]
    assert sum(label.subject.startswith("pipe") for label in scene.labels) == 4
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
    page = shapely.box(0, 0, scene.width_mm, scene.height_mm)
    assert all(page.covers(box) for box in boxes)


def test_every_stake_is_drawn_and_explained():
    plan = plan_with(stake="peg")
    scene = site_plan(plan, "a4")
    squares = [
        mark
        for mark in scene.on("bed edge")
        if isinstance(mark, Shapes) and mark.fill == "#ffffff"
    ]
    assert len(squares[0].polygons) == len(plan.edging[0].stakes) > 4
    assert any("stake" in text.text for text in scene.texts())


def test_without_any_nothing_is_drawn_or_explained():
    scene = site_plan(plan_with(), "a4")
    assert not scene.on("pipes")
    assert not any("pipe" in text.text or "stake" in text.text for text in scene.texts())
