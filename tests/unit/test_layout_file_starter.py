"""The starter layout: sound, in both systems, and a lesson in every common key."""

from __future__ import annotations

import re

import pytest

from bedplan.layout_file import parse_layout, starter
from bedplan.layout_file.schema import (
    BedTable,
    EnclosureTable,
    GateTable,
    LayoutFile,
    PathTable,
    PlantTable,
)
from bedplan.layout_file.schema_goods import (
    BoardTable,
    FabricTable,
    MaterialTable,
    PaverTable,
    ScrewTable,
    StakeTable,
)
from bedplan.plan import make_plan
from bedplan.site import resolve

BOTH = pytest.mark.parametrize("show", ["imperial", "metric"])


@BOTH
def test_it_loads_and_stands(show):
    layout = parse_layout(starter("Yard", show))
    assert layout.show == show
    site = resolve(layout)
    taken = sum(bed.outline.area for bed in site.beds) + sum(path.area.area for path in site.paths)
    assert taken + site.spare.area == pytest.approx(site.enclosure.area_m2, rel=1e-6)
    assert site.spare.area == pytest.approx(0, abs=1e-6)


def test_both_dresses_are_one_garden():
    imperial, metric = (
        resolve(parse_layout(starter("Yard", show))) for show in ("imperial", "metric")
    )
    assert metric.enclosure.area_m2 == pytest.approx(imperial.enclosure.area_m2, rel=0.03)
    for one, other in zip(imperial.beds, metric.beds, strict=True):
        assert one.spec.name == other.spec.name
        assert other.outline.area == pytest.approx(one.outline.area, rel=0.05)


@BOTH
def test_no_post_stands_in_the_gate(show):
    site = resolve(parse_layout(starter("Yard", show)))
    (gate,) = site.gates
    along = (min(gate.start[0], gate.end[0]), max(gate.start[0], gate.end[0]))
    for post in site.posts:
        if post.name.startswith("AB"):
            left, _, right, _ = post.outline.bounds
            assert right <= along[0] + 1e-6 or left >= along[1] - 1e-6


@pytest.mark.parametrize(
    "title", ['12" border', "back\\slash", "two\nlines", "Grün — 庭", "a\x7fb"]
)
def test_any_title_is_written_so_that_it_reads_back(title):
    clean = " ".join(re.sub(r"[\x00-\x1f\x7f]", " ", title).split())
    assert parse_layout(starter(title)).title == clean


def test_an_empty_title_still_gives_a_layout():
    assert parse_layout(starter("  \n")).title == "New garden"


@pytest.mark.parametrize(
    ("model", "unused"),
    [
        (LayoutFile, {"order", "ground", "planting"}),
        # a fence told by ties is on a page of its own
        (EnclosureTable, {"ties", "known", "marks", "turn", "inward", "tape"}),
        (GateTable, set()),
        (PlantTable, set()),
        (BedTable, {"polygon"}),  # named in the heading of its part
        (
            PathTable,  # rare but the first; heights have a page of their own
            {"polygon", "second", "stride", "base_beyond", "fall", "level", "at", "dug"},
        ),
        (
            BoardTable,
            {
                "end_trim",
                "splice_clear",
                "stagger",
                "least_piece",
                "at_posts",
                "corner_screws",
                "block_screws",
                "stake_screws",
                "connector_price",
                "waste",
            },
        ),
        (StakeTable, {"pack"}),
        (ScrewTable, set()),
        (PaverTable, {"limit", "waste"}),
        (FabricTable, set()),
        (MaterialTable, {"sold_by", "kind", "lift", "settles", "waste"}),
    ],
)
def test_every_common_key_is_shown(model, unused):
    text = starter("Yard")
    shown = {key for key in model.model_fields if re.search(rf"\b{key}\b", text)}
    assert set(model.model_fields) - shown <= unused


@BOTH
def test_its_plan_has_no_finding_that_must_be_settled(show):
    plan = make_plan(parse_layout(starter("Yard", show)))
    assert [finding.rule for finding in plan.findings if finding.severity != "note"] == []
    assert {item.name for item in plan.layout.beds} == {
        "long border",
        "kitchen bed",
        "pear bed",
        "round bed",
    }
