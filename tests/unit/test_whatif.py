"""Variants side by side: which there are, what each takes, how they are told and drawn."""

from __future__ import annotations

import json
import os
import signal
import sys
from itertools import combinations, pairwise
from pathlib import Path

import pytest

from bedplan.cli import main
from bedplan.errors import LayoutError
from bedplan.layout_file import parse_layout
from bedplan.layout_file.patch import with_value_at
from bedplan.layout_file.setting_values import read_values, size_in
from bedplan.layout_file.settings import read_setting, variant
from bedplan.layout_file.source import parse_source
from bedplan.outputs.scene import Dots, Shapes, Strokes, Text
from bedplan.outputs.tables_whatif import whatif_table
from bedplan.outputs.whatif_axes import round_step
from bedplan.outputs.whatif_chart import whatif_charts
from bedplan.plan.walk import FreeSearch
from bedplan.plan.whatif import Comparison, quantities, tried, unlike_file, ways

# a bed of 2 m by 1.5 m with no boards, and a walk of 2 m by 0.9 m
YARD = """\
title = "Yard"  # kept
unit = "m"
show = "imperial"
[enclosure]
corners = { A = [0, 0], B = [4, 0], C = [4, 3], D = [0, 3] }
[[bed]]
name = "herb bed"
polygon = [[0, 0], [2, 0], [2, 1.5], [0, 1.5]]
mulch = { material = "bark", depth = "2 in" } # shallow
[[path]]
name = "walk"
polygon = [[0, 2], [2, 2], [2, 2.9], [0, 2.9]]
pavers = "slab"
[paver.slab]
size = ["40 cm", "40 cm"]
thickness = "5 cm"
price = 4
[paver.brick]
size = ["20 cm", "10 cm"]
thickness = "5 cm"
[material.bark]
bags = [{ volume = "50 L", price = 5 }]
"""
DEPTH = "bed.herb bed.mulch.depth = 2 in .. 4 in by 1/2 in"
UNIT = "path.walk.pavers = slab, brick"
DATA = parse_source(YARD.encode(), "yard.toml").data


def compared(*words, combined=False, text=YARD):
    """Return variants worked out without the command line."""
    asked = [read_setting(each, parse_source(text.encode(), "yard.toml").data) for each in words]
    varied = tuple(each.varied for each in asked)

    def layout(way):
        changes = [(a, n) for a, n in zip(asked, way, strict=True) if n is not None]
        return parse_layout(variant(text.encode(), changes).decode())

    wanted = unlike_file(ways([len(each.values) for each in asked], combined=combined), varied)
    trials = tuple(tried(way, lambda way=way: layout(way), FreeSearch(0.1)) for way in wanted)
    return Comparison("Yard", "imperial", varied, trials, len(wanted) - 1, combined)


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Return a function that runs whatif on the yard and gives exit code, output, messages."""
    (tmp_path / "yard.toml").write_text(YARD, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")

    def _run(*args):
        monkeypatch.setattr(sys, "argv", ["bedplan", "whatif", "yard.toml", *map(str, args)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "bug in bedplan" not in told.err
        assert Path("yard.toml").read_text(encoding="utf-8") == YARD
        return ended.value.code or 0, told.out, told.err

    return _run


# ---- settings as they are read ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("2 in .. 4 in by 1/2 in", ("2 in", "2-1/2 in", "3 in", "3-1/2 in", "4 in")),
        ("2 .. 4 in by 1 in", ("2 in", "3 in", "4 in")),
        ("4 in..2 in by 1 in", ("4 in", "3 in", "2 in")),
        ("2 ft 6 in .. 3 ft by 3 in", ("30 in", "33 in", "36 in")),
        ("2' .. 3' by 6\"", ("24 in", "30 in", "36 in")),
        ("5 cm .. 0.1 m by 2.5 cm", ("5 cm", "7.5 cm", "10 cm")),
        ("0 .. 1 by 0.1", tuple(n / 10 if n % 10 else n // 10 for n in range(11))),
        ("1 in .. 2 in by 3/8 in", ("1 in", "1-3/8 in", "1-3/4 in")),
        ("slab, brick", ("slab", "brick")),
        ("\"a, b\", '30', 30, 2.5, true", ("a, b", "30", 30, 2.5, True)),
        ("2 ft 6 in, 3'", ("2 ft 6 in", "3'")),
    ],
)
def test_ranges_and_lists_give_their_values_exactly(words, values):
    assert read_values(words, "key")[0] == values


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("2 in .. 4 in", "no step"),
        ("2 in .. 4 in by 0 in", "a step of nothing"),
        ("2 in .. 4 in by -1 in", "a step of nothing"),
        ("two .. 4 in by 1 in", "no number"),
        ("2 in .. 4 lb by 1 in", "not to be had in in"),
        ("2 in .. 4 in by 1/100 in", "201 values"),
        ("1/0 in .. 4 in by 1 in", "no number"),
        ("slab,, brick", "a value left empty"),
        ("", "a value left empty"),
    ],
)
def test_what_cannot_be_read_is_told_with_a_remedy(words, says):
    with pytest.raises(LayoutError) as caught:
        read_values(words, "depth")
    (fault,) = caught.value.faults
    assert says in fault.got
    assert fault.remedy


@pytest.mark.parametrize(
    ("key", "path", "now"),
    [
        ("bed.herb bed.mulch.depth", ("bed", 0, "mulch", "depth"), "2 in"),
        ('bed."herb bed".mulch.depth', ("bed", 0, "mulch", "depth"), "2 in"),
        ("bed[1].mulch.depth", ("bed", 0, "mulch", "depth"), "2 in"),
        ("paver.slab.size[2]", ("paver", "slab", "size", 1), "40 cm"),
        ("path.walk.bond", ("path", 0, "bond"), ""),
        ("enclosure.corners.B[1]", ("enclosure", "corners", "B", 0), "4"),
    ],
)
def test_a_key_path_goes_by_names_and_numbers(key, path, now):
    made = read_setting(f"{key} = 1, 2", DATA)
    assert (made.path, made.varied.now) == (path, now)


def test_a_name_with_points_and_an_equals_sign_stands_in_quotes():
    made = read_setting('bed."no. 2 = new".width = 1', {"bed": [{"name": "no. 2 = new"}]})
    assert made.path == ("bed", 0, "width")


def test_bare_numbers_of_a_length_are_in_the_unit_of_the_file():
    assert size_in("50 cm", "m", "m") == pytest.approx(0.5)
    assert size_in(0.5, "in", "m") == pytest.approx(0.5 / 0.0254)
    text = YARD.replace('depth = "2 in"', 'depth = "5 cm"')
    made = read_setting("bed[1].mulch.depth = 0.05, 0.1", parse_source(text.encode(), "y").data)
    assert (made.varied.unit, made.varied.now_size) == ("m", pytest.approx(0.05))
    assert made.varied.is_now(0)
    assert not made.varied.is_now(1)


def test_a_variant_changes_its_values_and_no_other_byte():
    text = YARD.replace("\n", "\r\n").encode()
    made = variant(text, [(read_setting(DEPTH, DATA), 1), (read_setting(UNIT, DATA), 1)])
    wanted = text.replace(b'"2 in"', b'"2-1/2 in"').replace(
        b'pavers = "slab"', b'pavers = "brick"'
    )
    assert made == wanted


def test_a_byte_order_mark_stays():
    assert with_value_at(b"\xef\xbb\xbfa = [1, 2]\n", ("a", 1), 3) == b"\xef\xbb\xbfa = [1, 3]\n"
    with pytest.raises(LayoutError):
        with_value_at(b"a = 1\n", ("b",), 3)


# ---- what the variants come to ---------------------------------------------------------------


def test_mulch_at_each_depth_is_area_times_depth():
    # 3 m^2 of bed; the file's own 2 in is told once, first
    made = compared(DEPTH)
    inches = (2, 2.5, 3, 3.5, 4)
    bark = next(each for each in quantities(made.trials) if each.name == "bark, loose")
    assert bark.values == pytest.approx([3 * 0.0254 * depth for depth in inches])
    # bags of 50 L at 5: 152.4 L take 4, 190.5 L 4, 228.6 L 5, 266.7 L 6, 304.8 L 7
    slabs = 10 * 4
    costs = [trial.figures.cost for trial in made.trials]
    assert costs == [slabs + 5 * bags for bags in (4, 4, 5, 6, 7)]


def test_units_of_each_kind_and_what_has_no_price():
    # 2 m by 0.9 m: 5 by 2 slabs of 40 cm, or 10 by 9 bricks of 20 by 10 cm
    made = compared(UNIT)
    assert [trial.figures.units for trial in made.trials] == [10, 90]
    table = whatif_table(made)
    assert [column.heading for column in table.columns] == [
        "walk\npavers",
        "units\nlaid",
        "total\ncost",
        "remark",
    ]
    assert [row[:2] for row in table.rows] == [("slab *", "10"), ("brick", "90")]
    assert table.rows[1][-1] == "no price 1"
    assert "no price 1: brick" in table.note
    assert "The same in all: boards bought 0; bark, loose 0.20 yd^3; to settle 0." in table.note


def test_a_variant_that_does_not_work_is_a_row_with_its_first_fault():
    made = compared("bed.herb bed.mulch.depth = 3 in, 0 in, deep, 4 in")
    assert [trial.figures is None for trial in made.trials] == [False, False, True, True, False]
    assert "bed[1].mulch.depth" in made.trials[2].fault
    table = whatif_table(made)
    assert [row[-1] for row in table.rows] == ["", "", "fault 1", "fault 2", ""]
    assert table.rows[3][1:-1] == ("–", "–")
    assert 'fault 2: bed[1].mulch.depth: "deep"; wanted a length' in table.note


def test_settings_vary_one_after_another_or_in_every_combination():
    depth, unit = "bed[1].mulch.depth = 2 in, 3 in, 4 in", "path[1].pavers = slab, brick"
    apart = compared(depth, unit)
    assert [trial.way for trial in apart.trials] == [(None, None), (1, None), (2, None), (None, 1)]
    both = compared(depth, unit, combined=True)
    units = [trial.figures.units for trial in both.trials]
    assert [trial.way for trial in both.trials] == [
        (None, None),
        (0, 1),
        (1, 0),
        (1, 1),
        (2, 0),
        (2, 1),
    ]
    assert units == [10, 90, 10, 90, 10, 90]


# ---- the chart -------------------------------------------------------------------------------


def dots(scene):
    return [dot for mark in scene.marks if isinstance(mark, Dots) for dot in mark.points]


def test_points_of_a_chart_stand_at_scale():
    made = compared("bed[1].mulch.depth = 2-1/2 in, 3 in, 4 in")
    (scene,) = whatif_charts(made)
    upper, lower = dots(scene)[:4], dots(scene)[4:]
    for points in (upper, lower):
        x = [point[0] for point in points]
        steps = [right - left for left, right in pairwise(x)]
        assert steps[0] == pytest.approx(steps[1])
        assert steps[2] == pytest.approx(2 * steps[1])
    y = [point[1] for point in lower]
    assert (y[3] - y[0]) / (y[1] - y[0]) == pytest.approx((4 - 2) / 0.5)
    costs = [trial.figures.cost for trial in made.trials]
    tall = [point[1] for point in upper]
    assert (tall[2] - tall[0]) / (tall[3] - tall[0]) == pytest.approx(
        (costs[2] - costs[0]) / (costs[3] - costs[0])
    )
    # the figures beside stand on the same scale: two ticks give any cost
    ticks = {
        float(mark.text): mark.at[1] + 1.0
        for mark in scene.texts()
        if mark.anchor == "right" and mark.at[1] > max(y) + 6.0
    }
    (low, at_low), (high, at_high) = sorted(ticks.items())[:: len(ticks) - 1]
    read = [low + (at - at_low) / (at_high - at_low) * (high - low) for at in tall]
    assert read == pytest.approx(costs)


def test_axes_name_setting_unit_and_quantities():
    (scene,) = whatif_charts(compared(DEPTH))
    words = {mark.text for mark in scene.texts()}
    assert {"bed.herb bed.mulch.depth [in]", "total cost", "bark, loose [yd^3]"} <= words
    assert {"2", "2-1/2", "3", "3-1/2", "4"} <= words


LONG = ", ".join(
    f"some unit with quite a long name, number {n}".replace(",", "") for n in range(60)
)


@pytest.mark.parametrize(
    "words",
    [
        (DEPTH,),
        (UNIT,),
        (f"path.walk.pavers = {LONG}",),
        ("bed[1].mulch.depth = 2 in .. 4 in by 1/32 in",),
        ("bed[1].mulch.depth = 2 in, 3 in, deep", UNIT),
    ],
    ids=["numbers", "words", "many words", "many numbers", "two settings"],
)
def test_no_label_of_a_chart_covers_another_or_leaves_the_sheet(words):
    scenes = whatif_charts(compared(*words))
    assert len(scenes) == len(words)
    for scene in scenes:
        assert len(scene.labels) > 5
        assert not [
            (one.words, two.words)
            for one, two in combinations(scene.labels, 2)
            if one.box.intersection(two.box).area > 1e-6
        ]
        for label in scene.labels:
            left, bottom, right, top = label.box.bounds
            assert 8.0 < left < right < scene.width_mm - 8.0
            assert 8.0 < bottom < top < scene.height_mm - 8.0


def test_shapes_tell_the_file_missing_prices_and_faults():
    (scene,) = whatif_charts(compared("path.walk.pavers = slab, brick, slat"))
    assert len(dots(scene)) == 3  # the cost of bricks is a square
    rings = [m for m in scene.on("dimensions") if isinstance(m, Shapes) and m.fill]
    assert len(rings) == 2 + 1 + 2  # two fields and the legend, where a square stands too
    texts = [mark.text for mark in scene.texts() if isinstance(mark, Text)]
    assert {"the file as it is", "cost without what has no price", "variant with a fault"} <= {
        *texts
    }
    crosses = [m for m in scene.on("dimensions") if isinstance(m, Strokes) and len(m.lines) == 2]
    assert len(crosses) >= 3


def test_combined_settings_have_a_page_for_each_way_to_set_the_others():
    made = compared("bed[1].mulch.depth = 2 in, 3 in", UNIT, combined=True)
    scenes = whatif_charts(made)
    assert [len(dots(scene)) for scene in scenes] == [4, 2]
    heads = [mark.text for scene in scenes for mark in scene.texts() if "What if" in mark.text]
    assert heads[1] == "What if: bed[1].mulch.depth, with path.walk.pavers = brick"


@pytest.mark.parametrize(("least", "step"), [(1.0, 1.0), (1.01, 2.0), (0.3, 0.5), (6.0, 10.0)])
def test_steps_are_round(least, step):
    assert round_step(least) == pytest.approx(step)


# ---- the command -----------------------------------------------------------------------------


def test_the_command_prints_a_row_a_variant_and_draws(run, tmp_path):
    code, out, err = run(DEPTH, "--out", "chart.svg")
    assert code == 0
    rows = [line.split() for line in out.splitlines() if " in" in line[:8]]
    assert [row[:2] for row in rows[:1]] == [["2", "in"]]
    assert [row[-1] for row in rows] == ["60.00", "60.00", "65.00", "70.00", "75.00"]
    assert "Drew chart.svg" in err
    assert "2-1/2" in (tmp_path / "chart.svg").read_text(encoding="utf-8")


def test_json_has_every_variant_in_si(run):
    code, out, _ = run(UNIT, "--json")
    made = json.loads(out)
    assert code == 0
    assert set(made) == {"title", "settings", "variants", "same", "complete"}
    assert made["settings"] == [
        {"key": "path.walk.pavers", "in_file": "slab", "values": ["slab", "brick"]}
    ]
    first, second = made["variants"]
    assert set(first) == {
        "settings", "in_file", "units", "boards", "loose_m3", "cost", "missing_prices",
        "to_settle", "fault",
    }  # fmt: skip
    assert (first["in_file"], first["units"], first["missing_prices"]) == (True, 10, [])
    assert second["settings"] == {"path.walk.pavers": "brick"}
    assert (second["units"], second["missing_prices"], second["fault"]) == (90, ["brick"], None)
    assert second["loose_m3"]["bark"] == pytest.approx(3 * 0.0508)
    assert "boards bought" in made["same"]
    assert made["complete"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["bed.herb.mulch.depth = 2 in"], "did you mean 'herb bed'?"),
        (["bed.herb bed.mulch.dept = 2 in"], "did you mean 'depth'?"),
        (["path.walk.bnod = stack"], "did you mean 'bond'?"),
        (["bed.herb bed.mulch = 2 in"], "bed.herb bed.mulch.depth"),
        (["fabric.woven.price = 3"], "copy their table into the layout file"),
        (["bed.herb bed"], "a key path, =, and a range or a list"),
        (["bed[1].mulch.depth = 2 in .. 4 in"], "A .. B by STEP"),
        ([DEPTH, "bed[1].mulch.depth = 1 in"], "join the two lists"),
        (
            ["bed[1].mulch.depth = 1 in .. 20 in by 1 in", "path[1].joint = 0 .. 9 by 1", "--all"],
            "at most 100",
        ),
        (["bed[1].mulch.depth = 1 in", "--out", "chart.gif"], "take png, svg or pdf"),
    ],
)  # fmt: skip
def test_bad_input_ends_in_2_with_a_remedy_and_no_file(run, tmp_path, words, says):
    code, out, err = run(*words, *([] if "--out" in words else ["--out", "chart.png"]))
    assert (code, out) == (2, "")
    assert says in err
    assert [path.name for path in tmp_path.iterdir()] == ["yard.toml"]


def test_ctrl_c_prints_what_is_done_and_draws_nothing(run, monkeypatch, tmp_path):
    import bedplan.plan.whatif as module

    real, made = module.make_plan, []

    def slow(*args):
        made.append(args)
        if len(made) == 3:
            os.kill(os.getpid(), signal.SIGINT)
        return real(*args)

    monkeypatch.setattr(module, "make_plan", slow)
    code, out, _ = run(DEPTH, "--out", "chart.png")
    assert code == 130
    assert "Stopped after 1 of 4 variants." in out
    assert "2-1/2 in" in out
    assert "3 in" not in out
    assert [path.name for path in tmp_path.iterdir()] == ["yard.toml"]
