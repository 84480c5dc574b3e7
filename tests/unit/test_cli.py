"""The command line from outside: exit codes, streams, files, and never a traceback."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path

import pytest

from bedplan import __version__
from bedplan.cli import main

LAYOUTS = Path(__file__).parents[2] / "layouts"

SOUND = """\
title = "Yard"
unit = "m"
[enclosure]
corners = { A = [0, 0], B = [4, 0], C = [4, 3], D = [0, 3] }
[[gate]]
name = "gate"
side = "AB"
along = 1.0
opening = 1.0
hinge = "A"
opens = "out"
[[bed]]
name = "border"
along = ["CD"]
width = 0.7
edging = "pine"
mulch = { material = "bark", depth = "6 cm" }
[[path]]
name = "walk"
area = "rest"
barrier = "woven"
pavers = "slab"
joint = ["5 mm", "20 mm"]
layers = [{ material = "rock", depth = "11 cm" }]
joint_fill = "rock"
[board.pine]
thickness = "2 cm"
height = "12 cm"
kerf = "3 mm"
stock = [{ length = 2.4, price = 9 }]
[paver.slab]
size = ["40 cm", "40 cm"]
thickness = "5 cm"
price = 4
[fabric.woven]
width = 1.2
lap = "15 cm"
rolls = [{ length = 15, price = 30 }]
pin_every = 1
[material.bark]
bags = [{ volume = "50 L", price = 5 }]
[material.rock]
compaction = 1.25
density = "1700 kg/m^3"
bulk = { per = "tonne", price = 40, step = "0.5 tonne" }
"""
GRAVE = SOUND.replace('along = ["CD"]', 'along = ["AB"]')  # the bed lies across the gate
FAULTY = SOUND.replace("width = 0.7", "width = 9").replace('"slab"\njoint', '"slat"\njoint')


@pytest.fixture
def run(monkeypatch, capsys):
    """Return a function that runs a command line and gives exit code, output and messages."""

    def _run(*args):
        monkeypatch.setattr(sys, "argv", ["bedplan", *map(str, args)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        assert "bug in bedplan" not in told.err
        return ended.value.code or 0, told.out, told.err

    return _run


@pytest.fixture
def layout(tmp_path):
    """Return a function that writes a layout and gives its path."""

    def _write(text, name="yard.toml"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return _write


def files(folder):
    return sorted(path.name for path in folder.iterdir())


# ---- exit codes ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [(SOUND, 0, "Yard works; nothing found."), (GRAVE, 1, "1 finding must be settled")],
)
def test_check_says_whether_a_layout_works(run, layout, text, code, says):
    assert run("check", layout(text))[0] == code
    assert says in run("check", layout(text))[1]


@pytest.mark.parametrize("command", ["check", "takeoff", "draw", "export"])
def test_a_faulty_layout_ends_in_2_with_every_fault_and_no_file(run, layout, command, tmp_path):
    code, out, err = run(command, layout(FAULTY))
    assert (code, out) == (2, "")
    assert err.startswith("2 faults; nothing was computed or written.")
    lines = FAULTY.splitlines()
    border, slat = lines.index("[[bed]]") + 1, lines.index('pavers = "slat"') + 1
    assert f"yard.toml:{border}: bed[1]: bed 'border' crosses the fence" in err
    assert f"yard.toml:{slat}: path[1].pavers" in err
    assert "remedy:" in err
    assert files(tmp_path) == ["yard.toml"]


def test_takeoff_of_a_grave_finding_prints_everything_and_ends_in_1(run, layout):
    code, out, _ = run("takeoff", layout(GRAVE))
    assert code == 1
    assert "ORDER, AFTER WHAT IS ON HAND" in out
    assert "gate-blocked" in out
    assert run("takeoff", "--json", layout(GRAVE))[0] == 1
    assert run("check", "--json", layout(GRAVE))[0] == 1


@pytest.mark.parametrize("name", ["five-sided-yard.toml", "corner-plot.toml", "tutorial.toml"])
def test_demo_gardens_work(run, name):
    code, out, err = run("check", LAYOUTS / name)
    assert (code, err) == (0, "")
    assert "works;" in out


@pytest.mark.parametrize(
    "args",
    [
        ["check"],
        ["chekc", "x.toml"],
        ["takeoff", "--show", "furlong", "x.toml"],
        ["draw", "x.toml", "--sheet", "a9"],
        ["check", "x.toml", "y.toml"],
        ["takeoff", "--frobnicate"],
    ],
)
def test_wrong_command_lines_end_in_2(run, args):
    code, out, err = run(*args)
    assert (code, out) == (2, "")
    assert "Usage: bedplan" in err


def test_help_and_version(run):
    code, out, _ = run("--help")
    assert code == 0
    for command in ("new", "check", "takeoff", "draw", "export", "schema"):
        assert f"\n  {command} " in out
        assert run(command, "-h")[0] == 0
    assert run("--version") == (0, f"bedplan {__version__}\n", "")


# ---- files that cannot be read or written --------------------------------------------------


@pytest.mark.parametrize("command", ["check", "takeoff", "draw", "export"])
def test_layouts_that_cannot_be_read(run, tmp_path, command):
    code, out, err = run(command, tmp_path / "nope.toml")
    assert (code, out) == (2, "")
    assert "no file" in err
    code, out, err = run(command, tmp_path)
    assert (code, out) == (2, "")
    assert "is a folder" in err
    assert files(tmp_path) == []


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe\x00",
        b"title = ",
        b"[[[",
        b"\x00" * 50,
        b"title = 'x'\n" * 2,
        "título = 1".encode("latin-1"),
    ],
)
def test_junk_is_refused_in_words(run, tmp_path, content):
    path = tmp_path / "junk.toml"
    path.write_bytes(content)
    code, out, err = run("check", path)
    assert (code, out) == (2, "")
    assert "junk.toml" in err
    assert "remedy:" in err


@pytest.mark.parametrize(
    ("command", "target"),
    [
        ("draw", "nodir/plan.pdf"),
        ("draw", "plan.txt"),
        ("draw", "."),
        ("draw", "plan"),
        ("export", "nodir/plan.gpkg"),
        ("export", "plan.txt"),
        ("export", "."),
    ],
)
def test_outputs_that_cannot_be_written(run, layout, tmp_path, command, target):
    code, _, err = run(command, layout(SOUND), "--out", tmp_path / target)
    assert code == 2
    assert len(err.splitlines()) <= 2
    assert err.strip()
    assert files(tmp_path) == ["yard.toml"]


@pytest.mark.parametrize("command", ["draw", "export"])
def test_nothing_is_written_over_the_layout(run, layout, command):
    path = layout(SOUND)
    assert run(command, path, "-o", path)[0] == 2
    assert path.read_text(encoding="utf-8") == SOUND


def test_draw_stands_beside_the_layout(run, layout, tmp_path):
    code, out, _ = run("draw", layout(SOUND))
    assert (code, files(tmp_path)) == (0, ["yard.pdf", "yard.toml"])
    assert (tmp_path / "yard.pdf").read_bytes().startswith(b"%PDF")
    assert "yard.pdf" in out


# ---- new -----------------------------------------------------------------------------------


@pytest.mark.parametrize("show", ["imperial", "metric"])
def test_new_writes_a_layout_that_works(run, tmp_path, show):
    path = tmp_path / "back-yard.toml"
    code, out, _ = run("new", path, "--show", show)
    assert (code, files(tmp_path)) == (0, ["back-yard.toml"])
    assert f"bedplan check {path}" in out
    assert 'title = "Back yard"' in path.read_text(encoding="utf-8")
    assert run("check", path)[0] == 0


def test_new_refuses_to_write_over_a_file(run, tmp_path):
    path = tmp_path / "old.toml"
    path.write_text("mine", encoding="utf-8")
    code, _, err = run("new", path)
    assert code == 2
    assert "exists already" in err
    assert path.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("target", [".", "nodir/x.toml"])
def test_new_where_nothing_can_be_written(run, tmp_path, target):
    assert run("new", tmp_path / target)[0] == 2
    assert files(tmp_path) == []


def test_new_takes_any_title(run, tmp_path):
    path = tmp_path / "x.toml"
    assert run("new", path, "--title", 'A "yard" \\ behind\nthe häuschen')[0] == 0
    assert run("check", path)[0] == 0
    assert 'A "yard" \\ behind the häuschen works' in run("check", path)[1]


# ---- json ----------------------------------------------------------------------------------

KEYS = {
    "": {
        "title",
        "enclosure",
        "beds",
        "paths",
        "edging",
        "barrier",
        "fill",
        "plants",
        "checks",
        "order",
        "cost",
    },
    "enclosure": {"area_m2", "perimeter_m", "corners"},
    "beds": {"name", "outline_area_m2", "planting_area_m2", "edging_m", "mulch_m3"},
    "paths": {
        "name",
        "area_m2",
        "units",
        "bond",
        "direction_deg",
        "joint_m",
        "upper_bound",
        "proven",
        "paved_area_m2",
        "open_area_m2",
        "placements",
    },
    "edging": {"board", "pieces", "buy", "cuts", "cost", "lower_bound", "proven"},
    "barrier": {
        "fabric",
        "net_area_m2",
        "fabric_area_m2",
        "direction_deg",
        "strips_m",
        "buy",
        "pins",
    },
    "fill": {"material", "in_place_m3", "loose_m3", "mass_kg"},
    "plants": {"bed", "kind", "count"},
    "checks": {"rule", "severity", "where", "figure", "limit", "source", "remedy"},
    "order": {"item", "quantity", "unit", "cost"},
}
"""The promise to other programs: these keys at least, lengths in metres."""


def numbers(data):
    if isinstance(data, dict):
        data = list(data.values())
    if isinstance(data, list):
        return [number for each in data for number in numbers(each)]
    return [data] if isinstance(data, int | float) and not isinstance(data, bool) else []


@pytest.mark.parametrize("name", ["five-sided-yard.toml", "corner-plot.toml", "tutorial.toml"])
def test_json_has_every_promised_key_and_only_finite_numbers(run, name):
    data = json.loads(run("takeoff", "--json", LAYOUTS / name)[1])
    assert KEYS[""] <= data.keys()
    assert KEYS["enclosure"] <= data["enclosure"].keys()
    for part in KEYS.keys() - {"", "enclosure"}:
        for row in data[part]:
            assert KEYS[part] <= row.keys(), part
    for board in data["edging"]:
        for piece in board["pieces"]:
            assert {"bed", "run", "tier", "long_m", "short_m", "end_deg"} <= piece.keys()
            assert len(piece["end_deg"]) == 2
        assert all({"stock_m", "pieces_m"} <= cut.keys() for cut in board["cuts"])
    for part in (*data["edging"], *data["barrier"]):
        assert all(row.keys() == {"stock_m", "count"} for row in part["buy"])
    for path in data["paths"]:
        assert len(path["placements"]) == path["units"]
        assert all(len(unit) == 3 for unit in path["placements"])
    assert numbers(data)
    assert all(math.isfinite(number) for number in numbers(data))


def test_json_is_in_metres_whatever_it_is_shown_in(run, layout):
    path = layout(SOUND)
    data = json.loads(run("takeoff", "--json", path)[1])
    assert data["enclosure"]["area_m2"] == pytest.approx(12)
    assert data["beds"][0]["edging_m"] == pytest.approx(4)
    other = json.loads(run("takeoff", "--json", "--show", "imperial", path)[1])
    for row in (data, other):
        for line in (*row["order"], *row["checks"]):
            line.clear()  # texts read in the chosen system
    assert data == other


def test_check_json_holds_the_findings(run, layout):
    data = json.loads(run("check", "--json", layout(GRAVE))[1])
    assert data["title"] == "Yard"
    (finding,) = [check for check in data["checks"] if check["severity"] == "error"]
    assert finding["rule"] == "gate-blocked"


def test_schema_is_json_that_refuses_unknown_keys(run):
    data = json.loads(run("schema")[1])
    assert data["additionalProperties"] is False
    assert {"title", "enclosure", "bed", "path", "board"} <= data["properties"].keys()


# ---- how results read ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("show", "has", "lacks"), [("metric", "12.00 m^2", "ft^2"), ("imperial", "129.2 ft^2", "m^2")]
)
def test_show_chooses_the_system(run, layout, show, has, lacks):
    _, out, _ = run("takeoff", layout(SOUND), "--show", show)
    assert has in out
    assert lacks not in out


def test_tables_fit_their_width(run, layout, monkeypatch):
    for columns, width in (("60", 80), ("100", 100), ("300", 140)):
        monkeypatch.setenv("COLUMNS", columns)
        _, out, _ = run("takeoff", LAYOUTS / "five-sided-yard.toml")
        assert max(map(len, out.splitlines())) <= width


# ---- as a program --------------------------------------------------------------------------


def program(*args, **env):
    return subprocess.run(
        [sys.executable, "-m", "bedplan", *map(str, args)],
        check=False,
        capture_output=True,
        env=os.environ | env,
        timeout=60,
    )


def test_a_terminal_without_our_signs_gets_question_marks():
    done = program("takeoff", LAYOUTS / "corner-plot.toml", PYTHONIOENCODING="cp1252")
    assert (done.returncode, done.stderr) == (0, b"")
    assert "ORDER" in done.stdout.decode("cp1252")
    done = program("check", LAYOUTS / "corner-plot.toml", PYTHONIOENCODING="ascii")
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_closed_pipe_is_no_bug():
    line = f"{sys.executable} -m bedplan takeoff {LAYOUTS / 'corner-plot.toml'} | head -1"
    done = subprocess.run(["/bin/sh", "-c", line], check=False, capture_output=True, timeout=60)
    assert done.stdout == b"Corner plot\n"
    assert b"Traceback" not in done.stderr
    assert b"bug in bedplan" not in done.stderr


def test_as_a_program_it_ends_in_the_same_codes(layout):
    assert program("check", layout(SOUND)).returncode == 0
    assert program("check", layout(GRAVE)).returncode == 1
    assert program("check", layout(FAULTY)).returncode == 2


def test_a_bug_is_told_without_a_traceback(run, layout, monkeypatch, capsys):
    def broken(*_):
        message = "boom"
        raise RuntimeError(message)

    monkeypatch.setattr("bedplan.plan.make_plan", broken)
    monkeypatch.setattr(sys, "argv", ["bedplan", "check", str(layout(SOUND))])
    with pytest.raises(SystemExit) as ended:
        main()
    told = capsys.readouterr().err
    assert ended.value.code == 2
    assert "RuntimeError: boom. This is a bug in bedplan" in told
    assert "Traceback" not in told
    monkeypatch.setenv("BEDPLAN_DEBUG", "1")
    with pytest.raises(RuntimeError, match="boom"):
        main()
