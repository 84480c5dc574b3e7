"""Stakes, strings and courses of a plan: found again from their figures; sheets; commands."""

from __future__ import annotations

import json
import math
import re
import sys
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
import shapely

from bedplan import load_layout, make_plan
from bedplan.cli import main
from bedplan.layout_file import parse_layout
from bedplan.model.ties import RingShape
from bedplan.outputs.scene import Shapes, Strokes, Text
from bedplan.outputs.scene_lettering import box
from bedplan.outputs.setout_record import setout_record
from bedplan.outputs.setout_sheet import setout_sheets
from bedplan.outputs.survey_sheet import BAR, survey_sheet
from bedplan.outputs.tables_setout import BOX, setout_tables
from bedplan.plan.setting_out import LONG_M, set_out_plan
from bedplan.survey import solve, string_line
from bedplan.survey.stakes import stake_ties

LAYOUTS = Path(__file__).parents[2] / "layouts"
NAMES = ["taped-plot", "five-sided-yard", "corner-plot", "tutorial"]


@cache
def plan_of(name):
    return make_plan(load_layout(LAYOUTS / f"{name}.toml"))


@cache
def out_of(name):
    return set_out_plan(plan_of(name))


@pytest.mark.parametrize("name", NAMES)
def test_figures_put_through_the_survey_give_every_stake_back(name):
    plan, out = plan_of(name), out_of(name)
    corners = [corner for corner, _ in plan.site.enclosure.corners]
    shape = RingShape("ccw" if plan.site.enclosure.sides[0].inward > 0 else "cw")
    assert out.stakes
    for stake in out.stakes:
        other = {stake.name: "anywhere"}
        found = solve(corners, out.marks, stake_ties(stake), others=other, shape=shape)
        # two figures rounded to half a mark each stray by that over the sine of the crossing
        allowed = stake.rounding_m + 1.7e-3
        assert math.dist(found.places[stake.name], stake.at) < allowed, stake.name
        assert not found.rivals, stake.name
        # along and in, taped figures, from the corners alone
        side = plan.site.enclosure.side(stake.beside.side)
        again = side.point(stake.beside.along.tape_m, stake.beside.in_tape_m)
        assert math.dist(again, stake.at) < 1.2e-3


@pytest.mark.parametrize("name", NAMES)
def test_every_corner_of_every_bed_and_every_stake_is_there_once(name):
    plan, out = plan_of(name), out_of(name)
    names = [stake.name for stake in out.stakes]
    assert len(names) == len(set(names))
    assert {s.label for edged in plan.edging for s in edged.stakes} <= set(names)
    spots = [*out.marks.values(), *(stake.at for stake in out.stakes)]
    for bed in plan.site.beds:
        if not bed.curved_m:
            for at in bed.outline.exterior.coords:
                assert min(math.dist(at, spot) for spot in spots) < 1e-3
    assert {each.bed for each in out.rounds} == {
        bed.spec.name for bed in plan.site.beds if bed.curved_m
    }


@pytest.mark.parametrize("name", NAMES)
def test_first_course_and_gauge_are_where_units_lie(name):
    plan, out = plan_of(name), out_of(name)
    at = {stake.name: stake.at for stake in out.stakes}
    laid = [laying for walk in plan.walks for laying in walk.layings]
    assert len(out.courses) == len(laid)
    for line, laying in zip(out.courses, laid, strict=True):
        start, end = at[line.start], at[line.end]
        outlines = list(laying.outlines())
        points = [shapely.Point(point) for point in (start, end)]
        assert all(min(each.exterior.distance(p) for each in outlines) < 1e-6 for p in points)
        # every unit's near edge is at one figure of the gauge, and every figure has a unit
        edge = shapely.LineString([start, end])
        turn = math.radians(line.direction_deg)
        assert math.atan2(end[1] - start[1], end[0] - start[0]) == pytest.approx(
            turn if turn <= math.pi else turn - 2 * math.pi, abs=1e-9
        )
        across = (-math.sin(turn), math.cos(turn))
        levels = [
            min((x - start[0]) * across[0] + (y - start[1]) * across[1] for x, y in ring)
            for ring in (each.exterior.coords for each in outlines)
        ]
        assert edge.length > 0
        assert all(min(abs(level - gauge) for gauge in line.gauge_m) < 1e-6 for level in levels)
        assert all(min(abs(level - gauge) for level in levels) < 1e-6 for gauge in line.gauge_m)
        assert list(line.gauge_m) == sorted(line.gauge_m)
        assert min(line.gauge_m) == 0.0


@pytest.mark.parametrize("name", NAMES)
def test_strings_run_over_the_long_edges_and_hit_the_fence(name):
    plan, out = plan_of(name), out_of(name)
    at = {**out.marks, **{stake.name: stake.at for stake in out.stakes}}
    assert len(out.strings) >= len(out.courses)
    for line in out.strings:
        first, second = line.name.split(" to ")
        start, end = at[first], at[second]
        if not first.startswith("w"):
            assert math.dist(start, end) >= LONG_M - 1e-9
        assert line == string_line(
            line.name, start, end, plan.site.enclosure.sides, plan.layout.show
        )
        assert line.rounding_m < 2e-3


STEPS = """
title = "Steps"
unit = "m"
[enclosure]
corners = { A = [0, 0], B = [6, 0], C = [6, 5], D = [0, 5] }
[[path]]
name = "steps"
centerline = [[1, 0.5], [5, 4]]
width = 0.6
pavers = "slab"
stride = 0.7
[paver.slab]
size = [0.4, 0.4]
thickness = 0.05
"""


def test_stepping_stones_are_staked_one_by_one():
    plan = make_plan(parse_layout(STEPS))
    out = set_out_plan(plan)
    (group,) = out.groups
    units = plan.walks[0].layings[0].units
    assert [stake.at for stake in group.stakes] == [unit[:2] for unit in units]
    assert [stake.name for stake in group.stakes][:2] == ["st1.1", "st1.2"]
    assert len(group.stakes) > 4
    assert out.courses == out.strings == out.frames == ()


def test_a_plan_with_nothing_to_set_out_says_so(run, tmp_path):
    bare = tmp_path / "bare.toml"
    bare.write_text(STEPS.split("[[path]]", maxsplit=1)[0], encoding="utf-8")
    code, out, _ = run("setout", bare, "--out", tmp_path / "bare.svg")
    assert code == 0
    assert "Steps has nothing to set out." in out
    assert (tmp_path / "bare.svg").exists()


@pytest.mark.parametrize("name", NAMES)
def test_every_row_of_the_tables_has_a_box(name):
    out = out_of(name)
    made = setout_tables(out, plan_of(name).layout.show)
    rows = [row for table in made for row in table.rows]
    assert all(row[0].startswith(BOX) for row in rows)
    named = {row[0].removeprefix(BOX).strip() for row in rows}
    assert {stake.name for stake in out.stakes} <= named
    text = " ".join(cell for row in rows for cell in row)
    for _, frame in out.frames:
        assert all(span.first in text for span in frame.sides)
        if frame.square:
            assert "both alike" in text


def inside_page(scene):
    page = shapely.box(0, 0, scene.width_mm, scene.height_mm).buffer(-5.0)
    return all(page.covers(box(text)) for text in scene.texts())


def words_over_words(scene):
    """Return every two lines of text of the drawing or the panel that cover each other."""
    boxes = [(text.text, box(text).buffer(-0.15)) for text in scene.texts()]
    return [
        (one, other)
        for (one, a), (other, b) in combinations(boxes, 2)
        if a.intersection(b).area > 0.05
    ]


@pytest.mark.parametrize("paper", ["letter", "a4", "tabloid"])
@pytest.mark.parametrize("name", NAMES)
def test_set_out_sheets_keep_to_the_page_and_no_words_meet(name, paper):
    plan, out = plan_of(name), out_of(name)
    sheets = setout_sheets(plan, out, paper)
    assert all(inside_page(scene) for scene in sheets)
    assert not [pair for scene in sheets for pair in words_over_words(scene)]
    first, *lists = sheets
    said = {label.words for label in first.labels}
    assert {stake.name for stake in out.stakes} <= said
    ticks = [
        polygon
        for scene in lists
        for mark in scene.on("panel")
        if isinstance(mark, Shapes)
        for polygon in mark.polygons
    ]
    rows = sum(len(table.rows) for table in setout_tables(out, plan.layout.show))
    assert len(ticks) == rows
    factor = first.width_mm / {"letter": 279.4, "a4": 297.0, "tabloid": 431.8 / 1.2}[paper]
    assert all(math.sqrt(tick.area) >= 4.0 * factor for tick in ticks)
    words = [text.text for scene in lists for text in scene.texts()]
    assert all(words.count(stake.name) >= 1 for stake in out.stakes)


def crooked(error_m=0.0):
    text = (LAYOUTS / "taped-plot.toml").read_text(encoding="utf-8")
    text = text.replace('"36 ft 10-1/2 in"', f"{36 * 12 + 10.5 + error_m / 0.0254}")
    return make_plan(parse_layout(text, folder=LAYOUTS))


@pytest.mark.parametrize("error_m", [0.0, 0.08, -0.5])
@pytest.mark.parametrize("paper", ["letter", "a3"])
def test_survey_sheet_keeps_to_the_page_and_marks_the_suspect(error_m, paper):
    plan = crooked(error_m)
    scene = survey_sheet(plan.layout, plan.site, plan.survey, paper)
    assert inside_page(scene)
    assert not words_over_words(scene)
    said = " ".join(label.words for label in scene.labels)
    assert all(check.tie.name in said for check in plan.survey.ties)
    assert ("SUSPECT" in said) == (error_m != 0.0)
    if error_m:
        assert re.search(r"AC \S+( \S+)? SUSPECT", said)


def test_bars_are_as_long_as_the_residuals_times_the_factor_stated():
    plan = crooked(0.08)
    scene = survey_sheet(plan.layout, plan.site, plan.survey)
    legend = " ".join(text.text for text in scene.on("panel lettering") if isinstance(text, Text))
    factor = float(re.search(r"residual, ([\d.]+) times", legend)[1])
    bars = [
        polygon
        for mark in scene.on("dimensions")
        if isinstance(mark, Shapes) and mark.pen == BAR
        for polygon in mark.polygons
        if len(polygon.exterior.coords) == 5
    ]
    per_m = 1000.0 / scene.denominator * factor
    wanted = sorted(abs(check.residual_m) * per_m for check in plan.survey.ties)
    # a bar's area over its width is its length; the least is drawn 0.25 mm
    lengths = sorted(bar.area / 1.3 for bar in bars)
    for length in wanted:
        if length > 0.3:
            assert min(abs(length - each) for each in lengths) < 1e-6
    assert max(wanted) <= 16.0


def test_every_tie_is_a_line_on_the_sheet():
    plan = crooked()
    scene = survey_sheet(plan.layout, plan.site, plan.survey)
    lines = [
        line
        for mark in scene.on("gates")
        if isinstance(mark, Strokes) and not mark.pen.dash_mm
        for line in mark.lines
    ]
    per_mm = scene.denominator / 1000.0
    lengths = sorted(math.dist(*line) * per_mm for line in lines)
    assert lengths == pytest.approx(sorted(check.computed_m for check in plan.survey.ties))


@pytest.fixture
def run(monkeypatch, capsys):
    def call(*words):
        monkeypatch.setattr(sys, "argv", ["bedplan", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        assert "This is a bug" not in printed.err
        return ended.value.code or 0, printed.out, printed.err

    return call


def test_survey_json_has_its_keys(run):
    code, out, _ = run("survey", LAYOUTS / "taped-plot.toml", "--json")
    data = json.loads(out)
    assert code == 0
    assert data.keys() == {"title", "corners", "survey"}
    assert {"ties", "unit_weight", "suspect", "closure", "rivals", "tape_next"} <= data[
        "survey"
    ].keys()
    code, out, _ = run("takeoff", LAYOUTS / "taped-plot.toml", "--json")
    assert json.loads(out)["survey"] == data["survey"]


def test_survey_of_given_corners_tells_their_angles_and_draws_nothing(run, tmp_path):
    code, out, _ = run("survey", LAYOUTS / "corner-plot.toml")
    assert code == 0
    assert "272.74°" in out
    assert "no ties to check" in out
    code, _, err = run("survey", LAYOUTS / "corner-plot.toml", "--out", tmp_path / "s.pdf")
    assert code == 2
    assert "no ties to draw" in err
    assert not list(tmp_path.iterdir())


def test_survey_ends_with_one_where_a_tie_is_suspect(run, tmp_path):
    text = (LAYOUTS / "taped-plot.toml").read_text(encoding="utf-8")
    bad = tmp_path / "bad.toml"
    bad.write_text(text.replace("36 ft 10-1/2 in", "36 ft 6-1/2 in"), encoding="utf-8")
    (tmp_path / "prices-yard.toml").write_bytes((LAYOUTS / "prices-yard.toml").read_bytes())
    drawing = tmp_path / "s.svg"
    code, out, err = run("survey", bad, "--out", drawing)
    assert code == 1
    assert "Suspect: AC reads 4" in out
    assert drawing.stat().st_size > 10_000
    assert str(drawing) in err
    assert run("check", bad)[0] == 1


@pytest.mark.parametrize("command", ["survey", "setout", "check"])
def test_ties_that_make_no_fence_are_bad_input_with_file_and_line(run, tmp_path, command):
    text = (LAYOUTS / "taped-plot.toml").read_text(encoding="utf-8")
    bad = tmp_path / "bad.toml"
    bad.write_text(text.replace('"36 ft 10-1/2 in"', '"60 ft"'), encoding="utf-8")
    (tmp_path / "prices-yard.toml").write_bytes((LAYOUTS / "prices-yard.toml").read_bytes())
    line = 1 + next(i for i, row in enumerate(text.splitlines()) if row.startswith("AC ="))
    code, out, err = run(command, bad)
    assert code == 2
    assert not out
    assert f"bad.toml:{line}: enclosure.ties.AC: AC is 60'" in err


def test_setout_json_gives_every_stake_in_metres(run):
    code, out, _ = run("setout", LAYOUTS / "taped-plot.toml", "--json")
    data = json.loads(out)
    assert code == 0
    assert data == json.loads(json.dumps(setout_record("Taped plot", out_of("taped-plot"))))
    for stake in data["stakes"]:
        for tie in stake["ties"]:
            assert math.dist(data["marks"][tie["mark"]], stake["at"]) == pytest.approx(
                tie["exact_m"]
            )
            assert abs(tie["tape_m"] - tie["exact_m"]) <= 0.0254 / 32 + 1e-9


def test_setout_draws_its_pages(run, tmp_path):
    code, out, err = run("setout", LAYOUTS / "tutorial.toml", "--out", tmp_path / "set.pdf")
    assert code == 0
    assert "CORNERS OF HERB BED" in out
    assert (tmp_path / "set.pdf").read_bytes().startswith(b"%PDF")
    assert "set.pdf" in err
