"""Heights from the layout file to tables, record, order and drawing."""

from __future__ import annotations

import dataclasses
import json
import math
import sys
from pathlib import Path

import pytest

from bedplan import load_layout, make_plan
from bedplan.cli import main
from bedplan.errors import LayoutError
from bedplan.layout_file import parse_layout
from bedplan.model.ground import SOILS, Fall
from bedplan.outputs.record import record
from bedplan.outputs.site_plan import site_plan
from bedplan.outputs.tables import tables

LAYOUTS = Path(__file__).parents[2] / "layouts"

YARD = """
title = "Slope"
unit = "m"
[enclosure]
corners = { A = [0, 0], B = [10, 0], C = [10, 8], D = [0, 8] }
%s
[[path]]
name = "walk"
polygon = [[1, 1], [9, 1], [9, 3], [1, 3]]
pavers = "slab"
layers = [{ material = "rock", depth = "12 cm" }, { material = "sand", depth = "3 cm" }]
%s
[paver.slab]
size = ["40 cm", "40 cm"]
thickness = "5 cm"
[material.rock]
compaction = 1.25
density = "1600 kg/m^3"
[material.sand]
"""
TIED = '{ at = { side = "CD", along = 10 }, height = 0.4 }'
SLOPE = f"[ground]\nspots = [[0, 0, 0.0], [10, 0, 0.0], [10, 8, 0.4], {TIED}]\n"
"""The plane z = y/20; the walk's ground lies at 0.05 to 0.15 m, 0.10 m in the mean."""


def plan_of(ground="", path="", more=""):
    return make_plan(parse_layout(YARD % (ground, path) + more))


def findings(plan):
    return {finding.rule: finding for finding in plan.findings}


def test_a_layout_without_ground_is_as_it_was():
    plan = plan_of()
    assert plan.works is None
    assert record(plan)["ground"] is None
    assert plan.fill[0].in_place_m3 == pytest.approx(16 * 0.12, rel=1e-12)
    titles = {table.title for table in tables(plan)}
    assert not titles & {"Digging", "Heights of paths", "Spoil", "Boards on the slope"}
    scene = site_plan(plan, "a4")
    assert not scene.on("heights")
    assert not [label for label in scene.labels if label.subject.startswith(("spot", "fall"))]


def test_level_ground_changes_no_figure_of_a_plan():
    bare, level = record(plan_of()), record(plan_of("[ground]"))
    assert {**level, "ground": None, "checks": bare["checks"]} == bare
    # 16 m2 dug 20 cm deep
    assert level["ground"]["cut_m3"] == pytest.approx(16 * 0.20, rel=1e-12)


def test_a_level_finish_that_balances():
    # finish 0.10, formation 0.10 - 0.20 = -0.10 level: cut = 16 (0.10 + 0.10) = 3.2
    (path,) = plan_of(SLOPE).works.paths
    assert path.finish.height_at((5, 2)) == pytest.approx(0.10, abs=1e-12)
    assert path.work.cut_m3 == pytest.approx(3.2, rel=1e-9)
    assert path.work.fill_m3 == 0.0
    assert path.work.greatest_cut_m == pytest.approx(0.25, rel=1e-9)


def test_a_finish_above_all_ground_and_one_of_a_height():
    (above,) = plan_of(SLOPE + 'level = "above"').works.paths
    assert above.finish.height_at((5, 2)) == pytest.approx(0.15, abs=1e-12)
    (given,) = plan_of(
        SLOPE + 'fall = { toward = "AB", slope = "2 %" }\nlevel = 0.2\nat = [5, 3]'
    ).works.paths
    assert given.finish.height_at((5, 3)) == pytest.approx(0.2, abs=1e-12)
    assert given.finish.height_at((5, 1)) == pytest.approx(0.16, abs=1e-12)
    # finish in the mean 0.18, formation 0.02 below the ground's mean: cut less fill is 16 x 0.12
    assert given.work.surplus_m3 == pytest.approx(16 * (0.10 - (0.18 - 0.20)), rel=1e-9)


def test_a_level_formation_under_a_fall_makes_the_base_thicker():
    # finish 0.08 to 0.12; formation 0.08 - 0.20 = -0.12; base 0.12 to 0.16, 0.14 in the mean
    plan = plan_of(SLOPE + 'fall = { toward = "AB", slope = "2 %" }', 'dug = "level"')
    (path,) = plan.works.paths
    assert path.work.cut_m3 == pytest.approx(16 * (0.10 + 0.12), rel=1e-9)
    assert path.base_least_m == pytest.approx(0.12, rel=1e-9)
    assert path.base_greatest_m == pytest.approx(0.16, rel=1e-9)
    base, sand = plan.fill[:2]
    assert base.in_place_m3 == pytest.approx(16 * 0.14, rel=1e-9)
    assert base.loose_m3 == pytest.approx(16 * 0.14 * 1.25, rel=1e-9)
    assert base.mass_kg == pytest.approx(16 * 0.14 * 1.25 * 1600, rel=1e-9)
    assert sand.in_place_m3 == pytest.approx(16 * 0.03, rel=1e-9)
    assert plan.totals[0].in_place_m3 == base.in_place_m3


def test_a_path_of_its_own_finish_keeps_what_it_does_not_say():
    ground = SLOPE + 'fall = { toward = "AB", slope = 0.03 }\nlevel = 0.5\nat = [1, 1]\n'
    spec = parse_layout(YARD % (ground, 'dug = "level"')).ground
    assert spec.paths["walk"] == dataclasses.replace(spec.grade, dug="level")
    spec = parse_layout(YARD % (ground, "level = 0.1")).ground
    assert spec.paths["walk"].at is None
    assert spec.paths["walk"].fall == Fall("AB", 0.03)


def test_spoil_swells_and_is_carted():
    # clay by the army's table: 1.43 loose for one in the bank; 3.2 dug
    spoil = plan_of(SLOPE + 'soil = "clay"').works.spoil
    assert spoil.cart_m3 == pytest.approx(3.2 * SOILS["clay"].loose, rel=1e-9)
    own = plan_of(SLOPE + 'soil = { swell = "30 %", shrink = 0.1 }').works.spoil
    assert own.cart_m3 == pytest.approx(3.2 * 1.3, rel=1e-9)


BED = """
[[bed]]
name = "bed"
rectangle = { center = [5, 6], size = [4, 2] }
edging = "oak"
mulch = { material = "sand", depth = "2 cm" }
%s
[board.oak]
thickness = "2 cm"
height = "20 cm"
kerf = "3 mm"
stock = [{ length = 5 }]
"""


def test_a_bed_takes_spoil_up_to_its_mulch():
    # ground under the bed 0.25 to 0.35; boards on the lowest ground: top 0.45, soil to 0.43
    plan = plan_of(SLOPE, more=BED % "")
    (bed,) = plan.works.beds
    inside = 3.96 * 1.96
    assert bed.top_m == pytest.approx(0.45, rel=1e-9)
    assert bed.room_m3 == pytest.approx(inside * (0.43 - 0.30), rel=1e-9)
    assert not bed.short_runs
    assert plan.works.spoil.taken[0].room_m3 == pytest.approx(bed.room_m3)
    assert plan.works.spoil.cart_m3 == pytest.approx(3.2 * 1.25 - bed.room_m3, rel=1e-9)


def test_a_second_board_is_told_where_the_ground_falls_away():
    # top 0.35 + 0.15; 20 cm of board reach ground at 0.30, half way down the runs along the slope
    plan = plan_of(SLOPE + "reveal = 0.15", more=BED % "")
    (bed,) = plan.works.beds
    needs = {(round(run.length_m, 6), tuple(span.tiers for span in run.spans)) for run in bed.runs}
    assert {n for n in needs if n[0] == 4.0} == {(4.0, (1,)), (4.0, (2,))}
    steps = [run.spans[0].end_m for run in bed.runs if len(run.spans) == 2]
    assert steps == pytest.approx([1.0, 1.0], abs=1e-6)
    told = findings(plan)["board-tiers"]
    assert "2 boards stacked" in told.figure
    assert "6 m" in told.figure or "6000 mm" in told.figure
    (table,) = (each for each in tables(plan) if each.title == "Boards on the slope")
    assert {row[5] for row in table.rows} == {"1", "2"}
    stacked = plan_of(SLOPE + "reveal = 0.15", more=BED % "tiers = 2")
    assert "board-tiers" not in findings(stacked)


@pytest.mark.parametrize(
    ("slope", "rule", "severity"),
    [
        ("1.9 %", "fall-least", "warning"),
        ("2 %", None, ""),
        ("1/4 in/ft", None, ""),
        ("3 %", "fall-most", "note"),
        ("5.1 %", "fall-most", "warning"),
    ],
)
def test_falls_against_the_published_limits(slope, rule, severity):
    # check values A17: 2 %; A30: 1/4 in per ft = 1:48 = 2.0833 %; S18: 1:20 = 5 %
    found = findings(plan_of(SLOPE + f'fall = {{ toward = "AB", slope = "{slope}" }}'))
    told = [each for each in ("fall-least", "fall-most") if each in found]
    assert told == ([rule] if rule else [])
    if rule:
        assert found[rule].severity == severity


@pytest.mark.parametrize(("side", "severity"), [("AB", "error"), ("CD", None), ("BC", None)])
def test_water_that_runs_to_a_building(side, severity):
    ground = SLOPE + f'fall = {{ toward = "AB", slope = "2 %" }}\nbuilding = ["{side}"]'
    found = findings(plan_of(ground)).get("fall-to-building")
    assert (found.severity if found else None) == severity


def test_unmeasured_ground_doubtful_spots_and_roots_are_told():
    few = "[ground]\nspots = [[4, 0, 0.0], [10, 0, 0.0], [10, 8, 0.0], [4, 8, 0.0]]"
    plan = plan_of(few)
    assert plan.works.paths[0].guessed_m2 == pytest.approx(6.0, rel=1e-6)
    assert "ground-guessed" in findings(plan)
    odd = SLOPE.replace(TIED, TIED + ", [5, 4, 9.2]")
    assert findings(plan_of(odd))["spot-doubtful"].where == "spot 5"
    tree = '\n[[plant]]\nname = "oak"\nat = [5, 3.5]\nspread = 2\n'
    assert findings(plan_of(SLOPE, more=tree))["root-cut"].where == "oak"
    assert "root-cut" not in findings(plan_of(SLOPE, more=tree.replace("3.5", "4.5")))


BAD = [
    ("[ground]\nspots = [[0, 0]]", "", "ground.spots[1]"),
    ("[ground]\nspots = [5]", "", "ground.spots[1]"),
    ("[ground]\nspots = [[30, 0, 0]]", "", "ground.spots[1]"),
    ("[ground]\nspots = [[0, 0, 0], [0, 0, 1]]", "", "ground.spots[2]"),
    (
        '[ground]\nspots = [{ at = { side = "AB", along = 11 }, height = 0 }]',
        "",
        "ground.spots[1]",
    ),
    (
        '[ground]\nspots = [{ at = { side = "QX", along = 1 }, height = 0 }]',
        "",
        "ground.spots[1].at.side",
    ),
    ('[ground]\nfall = { toward = "AX", slope = "2 %" }', "", "ground.fall.toward"),
    ('[ground]\nfall = { toward = "AB", slope = "60 %" }', "", "ground.fall.slope"),
    ('[ground]\nfall = { toward = "AB" }', "", "ground.fall.slope"),
    ('[ground]\nlevel = "balanced"', "", "ground.level"),
    ("[ground]\nat = [1, 1]", "", "ground.at"),
    ('[ground]\nlevel = 1\nat = { side = "AB", along = 99 }', "", "ground.at"),
    ('[ground]\ndug = "flat"', "", "ground.dug"),
    ('[ground]\nsoil = "mud"', "", "ground.soil"),
    ('[ground]\nsoil = { swell = "10 %" }', "", "ground.soil.shrink"),
    ('[ground]\nbuilding = ["AX"]', "", "ground.building[1]"),
    ("[ground]\nreveal = -1", "", "ground.reveal"),
    ("[ground]\ncolour = 1", "", "ground.colour"),
    ("", 'dug = "level"', "path[1].dug"),
    ("", 'fall = { toward = "AB", slope = "2 %" }', "path[1].fall"),
    ("[ground]", "at = [1, 1]", "path[1].at"),
    ("[ground]", 'fall = { toward = "QQ", slope = "2 %" }', "path[1].fall.toward"),
]


@pytest.mark.parametrize(("ground", "path", "where"), BAD)
def test_faults_of_heights_say_where_they_stand(ground, path, where):
    text = YARD % (ground, path)
    with pytest.raises(LayoutError) as caught:
        parse_layout(text)
    (fault,) = caught.value.faults
    assert f"{where}: " in str(fault)
    lines = text.splitlines()
    key = where.split(".")[1].split("[")[0]
    here = lines[fault.line - 1]
    # a key that is missing is told at the table it is missing from
    assert here.startswith(f"{key} =")


def test_all_faults_of_heights_come_at_once_with_those_of_others():
    text = YARD % ('[ground]\ndug = "flat"\nsoil = "mud"\nlevel = "balanced"', "widht = 3")
    with pytest.raises(LayoutError) as caught:
        parse_layout(text)
    assert len(caught.value.faults) == 4


def test_the_command_refuses_bad_heights_with_exit_two(tmp_path, monkeypatch, capsys):
    file = tmp_path / "bad.toml"
    file.write_text(YARD % ("[ground]\nspots = [[30, 0, 0]]", ""), encoding="utf-8")
    monkeypatch.setattr(sys, "argv", ["bedplan", "check", str(file)])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    assert "outside the fence" in capsys.readouterr().err


@pytest.fixture(scope="module")
def terrace():
    return make_plan(load_layout(LAYOUTS / "sloping-terrace.toml"))


def test_the_record_balances_and_is_plain_data(terrace):
    data = json.loads(json.dumps(record(terrace)["ground"]))
    assert len(data["spots"]) == 10
    assert sum(path["cut_m3"] for path in data["paths"]) == pytest.approx(data["cut_m3"])
    taken = sum(bed["loose_m3"] for bed in data["taken"])
    soil = terrace.layout.ground.soil
    assert data["loose_m3"] == pytest.approx((data["cut_m3"] - data["rolled_m3"]) * soil.loose)
    assert data["loose_m3"] == pytest.approx(taken + data["cart_m3"])
    for path in data["paths"]:
        assert path["base_m3"] == pytest.approx(sum(w["base_m3"] for w in path["walks"]))
        assert path["base_least_m"] <= path["base_greatest_m"]
        low, high = (f([c["finish_m"] for c in path["corners"]]) for f in (min, max))
        away = [math.dist(a["at"], b["at"]) for a in path["corners"] for b in path["corners"]]
        assert high - low <= path["slope"] * max(away) + 1e-9


def test_the_drawing_has_every_spot_and_every_fall(terrace):
    scene = site_plan(terrace, "letter")
    subjects = [label.subject for label in scene.labels]
    assert sorted(s for s in subjects if s.startswith("spot")) == sorted(
        f"spot {n}" for n in range(1, 11)
    )
    assert {s for s in subjects if s.startswith("fall")} == {"fall terrace", "fall walk"}
    words = {label.subject: label.words for label in scene.labels}
    assert words["spot 3"] == '-2"'
    assert words["fall walk"] == "4 %"
    halo, crosses = scene.on("heights")[:2]
    assert len(crosses.lines) == 20
    assert halo.lines == crosses.lines
    assert halo.pen.width_mm > crosses.pen.width_mm
    legend = " ".join(text.text for text in scene.texts())
    assert "spot height" in legend
    assert "fall of a walk" in legend


def test_an_arrow_points_the_way_water_runs():
    scene = site_plan(plan_of(SLOPE + 'fall = { toward = "AB", slope = "2 %" }'), "a4")
    arrows = [mark for mark in scene.on("heights") if len(mark.lines) == 3]
    (tail, tip), *_ = arrows[0].lines
    assert tip[1] < tail[1]
    assert tip[0] == pytest.approx(tail[0], abs=1e-6)
