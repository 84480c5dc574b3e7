"""Every bond a layout may name, laid in the demo gardens, and the choices compared."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

from bedplan.errors import LayoutError
from bedplan.layout_file import load_layout
from bedplan.model.layout import Rest
from bedplan.plan import FreeSearch
from bedplan.plan.choices import COMPARED, choices
from bedplan.plan.walk import BONDS, lay_walk
from bedplan.site import resolve

LAYOUTS = Path(__file__).parents[2] / "layouts"
PAVED = [("five-sided-yard", 0), ("corner-plot", 0)]
QUICK = FreeSearch(0.3)


def laid(name, number, bond):
    layout = load_layout(LAYOUTS / f"{name}.toml")
    path = layout.paths[number]
    asked = replace(path, paving=replace(path.paving, bond=bond))
    layout = replace(layout, paths=(*layout.paths[:number], asked, *layout.paths[number + 1 :]))
    site = resolve(layout)
    return layout, site, lay_walk(layout, site, site.paths[number], QUICK)


@pytest.mark.parametrize(("name", "number"), PAVED)
@pytest.mark.parametrize("bond", BONDS)
def test_units_of_every_bond_are_whole_apart_and_within_the_bounds(name, number, bond):
    _, _, walk = laid(name, number, bond)
    least_m = walk.path.spec.paving.joint_m[0]
    outlines = np.array(walk.outlines)
    assert walk.count == len(outlines) > 0
    assert bool(np.all(shapely.covers(walk.ground.buffer(5e-5), outlines)))
    tree = shapely.STRtree(outlines)
    one, other = tree.query(outlines, predicate="dwithin", distance=least_m - 1e-4)
    assert not np.any(one != other)
    assert walk.count <= walk.line_bound <= walk.upper_bound
    assert walk.paved_area_m2 == pytest.approx(walk.count * walk.paver.face_m2)
    assert walk.open_area_m2 == pytest.approx(walk.ground.area - walk.paved_area_m2)


@pytest.mark.parametrize(("name", "number"), PAVED)
def test_courses_hold_at_least_what_rows_in_a_bond_hold(name, number):
    counts = {bond: laid(name, number, bond)[2].count for bond in ("stack", "running", "courses")}
    assert counts["courses"] >= max(counts.values())


def test_the_diagonal_herringbone_lies_at_half_a_right_angle():
    _, _, walk = laid("corner-plot", 0, "herringbone 45")
    turns = {round(unit.turn_deg % 90.0, 6) for part in walk.layings for unit in part.units}
    assert len(turns) == 1
    upright = laid("corner-plot", 0, "herringbone")[2].layings[0].direction_deg
    assert any((upright + 45.0 - turn) % 45.0 == pytest.approx(0.0, abs=2.0) for turn in turns)


def test_choices_are_what_each_would_lay_the_most_cover_first():
    layout = load_layout(LAYOUTS / "corner-plot.toml")
    site = resolve(layout)
    made = choices(layout, site, site.paths[0])
    assert {choice.bond for choice in made} == set(COMPARED)
    assert all(a.cover >= b.cover for a, b in pairwise(made))
    assert [choice.bond for choice in made if choice.chosen] == ["running"]
    block = layout.pavers["block"]
    for choice in made:
        walk = laid("corner-plot", 0, choice.bond)[2]
        assert choice.walk.count == walk.count
        assert choice.cover == pytest.approx(walk.paved_area_m2 / walk.ground.area)
        assert choice.cost == pytest.approx(block.price * (walk.count - block.on_hand))
        assert choice.weight_kg == pytest.approx(block.weight_kg * walk.count)


def test_a_path_without_units_has_no_choices():
    layout = load_layout(LAYOUTS / "corner-plot.toml")
    site = resolve(layout)
    gravel = next(path for path in site.paths if isinstance(path.spec.shape, Rest))
    with pytest.raises(LayoutError, match="has no pavers"):
        choices(layout, site, gravel)
