"""Rules for beds and plants: each is silent at its limit and speaks just beyond it.

The limits are the published ones, taken from ``tests/data/check-values.csv`` by row.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
import shapely
from gardens import FOOT, INCH, bed, garden, pine, rectangle

from bedplan import make_plan
from bedplan.model.layout import AlongSides, BedSpec, Circle, Layer, Plant
from bedplan.model.materials import Material
from bedplan.practice.beds import farthest_m

TABLE = Path(__file__).parents[1] / "data/check-values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())}
GOODS = {"bark": Material("bark"), "soil": Material("soil")}
YARD = rectangle(12, 10)


def published(row):
    return [float(text) for text in re.findall(r"\d+\.?\d*", ROWS[row]["expected"])]


def found(beds, rule, spec=YARD, board=None, plants=()):
    plan = make_plan(garden(spec, beds, board=board, plants=plants, materials=GOODS))
    return [finding for finding in plan.findings if finding.rule == rule]


def box(width, length=3.0, x=3.0, y=3.0, **more):
    return bed(
        "b",
        [(x, y), (x + width, y), (x + width, y + length), (x, y + length)],
        edging=more.pop("edging", None),
        **more,
    )


# ---- reach ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("over_m", "speaks"), [(0, False), (-0.1, False), (0.01, True)])
def test_a_bed_worked_from_all_sides(over_m, speaks):
    # E01: K-State Research & Extension, 2021: 4 ft from two sides
    width_m = published("E01")[0] * FOOT
    assert bool(found([box(width_m + over_m)], "bed-reach")) is speaks


@pytest.mark.parametrize(("over_m", "speaks"), [(0, False), (0.01, True)])
def test_a_border_worked_from_one_side(over_m, speaks):
    # E17, from memory: 2 to 2-1/2 ft against a fence
    width_m = (published("E17")[0] + 0.5) * FOOT
    border = BedSpec("b", AlongSides(("AB",), width_m + over_m))
    assert bool(found([border], "bed-reach")) is speaks


def test_a_round_bed_is_as_deep_as_its_radius():
    assert not found([BedSpec("b", Circle((6, 5), 0.6))], "bed-reach")
    (finding,) = found([BedSpec("b", Circle((6, 5), 0.64))], "bed-reach")
    assert finding.severity == "warning"
    assert finding.figure.startswith("2' 1")


def test_a_bed_that_fills_the_garden_can_be_worked_from_nowhere():
    plan = make_plan(garden(rectangle(6, 5), [box(6, 5, 0, 0)], paths=()))
    (finding,) = plan.findings
    assert finding.rule == "bed-reach"
    assert finding.figure == "no edge on a path"


def test_a_bed_between_two_others_is_reached_from_its_ends():
    row = [box(1.0, 3.0, x, edging="pine") for x in (3.0, 4.0, 5.0)]
    beds = [BedSpec(f"b{i}", each.shape, "pine") for i, each in enumerate(row)]
    assert {finding.where for finding in found(beds, "bed-reach")} == {"b0", "b1", "b2"}
    assert not found(beds[:1], "bed-reach")


@pytest.mark.parametrize(
    ("outline", "access", "reach"),
    [
        (shapely.box(0, 0, 4, 2), shapely.box(0, 0, 4, 2).exterior, 1.0),
        (shapely.box(0, 0, 4, 2), shapely.LineString([(0, 0), (4, 0)]), 2.0),
        (shapely.box(0, 0, 4, 2), shapely.LineString([(0, 0), (0, 2)]), 4.0),
        (
            shapely.Polygon([(0, 0), (4, 0), (0, 3)]),
            shapely.Polygon([(0, 0), (4, 0), (0, 3)]).exterior,
            1.0,
        ),
    ],
)
def test_the_farthest_spot(outline, access, reach):
    # a rectangle's middle line; the 3-4-5 triangle's inscribed circle has radius 1
    lines = shapely.MultiLineString([list(access.coords)])
    assert farthest_m(outline, lines) == pytest.approx(reach, abs=0.001)


# ---- depth ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("depth_m", "speaks"),
    [
        (0.05, False),
        (0.0499, True),
        (published("M11")[2] * INCH, False),
        (published("M11")[2] * INCH + 1e-4, True),
        (published("M11")[1] * INCH, False),
        (published("M11")[1] * INCH - 0.001, True),
    ],
)
def test_mulch_two_to_four_inches_deep(depth_m, speaks):
    # M11: NJ DEP Parks & Forestry: clear 6 in, depth 2-4 in; 50 mm stands for 2 in
    assert published("M11") == [6, 2, 4]
    assert bool(found([box(1, mulch=Layer("bark", depth_m))], "mulch-depth")) is speaks


@pytest.mark.parametrize(
    ("soil_m", "mulch_m", "speaks"),
    [(0.07, 0.07, False), (0.07, 0.0701, True), (0.14, None, False), (0.141, None, True)],
)
def test_fill_no_higher_than_the_board(soil_m, mulch_m, speaks):
    spec = box(
        1,
        edging="pine",
        layers=(Layer("soil", soil_m),),
        mulch=Layer("bark", mulch_m) if mulch_m else None,
    )
    assert bool(found([spec], "fill-height", board=pine(height_m=0.14))) is speaks
    without = box(1, layers=spec.layers, mulch=spec.mulch)
    assert not found([without], "fill-height")


# ---- stems ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("clear_in", "speaks"), [(3, False), (2.99, True), (0, True)])
def test_mulch_keeps_off_stems(clear_in, speaks):
    # M10: Penn State Cooperative Extension, 2007: 3 to 4 in
    assert published("M10")[0] == 3
    plants = (Plant("pear", (3.5, 4), 0.05, keep_clear_m=clear_in * INCH),)
    spec = box(1, mulch=Layer("bark", 0.07))
    assert bool(found([spec], "mulch-on-stem", plants=plants)) is speaks
    assert not found([box(1)], "mulch-on-stem", plants=plants)


@pytest.mark.parametrize(("at_x", "speaks"), [(3.216, False), (3.2165, False), (3.2155, True)])
def test_boards_keep_off_the_clear_ring(at_x, speaks):
    # ring 0.2 m, board 16 mm, edge at x = 3
    plants = (Plant("pear", (at_x, 4), 0.1, keep_clear_m=0.15),)
    assert bool(found([box(1, edging="pine")], "stem-clearance", plants=plants)) is speaks


def test_plants_in_no_bed_are_named():
    plants = (Plant("in", (3.5, 4)), Plant("edge", (3, 4)), Plant("out", (1, 1)))
    assert [f.where for f in found([box(1)], "plant-in-no-bed", plants=plants)] == ["out"]


def test_every_finding_can_be_acted_on():
    plants = (Plant("pear", (3.05, 4), 0.1, keep_clear_m=0.05),)
    spec = box(3, edging="pine", mulch=Layer("bark", 0.2))
    plan = make_plan(garden(YARD, [spec], plants=plants, materials=GOODS))
    assert {f.rule for f in plan.findings} == {
        "bed-reach",
        "mulch-depth",
        "fill-height",
        "mulch-on-stem",
        "stem-clearance",
    }
    for finding in plan.findings:
        assert all((finding.where, finding.figure, finding.limit, finding.source, finding.remedy))
