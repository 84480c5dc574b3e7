"""Openings in the weed barrier: which plants, through which strips, cut or ring."""

from __future__ import annotations

import json

import pytest

from bedplan.cli import main
from bedplan.layout_file import parse_layout
from bedplan.outputs.barrier_record import barrier_record
from bedplan.outputs.barrier_sheet import barrier_sheets
from bedplan.outputs.tables_barrier import openings_table, strips_table
from bedplan.plan import make_plan
from bedplan.plan.openings import barrier_openings

YARD = """\
title = "Y"
unit = "ft"
[enclosure]
corners = { A = [0, 0], B = [30, 0], C = [30, 10], D = [0, 10] }
[[path]]
name = "walk"
polygon = [[1, 1], [29, 1], [29, 6], [1, 6]]
barrier = "woven"
[[bed]]
name = "far"
polygon = [[1, 7], [9, 7], [9, 9], [1, 9]]
[[plant]]
name = "rose"
at = [5, 2]
stem = "2 in"
[[plant]]
name = "pear"
at = [15, 3.5]
stem = "2.1 in"
keep_clear = "6 in"
[[plant]]
name = "elsewhere"
at = [5, 8]
[fabric.woven]
width = "3 ft"
lap = "1 ft"
rolls = [{ length = "20 ft" }]
"""


@pytest.fixture(scope="module")
def plan():
    return make_plan(parse_layout(YARD))


def test_openings_are_cut_or_ringed_by_the_stem(plan):
    found = {each.plant: each for each in barrier_openings(plan, plan.barriers[0])}
    assert set(found) == {"rose", "pear"}
    assert (found["rose"].kind, found["pear"].kind) == ("cross cut", "ring")
    # 2 in of stem and an inch on every side; 2.1 in and six inches on every side
    assert found["rose"].width_m == pytest.approx(4 * 0.0254)
    assert found["pear"].width_m == pytest.approx(14.1 * 0.0254)


def test_a_plant_in_a_lap_opens_both_strips(plan):
    # 3 ft rolls lapping 1 ft over 5 ft: two strips that share the middle foot, 3 to 4 ft up
    assert len(plan.barriers[0].layings[0].strips) == 2
    found = {each.plant: each.strips for each in barrier_openings(plan, plan.barriers[0])}
    assert sorted(found["pear"]) == [1, 2]
    assert len(found["rose"]) == 1


def test_plants_set_out_at_a_spacing_open_the_fabric_of_their_bed():
    text = YARD.replace('name = "far"\n', 'name = "far"\nbarrier = "woven"\n') + (
        '[[planting]]\nbed = "far"\nkind = "thyme"\nspacing = 1\npattern = "square"\n'
    )
    plan = make_plan(parse_layout(text))
    thyme = [each for each in barrier_openings(plan, plan.barriers[0]) if each.plant == "thyme"]
    assert len(thyme) == plan.planted[0].count == 16
    assert {each.kind for each in thyme} == {"cross cut"}


def test_strips_and_openings_are_told(plan):
    part = plan.barriers[0]
    strips = strips_table(plan, part)
    # 28 ft from rolls of 20 ft with an end lap of 1 ft: 20 and 9
    assert [row[5:] for row in strips.rows] == [("20' + 9'", "1")] * 2
    rows = {row[1]: row for row in openings_table(plan, part).rows}
    assert rows["pear"][2:] == ("ring", "1' 2-1/8\"", "1 and 2", "1")


def test_the_record_holds_them_as_plain_data(plan):
    data = json.loads(json.dumps(barrier_record(plan, plan.barriers[0])))
    assert [strip["end_laps"] for strip in data["strips"]] == [1, 1]
    assert sorted(each["kind"] for each in data["openings"]) == ["cross cut", "ring"]
    lengths = [strip["length_m"] + strip["end_laps"] * data["lap_m"] for strip in data["strips"]]
    assert sum(lengths) == pytest.approx(sum(data["strips_m"]))


# ---- the sheet and the command --------------------------------------------------------------


def test_the_sheet_shows_every_strip_by_its_number(plan):
    (scene,) = barrier_sheets(plan)
    subjects = [label.subject for label in scene.labels]
    numbered = sorted(name for name in subjects if name.startswith("strip "))
    assert numbered == ["strip 1", "strip 2"]
    strips = next(mark for mark in scene.marks if getattr(mark, "layer", "") == "path")
    laps = next(mark for mark in scene.marks if getattr(mark, "layer", "") == "path texture")
    # to scale: the walk is 28 × 5 ft, and what both strips cover is the lap
    to_m2 = (scene.denominator / 1000.0) ** 2
    covered = sum(shape.area for shape in strips.polygons) * to_m2
    lapped = sum(shape.area for shape in laps.polygons) * to_m2
    assert covered - lapped == pytest.approx(28 * 5 * 0.3048**2, rel=1e-6)
    holes = next(mark for mark in scene.marks if getattr(mark, "layer", "") == "plants")
    assert len(holes.polygons) == 2


def test_the_command_tells_draws_and_refuses(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "y.toml").write_text(YARD, "utf-8")
    (tmp_path / "bare.toml").write_text(YARD.replace('barrier = "woven"', ""), "utf-8")

    def run(*args):
        monkeypatch.setattr("sys.argv", ["bedplan", "strips", *args])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return ended.value.code or 0, told.out, told.err

    code, told, _ = run("y.toml", "-o", "s.svg")
    assert (code, (tmp_path / "s.svg").read_bytes()[:5]) == (0, b"<?xml")
    assert "STRIPS IN LAYING ORDER" in told
    assert "OPENINGS FOR PLANTS" in told
    assert [each["fabric"] for each in json.loads(run("y.toml", "--json")[1])] == ["woven"]
    code, _, wrong = run("bare.toml", "-o", "n.svg")
    assert code == 2
    assert "no weed barrier; nothing was drawn" in wrong
    assert not (tmp_path / "n.svg").exists()
