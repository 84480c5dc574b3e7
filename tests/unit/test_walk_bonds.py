"""Every bond on the demo gardens: units whole, inside and apart, counts under their bounds."""

from __future__ import annotations

import functools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from bedplan.errors import LayoutError
from bedplan.geometry.polygons import parts
from bedplan.layout_file import load_layout
from bedplan.model.bonds import ONE_SIZE
from bedplan.plan import FreeSearch
from bedplan.plan.walk import lay_walk
from bedplan.site import resolve

LAYOUTS = Path(__file__).parents[2] / "layouts"
GARDENS = ("tutorial", "five-sided-yard", "corner-plot")
PRESS_M = 3e-5
"""How far a unit may press into an edge: `FIT_M` three times over."""


@functools.cache
def garden(name):
    layout = load_layout(LAYOUTS / f"{name}.toml")
    return layout, resolve(layout)


def laid(name, **changes):
    """Return the first path of a garden with other paving, laid; searches are short."""
    layout, site = garden(name)
    path = site.paths[0]
    spec = replace(path.spec, paving=replace(path.spec.paving, **changes))
    layout = replace(layout, paths=(spec, *layout.paths[1:]))
    return lay_walk(layout, site, replace(path, spec=spec), FreeSearch(0.4))


@functools.cache
def in_bond(name, bond):
    return laid(name, bond=bond)


@pytest.mark.parametrize("bond", ONE_SIZE)
@pytest.mark.parametrize("name", GARDENS)
def test_units_are_whole_inside_and_a_joint_apart(name, bond):
    walk = in_bond(name, bond)
    units = np.array(walk.outlines)
    assert len(units) == walk.count > 0
    assert np.allclose(shapely.area(units), walk.paver.length_m * walk.paver.width_m)
    assert np.all(shapely.covers(walk.ground.buffer(PRESS_M), units))
    least_m = walk.path.spec.paving.joint_m[0]
    first, second = shapely.STRtree(units).query(units, "dwithin", least_m + 1e-6)
    first, second = first[first < second], second[first < second]
    assert np.all(shapely.distance(units[first], units[second]) >= least_m - PRESS_M)


@pytest.mark.parametrize("bond", ONE_SIZE)
@pytest.mark.parametrize("name", GARDENS)
def test_area_is_the_units_and_counts_stay_under_their_bounds(name, bond):
    walk = in_bond(name, bond)
    face_m2 = walk.paver.length_m * walk.paver.width_m
    assert walk.paved_area_m2 == pytest.approx(walk.count * face_m2)
    assert walk.paved_area_m2 + walk.open_area_m2 == pytest.approx(walk.ground.area)
    assert walk.count <= walk.line_bound <= walk.upper_bound
    assert walk.upper_bound * face_m2 <= walk.ground.area
    assert walk.proven == (walk.count == walk.upper_bound)


@pytest.mark.parametrize("bond", [bond for bond in ONE_SIZE if bond != "free"])
@pytest.mark.parametrize("name", GARDENS)
def test_joints_lie_between_least_and_greatest(name, bond):
    walk = in_bond(name, bond)
    least_m, greatest_m = walk.path.spec.paving.joint_m
    assert walk.shift_proven
    assert all(least_m <= laying.joint_m <= greatest_m for laying in walk.layings)


@pytest.mark.parametrize("name", GARDENS)
def test_courses_hold_no_fewer_than_bonds_of_rows_and_free_no_fewer_than_courses(name):
    rows = [in_bond(name, bond).count for bond in ("stack", "running")]
    assert max(rows) <= in_bond(name, "courses").count <= in_bond(name, "free").count
    # the bound on layouts turned alike, of whichever way courses lie, is over all of them
    assert in_bond(name, "courses").count <= in_bond(name, "courses").line_bound


@pytest.mark.parametrize("bond", ONE_SIZE)
def test_separate_walks_hold_their_own_units(bond):
    walk = in_bond("tutorial", bond)
    pieces = parts(walk.ground)
    for laying in walk.layings:
        homes = {
            number
            for number, piece in enumerate(pieces)
            for unit in laying.units
            if piece.distance(shapely.Point(unit[:2])) == 0.0
        }
        assert len(homes) == 1


@pytest.mark.parametrize(
    ("bond", "turns"),
    [
        ("stack", {0.0}),
        ("running", {0.0}),
        ("herringbone", {0.0, 90.0}),
        ("herringbone 45", {45.0, 135.0}),
        ("basket weave", {0.0, 90.0}),
    ],
)
def test_units_lie_the_way_the_bond_and_the_direction_say(bond, turns):
    # a bond may be turned by a right angle on its side, never by less
    walk = laid("corner-plot", bond=bond, direction=20.0)
    found = {
        round((unit.turn_deg - 20.0) % 180.0, 3) for each in walk.layings for unit in each.units
    }
    if len(turns) == 1:
        assert len(found) == 1
        assert found <= {0.0, 90.0}
    else:
        assert found == turns


def test_courses_keep_to_the_direction_asked_for():
    courses = laid("corner-plot", bond="courses", direction=20.0)
    turns = {round((unit.turn_deg - 20.0) % 90.0, 3) % 90.0 for unit in courses.layings[0].units}
    assert turns == {0.0}
    best = in_bond("corner-plot", "courses")
    assert courses.count < best.count
    assert laid("corner-plot", bond="free", direction=20.0).count >= courses.count


def test_where_turns_mix_the_bound_is_that_of_any_layout():
    mixed, alike = (in_bond("corner-plot", bond) for bond in ("herringbone", "stack"))
    assert mixed.line_bound == mixed.upper_bound
    assert alike.line_bound < alike.upper_bound


def test_a_bond_nobody_knows_is_a_fault_of_that_key():
    with pytest.raises(LayoutError, match="no bond is called 'weave'") as told:
        laid("tutorial", bond="weave")
    assert told.value.faults[0].path == ("path", 0, "bond")


def test_a_side_nobody_knows_is_told_by_its_name():
    with pytest.raises(LayoutError, match="no side is called 'XY'"):
        laid("tutorial", bond="courses", direction="XY")


@pytest.mark.parametrize("bond", ["herringbone", "basket weave"])
def test_square_units_a_quarter_turn_apart_lie_alike(bond):
    # a square slab looks the same after a quarter turn, so the sharper bound holds for both
    walk = in_bond("five-sided-yard", bond)
    assert walk.line_bound == in_bond("five-sided-yard", "stack").line_bound < walk.upper_bound
