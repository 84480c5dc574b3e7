"""Rules for gates and walks, at their limits and just beyond; cautions by what a plan holds."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest
from gardens import INCH, bed, garden, pine, rectangle

from bedplan import make_plan
from bedplan.model.layout import (
    BedSpec,
    Circle,
    Gate,
    Layer,
    PathSpec,
    Paving,
    Plant,
    Rest,
)
from bedplan.model.materials import Bag, Material, Paver

TABLE = Path(__file__).parents[1] / "data/check-values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())}
YARD = rectangle(8, 6)
GATE = Gate("front", "AB", 3.0, 1.2, hinge="A", opens="out")
BACK = Gate("back", "CD", 3.0, 1.2, hinge="C", opens="out")
ROCK = Material("rock", density_kg_m3=1700)


def published(row):
    return [float(text) for text in re.findall(r"\d+\.?\d*", ROWS[row]["expected"])]


def findings(rule, beds=(), gates=(), paths=None, **more):
    paths = paths or [PathSpec("walk", Rest())]
    plan = make_plan(
        garden(YARD, beds, paths, gates=tuple(gates), materials={"rock": ROCK}, **more)
    )
    return [finding for finding in plan.findings if finding.rule == rule]


def box(x0, y0, x1, y1, name="b", edging="pine"):
    return bed(name, [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], edging=edging)


# ---- gates ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("under_m", "speaks"), [(0, False), (1e-4, True), (-0.1, False)])
def test_a_gate_is_wide_enough(under_m, speaks):
    # E04: US Access Board, Guide to the ADA Standards 404.2.3: 32 in clear
    narrow = replace(GATE, opening_m=published("E04")[0] * INCH - under_m)
    assert bool(findings("gate-width", gates=[narrow])) is speaks


@pytest.mark.parametrize(("end_x", "severity"), [(3.0, None), (3.005, None), (3.2, "error")])
def test_a_bed_across_a_gate(end_x, severity):
    found = findings("gate-blocked", [box(1, 0, end_x, 1)], [GATE])
    assert [finding.severity for finding in found] == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("changes", "gap", "edging", "speaks"),
    [
        ({}, None, "pine", True),
        ({"opens": "out"}, None, "pine", False),
        ({}, 0.14, "pine", False),
        ({}, 0.139, "pine", True),
        ({}, None, None, False),
        ({"hinge": "B"}, None, "pine", False),
    ],
)
def test_a_leaf_clears_the_boards(changes, gap, edging, speaks):
    # hinged towards A at x = 3 and opening in, the leaf sweeps x 3 to 4.2; the bed stands at its
    # far quarter, which the other hinge leaves free
    gate = replace(GATE, **({"opens": "in", "gap_below_m": gap} | changes))
    spec = box(2.5, 0.9, 3.2, 1.5, edging=edging)
    assert bool(findings("gate-swing", [spec], [gate], board=pine(height_m=0.14))) is speaks


@pytest.mark.parametrize(
    ("at", "opens", "speaks"),
    [
        ((3.4, 0.5), "in", True),
        ((3.4, 0.5), "out", False),
        ((3.1, 1.25), "in", False),
        ((4.15, 1.0), "in", False),
    ],
)
def test_a_leaf_clears_the_stems(at, opens, speaks):
    gate = replace(GATE, opens=opens)
    assert bool(findings("gate-swing", gates=[gate], plants=(Plant("p", at),))) is speaks


# ---- clear width ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("under_m", "severity"),
    [(0, None), (-0.05, None), (0.005, "warning"), (0.4, "warning"), (0.9144, "error")],
)
def test_the_walk_between_two_gates_is_wide_enough(under_m, severity):
    # E03: ABA/ADA Standards 403.5.1: 36 in clear
    throat = published("E03")[0] * INCH - under_m
    beds = [box(0, 2, 3, 4, "west", None), box(3 + throat, 2, 8, 4, "east", None)]
    found = findings("walk-width", beds, [GATE, BACK])
    assert [finding.severity for finding in found] == ([severity] if severity else [])


def test_the_throat_is_measured():
    beds = [box(0, 2, 3, 4, "west", None), box(3.6, 2, 8, 4, "east", None)]
    (finding,) = findings("walk-width", beds, [GATE, BACK], show="metric")
    width_mm = int(re.match(r"\d+", finding.figure)[0])
    assert width_mm == pytest.approx(600, abs=2)
    assert finding.where == "front to back"


def test_a_tree_narrows_the_walk():
    beds = [box(0, 2, 3, 4, "west", None), box(5, 2, 8, 4, "east", None)]
    tree = Plant("tree", (4, 3), 0.2, keep_clear_m=0.2)
    (finding,) = findings("walk-width", beds, [GATE, BACK], plants=(tree,), show="metric")
    assert int(re.match(r"\d+", finding.figure)[0]) == pytest.approx(700, abs=3)


def test_no_way_between_gates_is_grave():
    beds = [box(0, 2, 8, 4, "wall", None)]
    (finding,) = findings("walk-width", beds, [GATE, BACK])
    assert (finding.severity, finding.figure) == ("error", "no way through")
    assert not findings("walk-width", beds, [GATE])


# ---- base, units, joints -------------------------------------------------------------------


def paved(paver, joint=(0.003, 0.003), base=0.15):
    layers = (Layer("rock", base),) if base else ()
    return {
        "paths": [PathSpec("walk", Rest(), paving=Paving("unit", joint_m=joint), layers=layers)],
        "pavers": {"unit": paver},
    }


BLOCK = Paver("unit", 0.2, 0.1, 0.06)


@pytest.mark.parametrize(
    ("base_m", "speaks"),
    [(published("A14")[0] * INCH, False), (published("A14")[0] * INCH - 1e-4, True), (0, True)],
)
def test_a_base_under_units_is_deep_enough(base_m, speaks):
    # A14: Interlocking Concrete Pavement Institute: 4 in for walks and patios
    assert bool(findings("base-depth", **paved(BLOCK, base=base_m))) is speaks


def test_a_path_without_units_needs_no_base():
    assert not findings("base-depth")


@pytest.mark.parametrize(("thick_m", "speaks"), [(0.06, False), (0.0595, True)])
def test_small_units_are_thick_enough(thick_m, speaks):
    # A18: CMHA PAV-TEC-002-22: 60 mm for pedestrian use
    assert "60 mm" in ROWS["A18"]["expected"]
    unit = replace(BLOCK, thickness_m=thick_m)
    assert bool(findings("unit-thickness", **paved(unit))) is speaks


@pytest.mark.parametrize(
    ("size_in", "small"),
    [((4, 8), True), ((12, 12), False), ((10.1, 10), True), ((10.1, 10.01), False)],
)
def test_what_counts_as_a_small_unit(size_in, small):
    # A19 A20: ASTM C936, 5.1: face up to 101 in²; 4 × 8 is 32 in², a 12 in slab 144 in²
    assert published("A19")[0] == 101
    unit = replace(BLOCK, length_m=size_in[1] * INCH, width_m=size_in[0] * INCH, thickness_m=0.03)
    assert bool(findings("unit-thickness", **paved(unit))) is small


@pytest.mark.parametrize(
    ("joint_in", "speaks"),
    [(1 / 16, False), (3 / 16, False), (1 / 16 - 0.001, True), (3 / 16 + 0.001, True), (0, True)],
)
def test_joints_between_small_units(joint_in, speaks):
    # A16: Interlocking Concrete Pavement Institute: 1/16 to 3/16 in
    assert ROWS["A16"]["expected"] == "1/16 to 3/16"
    joint = (joint_in * INCH, joint_in * INCH)
    found = findings("joint-width", **paved(BLOCK, joint))
    assert [finding.severity for finding in found] == (["note"] if speaks else [])


def test_slabs_may_have_wide_joints():
    slab = Paver("unit", 0.4, 0.4, 0.04)
    assert not findings("joint-width", **paved(slab, (0.01, 0.04)))


def test_ground_in_no_use_is_noted():
    assert findings("spare-ground", paths=[PathSpec("p", Rest())]) == []
    layout = garden(YARD, [box(1, 1, 2, 2)], paths=())
    (finding,) = [f for f in make_plan(layout).findings if f.rule == "spare-ground"]
    assert finding.severity == "note"
    assert "505.9 ft^2" in finding.figure  # 47 m²


def test_a_path_no_unit_fits_is_grave():
    # wide enough for the unit, but only askew to the courses asked for
    strip = PathSpec("walk", Rest(), paving=Paving("unit", direction=45.0))
    layout = garden(rectangle(3, 0.5), [], [strip], pavers={"unit": Paver("unit", 0.5, 0.45, 0.1)})
    (finding,) = [f for f in make_plan(layout).findings if f.rule == "no-unit-fits"]
    assert finding.severity == "error"


def test_the_gravest_come_first():
    beds = [box(0, 2, 8, 4, "wall", None)]
    plan = make_plan(garden(YARD, beds, paths=(), gates=(replace(GATE, opening_m=0.7), BACK)))
    assert [f.severity for f in plan.findings] == ["error", "warning", "warning", "note"]


# ---- cautions ------------------------------------------------------------------------------


def topics(beds=(), paths=(), **more):
    return [
        caution.topic
        for caution in make_plan(
            garden(YARD, beds, paths, materials={"rock": ROCK}, **more)
        ).cautions
    ]


def test_cautions_go_by_what_the_plan_holds():
    bare = topics()
    assert bare == ["codes"]
    assert topics(plants=(Plant("p", (2, 2)),)) == ["codes", "roots"]
    assert topics([box(1, 1, 2, 2)]) == ["codes", "digging", "saw", "screws", "treated wood"]
    assert topics(paths=[PathSpec("p", Rest(), layers=(Layer("rock", 0.1),))]) == [
        "codes",
        "digging",
        "dust",
        "drainage",
    ]


@pytest.mark.parametrize(("weight_kg", "speaks"), [(23.0, False), (23.1, True), (None, False)])
def test_units_too_heavy_for_one(weight_kg, speaks):
    # W03: NIOSH reference weight, 51 lb (23 kg), quoted by OSHA
    assert published("W03") == [51.0]
    assert "23 kg" in ROWS["W03"]["unit"]
    unit = replace(BLOCK, weight_kg=weight_kg)
    more = paved(unit)
    assert ("lifting" in topics(paths=more["paths"], pavers=more["pavers"])) is speaks


def test_heavy_bags_are_named_where_they_are_used():
    soil = Material("soil", density_kg_m3=1200, bags=(Bag(0.025, 3.0),))
    spec = BedSpec("b", Circle((4, 3), 0.5), layers=(Layer("soil", 0.1),))
    plan = make_plan(garden(YARD, [spec], (), materials={"soil": soil}))
    (lifting,) = [caution for caution in plan.cautions if caution.topic == "lifting"]
    assert "bags of soil" in lifting.text
    assert "lifting" not in topics([BedSpec("b", Circle((4, 3), 0.5))])


def test_every_caution_names_what_it_rests_on():
    plan = make_plan(garden(YARD, [box(1, 1, 2, 2)], plants=(Plant("p", (1.5, 1.5)),)))
    assert all(caution.text and caution.source for caution in plan.cautions)
