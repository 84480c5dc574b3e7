"""The JSON record and the tables tell what the plan holds, figure by figure."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from gardens import garden, rectangle

from bedplan import load_layout, make_plan
from bedplan.outputs.record import record
from bedplan.outputs.tables import tables
from bedplan.outputs.tables_ground import direction_words
from bedplan.outputs.tables_order import findings_table, order_table
from bedplan.outputs.text import set_tables
from bedplan.units import format_length

LAYOUTS = Path(__file__).parents[2] / "layouts"
NAMES = ["five-sided-yard", "corner-plot", "tutorial"]


@pytest.fixture(scope="module")
def plans():
    return {name: make_plan(load_layout(LAYOUTS / f"{name}.toml")) for name in NAMES}


@pytest.fixture(params=NAMES)
def plan(plans, request):
    return plans[request.param]


def test_areas_of_the_record_close(plan):
    data = record(plan)
    grounds = [row["outline_area_m2"] for row in data["beds"]]
    grounds += [row["area_m2"] for row in data["paths"]]
    assert sum(grounds) + data["spare_m2"] == pytest.approx(data["enclosure"]["area_m2"], abs=1e-5)
    for path, walk in zip(data["paths"], plan.walks, strict=True):
        assert path["paved_area_m2"] + path["open_area_m2"] == pytest.approx(walk.ground.area)
        if walk.paver:
            assert path["paved_area_m2"] == pytest.approx(path["units"] * walk.paver.face_m2)


def test_placements_are_the_units_as_drawn(plan):
    for path, walk in zip(record(plan)["paths"], plan.walks, strict=True):
        for (x, y, turn), outline in zip(path["placements"], walk.outlines, strict=True):
            assert outline.centroid.coords[0] == pytest.approx((x, y))
            corners = shapely.get_coordinates(outline)
            dx, dy = corners[1] - corners[0]
            along = shapely.LineString([(0, 0), (dx, dy)])
            assert along.length == pytest.approx(walk.paver.length_m)
            assert 0 <= turn < 180


def test_boards_of_the_record_balance(plan):
    for part in record(plan)["edging"]:
        sawn = sorted(length for board in part["cuts"] for length in board["pieces_m"])
        assert sawn == pytest.approx(sorted(piece["long_m"] for piece in part["pieces"]), abs=3e-8)
        bought = sorted(b["stock_m"] for b in part["cuts"] if not b["on_hand"])
        assert bought == pytest.approx(
            sorted(row["stock_m"] for row in part["buy"] for _ in range(row["count"]))
        )
        assert part["lower_bound"] <= part["cost"] + 1e-6
        assert all(piece["short_m"] <= piece["long_m"] + 1e-12 for piece in part["pieces"])
    for bed, edged in zip(record(plan)["beds"], plan.edging, strict=True):
        assert bed["edging_m"] == pytest.approx(sum(run.length_m for run in edged.runs))


def test_barrier_covers_its_ground(plan):
    for part, fabric in zip(record(plan)["barrier"], plan.barriers, strict=True):
        width_m = fabric.fabric.width_m
        assert part["fabric_area_m2"] == pytest.approx(sum(part["strips_m"]) * width_m)
        assert part["fabric_area_m2"] > part["net_area_m2"]


def test_fill_adds_up_and_the_order_covers_it(plan):
    data = record(plan)
    for total in data["fill"]:
        lines = [line for line in data["layers"] if line["material"] == total["material"]]
        assert total["loose_m3"] == pytest.approx(sum(line["loose_m3"] for line in lines))
        assert total["in_place_m3"] <= total["loose_m3"] + 1e-12
    assert data["cost"] == pytest.approx(sum(line["cost"] or 0 for line in data["order"]))
    assert set(data["missing_prices"]) == {
        line["item"] for line in data["order"] if line["cost"] is None
    }
    boards = sum(line["cost"] for line in data["order"] if line["group"] == "Boards")
    assert boards == pytest.approx(sum(part["cost"] for part in data["edging"]))


def test_every_plant_stands_in_its_bed(plans):
    rows = record(plans["five-sided-yard"])["plants"]
    assert {row["kind"]: row["bed"] for row in rows} == {
        "damson": "damson bed",
        "medlar": "medlar ring",
    }


def test_a_bare_garden_has_a_record_and_tables():
    plan = make_plan(garden(rectangle(4, 3), paths=()))
    data = record(plan)
    assert data["spare_m2"] == pytest.approx(12)
    assert (data["beds"], data["order"], data["cost"]) == ([], [], 0)
    assert [table.title for table in tables(plan)] == ["Ground", "Findings", "Cautions"]


# ---- tables --------------------------------------------------------------------------------


def test_every_row_has_its_columns(plan):
    for table in tables(plan):
        assert table.rows
        assert all(len(row) == len(table.columns) for row in table.rows), table.title


def test_every_piece_is_sawn_once(plan):
    for part in plan.boards:
        (cut,) = [t for t in tables(plan) if t.title == f"Cut plan, {part.board.name}"]
        sawn = [label.split(" (")[0] for row in cut.rows for label in row[3].split(", ")]
        assert sorted(sawn) == sorted(piece.label for piece in part.pieces)
        by_label = {piece.label: piece for piece in part.pieces}
        for row in cut.rows:
            for entry in row[3].split(", "):
                label, length = entry.removesuffix(")").split(" (")
                assert length == format_length(by_label[label].long_m, plan.layout.show)


def test_the_order_is_summed(plan):
    table = order_table(plan)
    assert table.rows[-1][4] == f"{plan.order.cost:.2f}"
    assert len(table.rows) == len(plan.order.lines) + 1


def test_findings_keep_their_source(plan):
    assert [row[-1] for row in findings_table(plan).rows] == [f.source for f in plan.findings]


@pytest.mark.parametrize(
    ("angle", "words"),
    [
        (0, "along AB"),
        (180, "along AB"),
        (90, "square to AB"),
        (270.002, "square to AB"),
        (45, "45.0°"),
        (225, "45.0°"),
        (0.01, "0.0°"),
    ],
)
def test_directions_in_words(angle, words):
    plan = make_plan(garden(rectangle(4, 3), paths=()))
    assert direction_words(plan, angle) == words


def test_square_to_a_side():
    from gardens import fence

    plan = make_plan(garden(fence([(0, 0), (4, 0), (5, 3), (0, 3)]), paths=()))
    slant = plan.site.enclosure.side("BC").direction_deg
    assert direction_words(plan, slant + 90) == "square to BC"


@pytest.mark.parametrize("width", [80, 110, 140])
def test_text_is_no_wider_than_asked_and_loses_nothing(plan, width):
    text = set_tables(tables(plan), width)
    assert max(map(len, text.splitlines())) <= width
    assert not any(line != line.rstrip() for line in text.splitlines())
    for table in tables(plan):
        assert table.title.upper() in text
    for bed in plan.site.beds:
        assert bed.spec.name in text
