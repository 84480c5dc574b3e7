"""The commands cuts and changes from outside: what they print, write and refuse."""

from __future__ import annotations

import csv
import json
import re
import sys
import tomllib
from pathlib import Path

import pytest

from bedplan.cli import main

YARD = """\
title = "Yard"
unit = "in"
[enclosure]
corners = { A = [0, 0], B = [240, 0], C = [240, 120], D = [0, 120] }
[[bed]]
name = "strip"
along = ["AB"]
width = 24
edging = "cedar"
[[bed]]
name = "island"
rectangle = { center = [100, 72], size = [48, 36] }
edging = "cedar"
[board.cedar]
thickness = 1
height = 6
kerf = "1/8 in"
corner = "mitre"
stock = [{ length = 252, price = 20 }, { length = 96, price = 8 }]
"""
BARE = "[enclosure]\ncorners = { A = [0, 0], B = [9, 0], C = [9, 6] }\n"


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Return a function that runs a command line and gives exit code, output and messages."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")

    def _run(*args):
        monkeypatch.setattr(sys, "argv", ["bedplan", *map(str, args)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "bug in bedplan" not in told.err
        return ended.value.code or 0, told.out, told.err

    return _run


@pytest.fixture
def yard(tmp_path):
    file = tmp_path / "yard.toml"
    file.write_text(YARD)
    return file


@pytest.fixture
def built(tmp_path):
    file = tmp_path / "built.toml"
    file.write_text(YARD.replace("[240, ", "[241, "))
    return file


def test_cuts_prints_every_board_and_lines_for_the_next_layout(run, yard):
    code, out, err = run("cuts", yard)
    assert (code, err) == (0, "")
    assert "SAWING, CEDAR" in out
    assert "45.0° outer" in out
    lines = out.partition("FOR THE NEXT LAYOUT\n")[2]
    (lengths,) = tomllib.loads(lines)["board"].values()
    # 252 - 240 - 1/8 = 11-7/8 in is scrap; two boards of 96 each give 48 and 36 in
    assert lengths == {"on_hand": []}
    code, out, _ = run("cuts", yard, "--keep", "11 in")
    assert '"11-7/8 in", "11-3/4 in", "11-3/4 in"' in out


def test_cuts_as_json_adds_up(run, yard):
    code, out, _ = run("cuts", yard, "--json", "--keep", "5 in")
    (kind,) = json.loads(out)["cuts"]
    assert code == 0
    for board in kind["boards"]:
        wood = sum(piece["mark_m"] - piece["start_m"] for piece in board["pieces"])
        dust = sum(end - start for start, end in board["kerfs_m"])
        assert wood + dust + board["offcut"]["length_m"] == pytest.approx(board["stock_m"])
        assert board["offcut"]["keep"] is True
        for piece in board["pieces"]:
            assert piece["mark_m"] - piece["start_m"] == pytest.approx(piece["long_m"])
    labels = [piece["label"] for board in kind["boards"] for piece in board["pieces"]]
    assert sorted(labels) == ["1.1", "2.1", "2.2", "2.3", "2.4"]


def test_cuts_draws_and_writes_and_keeps_what_is_there(run, yard, tmp_path):
    code, _, err = run("cuts", yard, "--csv", "lists", "--out", "cuts.pdf", "--sheet", "a4")
    assert code == 0
    assert "Wrote pieces.csv, boards.csv, offcuts.csv, labels.csv in lists." in err
    assert "Drew 2 pages: cuts.pdf." in err
    assert (tmp_path / "cuts.pdf").read_bytes().startswith(b"%PDF")
    with (tmp_path / "lists" / "pieces.csv").open(newline="") as file:
        assert len(list(csv.DictReader(file))) == 5
    code, _, err = run("cuts", yard, "--csv", "lists")
    assert code == 2
    assert "--force" in err
    assert run("cuts", yard, "--csv", "lists", "--force")[0] == 0
    code, _, err = run("cuts", yard, "-o", "cuts.png")
    assert "cuts-1.png, cuts-2.png" in err
    assert {file.name for file in tmp_path.glob("*.png")} == {"cuts-1.png", "cuts-2.png"}


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--keep", "a lot"], "'a lot' is not a length"),
        (["--keep", "-3 in"], "must not be below zero"),
        (["-o", "cuts.doc"], "'doc' is no drawing format"),
    ],
)
def test_cuts_refuses_what_it_cannot_do(run, yard, options, said):
    code, _, err = run("cuts", yard, *options)
    assert code == 2
    assert said in err


def test_a_layout_without_edging_has_nothing_to_cut(run, tmp_path):
    (tmp_path / "bare.toml").write_text(f'title = "Bare"\nunit = "m"\n{BARE}')
    code, out, _ = run("cuts", "bare.toml")
    assert (code, out) == (0, "Bare has no edging to cut.\n")
    code, _, err = run("cuts", "bare.toml", "-o", "x.pdf")
    assert code == 2
    assert "nothing was drawn" in err


def test_changes_tells_what_moved_and_nothing_where_nothing_did(run, yard, built):
    code, out, err = run("changes", yard, built)
    assert (code, err) == (0, "")
    assert re.search(r"""^1\.1\s+strip\s+longer\s+20'\s+20' 1"\s+1" """, out, re.MULTILINE)
    assert "4 of 5 pieces are the same" in out
    assert "CUT PIECES" not in out
    code, out, _ = run("changes", yard, yard)
    assert (code, out) == (0, "Nothing changed.\n")
    code, out, _ = run("changes", yard, built, "--within", "1-1/16 in")
    assert "PIECES THAT CHANGED" not in out


def test_changes_takes_the_list_that_cuts_writes(run, yard, built):
    run("cuts", yard, "--csv", "lists")
    code, out, _ = run("changes", yard, built, "--cut", Path("lists") / "pieces.csv", "--json")
    assert code == 0
    told = json.loads(out)["cut_pieces"]
    assert {each["serves"] for each in told["served"]} == {"2.1", "2.2", "2.3", "2.4"}
    assert told["still_wanted"] == ["1.1"]
    assert [each["label"] for each in told["left_over"]] == ["1.1"]
    assert told["still_to_cut"][0]["cost"] == 20.0
    code, out, _ = run("changes", built, yard, "--cut", Path("lists") / "pieces.csv")
    assert "stays in its place" in out


def test_changes_trims_what_is_too_long(run, yard, built, tmp_path):
    run("cuts", built, "--csv", "lists")
    code, out, _ = run("changes", built, yard, "--cut", Path("lists") / "pieces.csv")
    assert code == 0
    assert "CUT PIECES THAT SERVE ONCE TRIMMED" in out
    assert '1" off' in out
    assert "STILL TO CUT" not in out


def test_a_bad_list_is_told_line_by_line(run, yard, built, tmp_path):
    (tmp_path / "cut.csv").write_text("label,long\n1.1,long\n7.7,3 in\n")
    code, out, err = run("changes", yard, built, "--cut", "cut.csv")
    assert (code, out) == (2, "")
    assert err.startswith("2 faults; nothing was computed or written.")
    assert "cut.csv:2: long 'long'" in err
    assert "cut.csv:3: piece '7.7'" in err


def test_a_board_gone_out_of_stock_is_told_with_its_line(run, yard, tmp_path):
    file = tmp_path / "short.toml"
    longer = YARD.replace("[240, ", "[241, ")
    file.write_text(longer.replace("price = 20", "price = 20, limit = 0"))
    (tmp_path / "cut.csv").write_text("2.1\n")
    code, _, err = run("changes", yard, file, "--cut", "cut.csv")
    assert code == 2
    assert "short.toml:" in err
