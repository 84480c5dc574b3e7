"""Boards, splices, stakes and hardware in the record and in the tables, figure by figure."""

from __future__ import annotations

import json

import pytest
from gardens import bed, garden, pine, rectangle

from bedplan import make_plan
from bedplan.model.layout import BedSpec, Circle, EnclosureSpec, PostRow, Posts
from bedplan.model.materials import Screw, Stake, StockItem
from bedplan.outputs.record import record
from bedplan.outputs.tables import tables

T = 0.02
YARD = rectangle(8, 6)
BOX = [(1, 1), (4, 1), (4, 3), (1, 3)]


@pytest.fixture(scope="module")
def plan():
    board = pine(
        thickness_m=T, stake="peg", screws="deck", stock=(StockItem(2.0, 5.0),), at_posts="notch"
    )
    posts = EnclosureSpec(YARD.corners, Posts(0.1, 0.02, (PostRow("AB", (6.0,)),)))
    beds = [
        bed("box", BOX, tiers=2),
        bed("by the fence", [(5, 0.01), (7, 0.01), (7, 0.8), (5, 0.8)]),
        BedSpec("round", Circle((6, 4), 0.8, 0, 0.01), "pine"),
    ]
    return make_plan(
        garden(
            posts,
            beds,
            board=board,
            stakes={"peg": Stake("peg", 0.04, 0.6, 1.0, price=2.0)},
            screws={"deck": Screw("deck", 0.06, 100, 9.0)},
            paths=(),
        )
    )


def table(plan, title):
    (found,) = [each for each in tables(plan) if each.title.startswith(title)]
    return found


def test_the_record_can_be_written(plan):
    data = json.loads(json.dumps(record(plan), allow_nan=False))
    box, fenced, ring = data["beds"]
    assert (box["tiers"], box["edging_height_m"]) == (2, pytest.approx(0.28))
    assert box["sagitta_m"] is None
    assert 0 < ring["sagitta_m"] <= 0.01
    assert [run["run"] for run in box["runs"]] == [1, 2, 3, 4]
    assert {splice["held_by"] for splice in box["splices"]} == {"block"}
    used = {(row["kind"], row["name"]): row["count"] for row in data["hardware"]}
    assert used["stakes", "peg"] == sum(len(b["stakes"]) for b in data["beds"])
    assert used.keys() == {("stakes", "peg"), ("screws", "deck")}
    (part,) = data["edging"]
    kinds = [piece["kind"] for piece in part["pieces"]]
    assert kinds.count("block") == part["blocks"] == sum(len(b["splices"]) for b in data["beds"])
    (notched,) = [piece for piece in part["pieces"] if piece["notches"]]
    assert notched["bed"] == "by the fence"
    assert notched["notches"][0]["post"] == "AB 1"
    assert not fenced["openings"]
    for piece in part["pieces"]:
        assert len(piece["end_deg"]) == len(piece["joins"]) == len(piece["longer"]) == 2


def test_every_piece_meets_another_that_is_there(plan):
    (part,) = record(plan)["edging"]
    labels = {piece["label"] for piece in part["pieces"]}
    met = {join for piece in part["pieces"] for join in piece["joins"] if piece["kind"] == "board"}
    assert met <= labels
    assert len(labels) == len(part["pieces"])


def test_tables_hold_every_piece_splice_and_stake(plan):
    (part,) = plan.boards
    pieces = table(plan, "Edging pieces")
    assert [column.heading for column in pieces.columns][2] == "tier"
    assert [column.heading for column in pieces.columns][-1] == "notches"
    assert len(pieces.rows) == len(part.pieces)
    notched = next(row for row in pieces.rows if row[-1])
    assert "deep in the outer face, post AB 1" in notched[-1]
    splices = [splice for edged in plan.edging for splice in edged.splices]
    assert len(table(plan, "Splices").rows) == len(splices)
    stakes = [stake for edged in plan.edging for stake in edged.stakes]
    rows = table(plan, "Stakes").rows
    assert [row[0] for row in rows] == [stake.label for stake in stakes]
    hardware = {row[0]: row for row in table(plan, "Hardware").rows}
    assert hardware["peg stake"][1] == str(len(stakes))
    used = hardware["deck screws"]
    assert sum(int(part.split(" ")[-1]) for part in used[2].split(", ")) == int(used[1])


def test_a_plain_garden_has_no_column_it_does_not_need():
    plan = make_plan(garden(YARD, [bed("b", BOX)], board=pine(thickness_m=T), paths=()))
    names = [column.heading for column in table(plan, "Edging pieces").columns]
    assert "tier" not in names
    assert "notches" not in names
    titles = {each.title for each in tables(plan)}
    assert not titles & {"Splices", "Stakes", "Hardware"}


def test_the_beds_table_says_how_far_facets_stray(plan):
    # 0.8 m round within 10 mm: 20 boards, 0.8 (1 - cos 9°) = 9.8 mm
    assert table(plan, "Beds").note == (
        'The straight edges of round stray up to 3/8" from its circle.'
    )


@pytest.mark.parametrize("name", ["deck", "deck screw", "deck screws"])
def test_screws_are_called_screws_once(name):
    assert Screw(name, 0.06).plural == "deck screws"
    assert Screw("brass", 0.06).plural == "brass screws"
