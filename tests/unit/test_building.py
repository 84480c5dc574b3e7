"""The build order: what a layout has, what comes before what, the command, the pages."""

from __future__ import annotations

import json
import re
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from gardens import bed, garden, rectangle

from bedplan import load_layout, make_plan
from bedplan.cli import main
from bedplan.model.layout import (
    Gate,
    Layer,
    Outline,
    PathSpec,
    Paving,
    Plant,
)
from bedplan.model.materials import Fabric, Material, Paver, StockItem
from bedplan.outputs.scene import Shapes, Text
from bedplan.outputs.scene_lettering import box
from bedplan.outputs.tables_steps import steps_sheets, steps_text
from bedplan.plan.building import build_steps

LAYOUTS = Path(__file__).parents[2] / "layouts"
NAMES = ["five-sided-yard", "corner-plot", "sloping-terrace"]
ROCK = Material("rock", compaction=1.25, lift_m=0.075)
SAND = Material("sand", compaction=1.1)
BARK = Material("bark")
SLAB = Paver("slab", 0.4, 0.4, 0.05)
FELT = Fabric("felt", 1.0, 0.2, rolls=(StockItem(50.0, 1.0),))


@cache
def plan_of(name):
    return make_plan(load_layout(LAYOUTS / f"{name}.toml"))


@cache
def steps_of(name):
    return build_steps(plan_of(name))


def strip(name, x0, x1, **more):
    """Return a path from front to back of a 6 m by 4 m garden."""
    return PathSpec(name, Outline(((x0, 0.0), (x1, 0.0), (x1, 4.0), (x0, 4.0))), **more)


def small(paths=(), beds=(), **more):
    goods = {
        "materials": {each.name: each for each in (ROCK, SAND, BARK)},
        "pavers": {"slab": SLAB},
        "fabrics": {"felt": FELT},
    }
    return make_plan(garden(rectangle(6, 4), beds, paths, **goods | more))


def keys(plan):
    return [step.key for step in build_steps(plan)]


def by_key(plan):
    return {step.key: step for step in build_steps(plan)}


PAVED = {
    "paving": Paving("slab", joint_m=(0.003, 0.01)),
    "layers": (Layer("rock", 0.2), Layer("sand", 0.03)),
    "joint_fill": "sand",
}


def test_bare_ground_has_one_step():
    assert keys(small()) == ["fence"]


def test_steps_stand_only_where_the_layout_has_them():
    mulched = bed("plot", [(1, 1), (3, 1), (3, 2), (1, 2)], mulch=Layer("bark", 0.07))
    assert keys(small(beds=[mulched])) == [
        "fence", "locate", "mark", "saw", "boards:plot", "deliver", "mulch:plot",
    ]  # fmt: skip
    plain = replace(mulched, edging=None, mulch=None)
    assert keys(small(beds=[plain])) == ["fence", "mark"]
    new = Plant("rose", (2.0, 1.5), existing=False)
    assert keys(small(beds=[plain], plants=(new,))) == ["fence", "locate", "mark", "plants:plot"]
    assert "plants:plot" not in keys(small(beds=[plain], plants=(replace(new, existing=True),)))


def test_a_walk_goes_from_the_dig_to_the_joints():
    walk = strip("walk", 2.0, 4.0, barrier="felt", **PAVED)
    assert keys(small([walk])) == [
        "fence", "locate", "mark", "dig:walk", "deliver", "barrier:felt",
        "base:walk:1.1", "base:walk:1.2", "base:walk:1.3",
        "bedding:walk", "units:walk", "joints:walk",
    ]  # fmt: skip
    without = keys(small([replace(walk, barrier=None, joint_fill=None)]))
    assert not [key for key in without if key.startswith(("barrier", "joints"))]
    loose = keys(small([replace(walk, paving=None, joint_fill=None)]))
    assert loose[-2:] == ["base:walk:1.3", "base:walk:2.1"]


def test_figures_of_a_walk_are_those_of_its_layers():
    steps = by_key(small([strip("walk", 2.0, 4.0, **PAVED)]))
    dug = steps["dig:walk"]
    # 2 m x 4 m of ground; 200 + 30 mm of layers and units of 50 mm
    assert dug.quantities[0].amount == pytest.approx(8.0 * 0.28)
    assert dug.checks[0].figure == pytest.approx(0.28)
    lift = steps["base:walk:1.2"]
    loose, placed = (each.amount for each in lift.quantities)
    assert placed == pytest.approx(8.0 * 0.2 / 3)
    assert loose == pytest.approx(1.25 * placed)
    spread, so_far = lift.checks
    assert spread.figure == pytest.approx(1.25 * 0.2 / 3)
    assert so_far.figure == pytest.approx(2 * 0.2 / 3)
    last = steps["base:walk:1.3"].checks[-1]
    # published: 3/4 in thicker, 1/2 in thinner
    assert (last.figure, last.least, last.most) == pytest.approx((0.2, 0.1873, 0.21905))
    units = steps["units:walk"]
    joints = next(each for each in units.checks if each.what == "joints")
    assert (joints.least, joints.most) == (0.003, 0.01)
    # nine slabs of 40 cm with their joints lie along 4 m, or four across 2 m
    counts = [each.figure for each in units.checks if each.kind == "count"]
    assert counts in ([9], [4])
    assert units.quantities[0].amount == 36


def test_a_base_that_makes_up_a_fall_is_checked_by_the_place():
    plan = plan_of("sloping-terrace")
    steps = {step.key: step for step in steps_of("sloping-terrace")}
    ground = next(path for path in plan.works.paths if path.path == "terrace")
    extremes = (ground.base_least_m, ground.base_greatest_m)
    spread, so_far = steps["base:terrace:1.1"].checks
    assert (so_far.least, so_far.most) == pytest.approx([each / 2 for each in extremes])
    assert (spread.least, spread.most) == pytest.approx([1.25 * each / 2 for each in extremes])
    last = steps["base:terrace:1.2"].checks[-1]
    assert (last.figure, last.least, last.most) == (None, *extremes)
    # the walk's base is even: 4 in, and units of 1-3/4 in on 1 in of sand over it
    formation = steps["dig:walk"].checks[0]
    assert formation.figure == pytest.approx(6.75 * 0.0254, abs=1e-6)
    assert steps["dig:terrace"].checks[0].least == pytest.approx(6.75 * 0.0254, abs=1e-6)


def test_takes_tells_loose_and_in_brackets_in_place():
    plan = small([strip("walk", 2.0, 4.0, layers=(Layer("rock", 0.06),))], show="metric")
    said = steps_text(plan, build_steps(plan))
    assert "takes: 0.60 m^3 of rock (0.48 m^3 in place)" in said


def test_what_lies_there_is_not_dug():
    layers = (Layer("rock", 0.1, there_m=0.06),)
    steps = by_key(small([strip("walk", 2.0, 4.0, layers=layers)]))
    assert steps["dig:walk"].quantities[0].amount == pytest.approx(8.0 * 0.04)
    assert steps["base:walk:1.1"].checks[-1].figure == pytest.approx(0.1)


def gated(along_m):
    return (Gate("gate", "AB", along_m, 1.0, hinge="A", opens="out"),)


@pytest.mark.parametrize(("along_m", "order"), [(0.5, "cba"), (4.5, "abc"), (2.5, None)])
def test_the_farthest_walk_is_finished_first(along_m, order):
    paths = [strip("a", 0.0, 2.0, **PAVED), strip("b", 2.0, 4.0, **PAVED),
             strip("c", 4.0, 6.0, **PAVED)]  # fmt: skip
    steps = build_steps(small(paths, gates=gated(along_m)))
    for what in ("dig", "base", "bedding", "units", "joints"):
        found = list(dict.fromkeys(s.where for s in steps if s.key.startswith(f"{what}:")))
        assert found[-1] == (order[-1] if order else "b")
        assert order is None or found == list(order)
    done = {step.key: step.before for step in steps}
    if order:  # a nearer walk is not begun until the farther one is finished
        assert f"joints:{order[0]}" in done[f"bedding:{order[1]}"]


def test_of_two_gates_the_wider_is_wheeled_through():
    gates = (*gated(0.2), Gate("wide", "AB", 4.5, 1.2, hinge="A", opens="out"))
    paths = [strip("a", 0.0, 3.0, **PAVED), strip("b", 3.0, 6.0, **PAVED)]
    steps = build_steps(small(paths, gates=gates))
    assert next(step.where for step in steps if step.key == "deliver") == "wide"
    assert [step.where for step in steps if step.key.startswith("units")] == ["a", "b"]


def test_names_that_begin_alike_are_not_mixed_up():
    loose = strip("a1", 3.0, 6.0, layers=(Layer("rock", 0.06),))
    plan = small([strip("a", 0.0, 3.0, **PAVED), loose])
    assert len(by_key(plan)) == len(build_steps(plan))
    assert by_key(plan)["bedding:a"].before == ("base:a:1.3",)


def test_a_bed_and_a_path_of_one_name_keep_their_own_fill():
    fill = {"mulch": Layer("bark", 0.07), "layers": (Layer("sand", 0.1),)}
    plot = bed("same", [(0, 1), (1, 1), (1, 2), (0, 2)], edging=None, **fill)
    path = strip("same", 2.0, 4.0, layers=(Layer("rock", 0.06),))
    steps = by_key(small([path], [plot]))
    assert steps["mulch:same"].quantities[0].amount == pytest.approx(0.07)
    assert steps["base:same:1.1"].quantities[1].amount == pytest.approx(8.0 * 0.06)
    assert [key for key in steps if key.endswith("same") or ":same:" in key] == [
        "dig:same", "soil:same", "base:same:1.1", "mulch:same",
    ]  # fmt: skip
    assert len(steps["soil:same"].checks) == 1


def test_bedding_too_thick_for_one_lift_is_laid_in_lifts():
    thick = (Layer("rock", 0.1), Layer("sand", 0.12))
    found = keys(small([strip("walk", 2.0, 4.0, **PAVED | {"layers": thick})]))
    assert found[-4:] == ["base:walk:2.1", "base:walk:2.2", "units:walk", "joints:walk"]


def test_digging_among_roots_says_so():
    tree = Plant("pear", (1.2, 2.0), stem_m=0.2)  # roots to 12 stems: 2.4 m, and 0.8 m away
    far = replace(tree, stem_m=0.05)
    walk = strip("walk", 2.0, 4.0, layers=(Layer("rock", 0.1),))
    near = by_key(small([walk], plants=(tree,)))["dig:walk"]
    assert near.title == "Dig, by hand near pear"
    assert "roots" in near.cautions
    assert by_key(small([walk], plants=(far,)))["dig:walk"].title == "Dig"
    plot = bed("plot", [(0.5, 1), (1.8, 1), (1.8, 3), (0.5, 3)])
    for existing, title in ((True, "Dig, by hand near pear"), (False, "Dig")):
        plants = (replace(tree, existing=existing),)
        assert by_key(small([walk], [plot], plants=plants))["dig:walk"].title == title


def test_mulch_stays_off_the_stems_in_its_bed():
    plant = Plant("pear", (2.0, 1.5), stem_m=0.1, keep_clear_m=0.15)
    plot = bed("plot", [(1, 1), (3, 1), (3, 2), (1, 2)], mulch=Layer("bark", 0.07))
    other = bed("other", [(4, 1), (5, 1), (5, 2), (4, 2)], mulch=Layer("bark", 0.07))
    steps = by_key(small(beds=[plot, other], plants=(plant,)))
    ring = steps["mulch:plot"].checks[-1]
    assert ring.least == pytest.approx(0.2)
    assert "pear" in ring.what
    assert len(steps["mulch:other"].checks) == 1


def run(monkeypatch, capsys, *args):
    monkeypatch.setattr(sys, "argv", ["bedplan", "steps", *map(str, args)])
    with pytest.raises(SystemExit) as ended:
        main()
    printed = capsys.readouterr()
    assert not ended.value.code, printed.err
    return printed.out


def test_the_screen_numbers_every_step_in_lines_of_100(monkeypatch, capsys):
    said = run(monkeypatch, capsys, LAYOUTS / "sloping-terrace.toml")
    numbers = [int(each) for each in re.findall(r"^ *(\d+)\. ", said, re.MULTILINE)]
    assert numbers == list(range(1, len(steps_of("sloping-terrace")) + 1))
    assert max(map(len, said.splitlines())) <= 100
    assert "codes: Local codes, permits and licensed professionals come before" in said
    assert "811" in said
    metric = run(monkeypatch, capsys, LAYOUTS / "sloping-terrace.toml", "--show", "metric")
    takes = [line for line in metric.splitlines() if line.startswith("     takes")]
    assert takes
    assert not re.search(r"""\d['"]|yd""", "\n".join(takes))


def test_after_names_earlier_steps_by_number():
    said = steps_text(plan_of("corner-plot"), steps_of("corner-plot"))
    blocks = re.split(r"^ *(\d+)\. ", said, flags=re.MULTILINE)[1:]
    for number, block in zip(blocks[::2], blocks[1::2], strict=True):
        after = re.search(r"^     after: ([\d, ]+)$", block, re.MULTILINE)
        named = [int(each) for each in after[1].split(", ")] if after else []
        assert all(each < int(number) for each in named)
        assert bool(named) == (number != "1")


def test_json_is_the_steps_in_si(monkeypatch, capsys):
    data = json.loads(run(monkeypatch, capsys, LAYOUTS / "corner-plot.toml", "--json"))
    steps = steps_of("corner-plot")
    assert [each["key"] for each in data["steps"]] == [step.key for step in steps]
    units = next(each for each in data["steps"] if each["key"] == "units:paved walk")
    assert units["quantities"] == [{"name": "block units", "amount": 480, "kind": "count"}]


@pytest.mark.parametrize("name", NAMES)
def test_pages_have_a_box_for_every_step_check_and_tool(name):
    plan, steps = plan_of(name), steps_of(name)
    pages = steps_sheets(plan, steps, "letter")
    boxes = [
        mark
        for page in pages
        for mark in page.marks
        if isinstance(mark, Shapes) and mark.layer == "panel"
    ]
    tools = {tool for step in steps for tool in step.tools}
    assert len(boxes) == len(steps) + sum(len(step.checks) for step in steps) + len(tools)
    for page in pages:
        (frame,) = (m for m in page.marks if isinstance(m, Shapes) and m.layer == "border")
        for mark in page.marks:
            if isinstance(mark, Text):
                assert frame.polygons[0].covers(box(mark)), mark.text


def test_pages_are_drawn(monkeypatch, capsys, tmp_path):
    out = tmp_path / "steps.pdf"
    run(monkeypatch, capsys, LAYOUTS / "corner-plot.toml", "--out", out)
    assert out.read_bytes().startswith(b"%PDF")
