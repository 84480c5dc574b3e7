"""Bonds of one's own and of two sizes, from the layout to the order and the drawing."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
import shapely
from gardens import fence, garden, rectangle

from bedplan.errors import GeometryError, LayoutError
from bedplan.layout_file import load_layout, parse_layout
from bedplan.model.bonds import BondPattern, MotifUnit, Step
from bedplan.model.layout import PathSpec, Paving, Rest
from bedplan.model.materials import Material, Paver
from bedplan.outputs.exports import layers
from bedplan.outputs.record import record
from bedplan.outputs.scene import Shapes, Text
from bedplan.outputs.sheet import Sheet
from bedplan.outputs.site_plan import site_plan
from bedplan.outputs.tables_ground import choices_table, units_table
from bedplan.paving import Bond, best_shift, least_gap_m, open_joints, upper_bound
from bedplan.paving.patterns import drawn
from bedplan.plan import make_plan
from bedplan.plan.choices import choices

LARGE = Paver("large", 0.4, 0.4, 0.05, price=5.0, weight_kg=16.0, on_hand=7)
SMALL = Paver("small", 0.2, 0.2, 0.05, price=2.0, weight_kg=4.0, on_hand=2)
RAIL = Paver("rail", 0.4, 0.1, 0.05)
BRICK = Paver("brick", 0.2, 0.095, 0.06)
PAVERS = {paver.name: paver for paver in (LARGE, SMALL, RAIL, BRICK)}
ROCK = {"rock": Material("rock")}


def unit(x=(), y=(), turned=False, face=1):
    return MotifUnit(Step(x, y), turned, face - 1)


def pattern(name, units, along, across):
    return BondPattern(name, tuple(units), Step(*along), Step(*across))


LADDER = pattern(
    "ladder",
    [unit((0.5,), (0, 0.5)), unit((0, 0, 0.5), (0, 1, 0, 0.5), face=2)],
    ((1,),),
    ((), (0, 1, 0, 1)),
)
# the words' own bonds, drawn anew: other corners, other steps, other order of the units
DRAWN = {
    "stack": pattern("my stack", [unit((3,), (0, -2))], ((1,), (0, 1)), ((-1,),)),
    "running": pattern("my half bond", [unit()], ((0.5,), (0, -1)), ((1,),)),
    "herringbone": pattern(
        "my herringbone",
        [unit((0.5, 0.5), (-0.5, 0.5), turned=True), unit()],
        ((1,), (-1,)),
        ((0, -1), (0, -1)),
    ),
    "basket weave": pattern(
        "my weave",
        [
            *(unit((0.5,), (0, row)) for row in (0.5, 1.5)),
            *(unit((0.5, 2), (1, row)) for row in (0.5, 1.5)),
            *(unit((1, row), (0.5,), turned=True) for row in (0.5, 1.5)),
            *(unit((0, row), (0.5, 2), turned=True) for row in (0.5, 1.5)),
        ],
        ((1, 2),),
        ((), (1, 2)),
    ),
}
REGIONS = {
    "oblong": rectangle(3.07, 1.93),
    "five sides": fence([(0, 0), (3.1, 0.2), (3.4, 2.1), (1.4, 2.9), (-0.2, 1.7)]),
    "L": fence([(0, 0), (3.2, 0), (3.2, 1.3), (1.6, 1.3), (1.5, 2.6), (0, 2.4)]),
}


def planned(spec, bond, paver="large", second=None, joint_m=(0.004, 0.012), **more):
    paving = Paving(paver, bond, joint_m=joint_m, second=second)
    path = PathSpec("walk", Rest(), paving=paving, joint_fill="rock")
    return make_plan(
        garden(
            spec,
            paths=[path],
            pavers=more.pop("pavers", PAVERS),
            bonds={each.name: each for each in (LADDER, *DRAWN.values())},
            materials=ROCK,
            **more,
        )
    )


@pytest.fixture(scope="module")
def pinwheel():
    return planned(REGIONS["five sides"], "pinwheel", second="small")


@pytest.fixture(scope="module")
def ladder():
    return planned(REGIONS["L"], "ladder", second="rail")


@pytest.fixture(params=["pinwheel", "ladder"])
def plan(request):
    return request.getfixturevalue(request.param)


# ---- the same bond, by its word and drawn ---------------------------------------------------


@pytest.mark.parametrize("region", REGIONS)
@pytest.mark.parametrize("word", DRAWN)
def test_a_bond_drawn_anew_lays_what_its_word_lays(word, region):
    by_word = planned(REGIONS[region], word, "brick").walks[0]
    by_hand = planned(REGIONS[region], DRAWN[word].name, "brick").walks[0]
    assert by_hand.count == by_word.count > 60
    assert by_hand.shift_proven == by_word.shift_proven
    assert (by_hand.line_bound, by_hand.upper_bound) == (by_word.line_bound, by_word.upper_bound)
    assert by_hand.layings[0].joint_m == pytest.approx(by_word.layings[0].joint_m)


def test_a_stack_drawn_anew_lies_where_the_stack_lies():
    places = [
        np.array(sorted(planned(REGIONS["oblong"], bond).walks[0].layings[0].units))
        for bond in ("stack", "my stack")
    ]
    np.testing.assert_allclose(places[0], places[1], atol=2e-5)


# ---- two sizes ------------------------------------------------------------------------------


def test_units_are_whole_inside_and_apart(plan):
    (walk,) = plan.walks
    units = np.array(walk.outlines)
    assert shapely.covers(walk.ground.buffer(3e-5), units).all()
    pairs = shapely.STRtree(units).query(units, "dwithin", 0.02)
    first, other = pairs[:, pairs[0] < pairs[1]]
    assert shapely.distance(units[first], units[other]).min() >= 0.004 - 1e-9


def test_counts_add_up_and_each_unit_has_the_face_of_its_name(plan):
    (walk,) = plan.walks
    assert sum(walk.counts.values()) == walk.count == len(walk.outlines)
    assert min(walk.counts.values()) > 10
    areas = shapely.area(np.array(walk.outlines))
    assert areas == pytest.approx([PAVERS[name].face_m2 for name in walk.unit_names])
    laid_m2 = sum(PAVERS[name].face_m2 * count for name, count in walk.counts.items())
    assert walk.paved_area_m2 == pytest.approx(laid_m2)
    assert walk.count <= walk.upper_bound == walk.line_bound


def test_order_and_joint_fill_follow_each_size(pinwheel):
    (walk,) = pinwheel.walks
    bought = {line.item: line.quantity for line in pinwheel.order.lines if line.group == "Pavers"}
    assert bought == {
        "large": walk.counts["large"] - LARGE.on_hand,
        "small": walk.counts["small"] - SMALL.on_hand,
    }
    (fill,) = [line for line in pinwheel.fill if line.kind == "joint fill"]
    open_m2 = walk.ground.area - 0.16 * walk.counts["large"] - 0.04 * walk.counts["small"]
    assert fill.in_place_m3 == pytest.approx(open_m2 * LARGE.thickness_m)


def test_a_limit_on_one_size_leaves_the_other_as_it_lies(pinwheel):
    few = {**PAVERS, "small": replace(SMALL, limit=5)}
    (walk,) = planned(REGIONS["five sides"], "pinwheel", second="small", pavers=few).walks
    (full,) = pinwheel.walks
    assert walk.counts == {**full.counts, "small": 5}
    assert set(walk.layings[0].units) < set(full.layings[0].units)
    none = {**PAVERS, "small": replace(SMALL, limit=0)}
    (bare,) = planned(REGIONS["five sides"], "pinwheel", second="small", pavers=none).walks
    assert bare.counts == {**full.counts, "small": 0}


def test_a_size_that_finds_no_place_is_told():
    # a yard of 0.5 by 0.5 m holds a large square, and no small one beside it
    plan = planned(rectangle(0.5, 0.5), "pinwheel", second="small", joint_m=(0.0, 0.0))
    assert plan.walks[0].count == 1
    (found,) = [finding for finding in plan.findings if finding.rule == "no-unit-fits"]
    (lost,) = (name for name, count in plan.walks[0].counts.items() if not count)
    assert (found.severity, found.figure) == ("warning", f"0 whole units of {lost}")


@pytest.mark.parametrize(
    ("thickness_m", "speaks"), [(0.05, False), (0.05005, False), (0.06, True)]
)
def test_units_of_two_thicknesses_leave_a_lip(thickness_m, speaks):
    pavers = {**PAVERS, "small": replace(SMALL, thickness_m=thickness_m)}
    plan = planned(REGIONS["oblong"], "pinwheel", second="small", pavers=pavers)
    found = [finding.severity for finding in plan.findings if finding.rule == "unit-lip"]
    assert found == (["warning"] if speaks else [])


def test_the_bound_of_two_sizes_is_that_of_the_face_inside_both():
    # neither face lies inside the other: the bound is of 0.2 by 0.1 m, not of the smaller area
    pair = pattern(
        "pair",
        [unit((0.5,), (0, 0.5)), unit((1, 0, 0.5), (0, 0, 0, 0.5), face=2)],
        ((1, 0, 1),),
        ((), (0, 0, 0, 1)),
    )
    pavers = {"square": Paver("square", 0.2, 0.2, 0.05), "bar": Paver("bar", 0.1, 0.3, 0.05)}
    path = PathSpec("walk", Rest(), paving=Paving("square", "pair", second="bar"))
    spec = rectangle(2.1, 0.9)
    (walk,) = make_plan(garden(spec, paths=[path], pavers=pavers, bonds={"pair": pair})).walks
    assert walk.counts == {"square": 21, "bar": 21}
    assert walk.upper_bound == upper_bound(walk.ground, 0.2, 0.1, 0.0) == 94


# ---- what reads a plan ----------------------------------------------------------------------


def test_the_record_tells_the_sizes_apart(plan):
    (path,) = record(plan)["paths"]
    (walk,) = plan.walks
    assert path["units_by_paver"] == walk.counts
    assert path["units"] == sum(path["units_by_paver"].values())
    told = path["placement_pavers"]
    assert {name: told.count(name) for name in told} == walk.counts
    assert len(told) == len(path["placements"])


def test_the_table_tells_both_counts_and_their_sum(plan):
    (row,) = units_table(plan).rows
    (walk,) = plan.walks
    first, second = walk.counts.values()
    assert row[1:3] == (" + ".join(walk.counts), f"{first} + {second} = {first + second}")


def test_each_exported_unit_bears_its_name(plan):
    units = layers(plan)["units"]
    assert units["paver"].value_counts().to_dict() == plan.walks[0].counts
    assert units.area.tolist() == pytest.approx([PAVERS[name].face_m2 for name in units["paver"]])


def test_the_drawing_tells_the_sizes_apart(plan):
    scene = site_plan(plan, Sheet("letter", None))
    shapes = [mark for mark in scene.marks if isinstance(mark, Shapes)]
    units = [mark for mark in shapes if mark.layer == "units"]
    counts = plan.walks[0].counts
    assert [len(mark.polygons) for mark in units] == list(counts.values())
    assert len({mark.fill for mark in units}) == 2
    words = [mark.text for mark in scene.marks if isinstance(mark, Text)]
    for name, count in counts.items():
        assert f"{count} × {name}" in words
        assert any(word.startswith(f"{name}, ") for word in words)


def test_choices_hold_own_bonds_and_pairs_of_one_thickness(ladder):
    layout, site = ladder.layout, ladder.site
    made = choices(layout, site, site.paths[0])
    two = {(each.paver, each.second) for each in made if each.bond == "ladder"}
    level = ("large", "small", "rail")
    assert ("large", "rail") in two
    assert two <= {(one, other) for one in level for other in level if one != other}
    assert {each.bond for each in made if each.second is None} >= {"stack", "my stack"}
    assert [each.walk.counts for each in made if each.chosen] == [ladder.walks[0].counts]
    (wheel,) = [each for each in made if each.bond == "pinwheel" and each.walk.counts["large"] > 9]
    counts = wheel.walk.counts
    assert (wheel.paver, wheel.second) == ("large", "small")
    assert wheel.cost == pytest.approx(5.0 * (counts["large"] - 7) + 2.0 * (counts["small"] - 2))
    assert wheel.weight_kg == pytest.approx(16.0 * counts["large"] + 4.0 * counts["small"])
    units = [row[0] for row in choices_table("walk", made, "metric").rows]
    pairs = [(each.paver, each.second) for each in made]
    assert units.count("large + small") == pairs.count(("large", "small")) > 0


# ---- patterns by themselves -----------------------------------------------------------------


def test_a_bond_that_keeps_no_wider_joint_is_laid_at_the_least():
    # a step of 1.25 L - 0.5 W is a length of 0.4 m at no joint, and grows by 3/4 of the joint only
    slow = Bond("slow", ((0.4, 0.2),), (MotifUnit(),), Step(x=(1.25, -0.5)), Step(y=(0, 1)))
    assert least_gap_m(slow, 0.0) == pytest.approx(0.0)
    assert least_gap_m(slow, 0.01) == pytest.approx(0.0075)
    region = shapely.box(0, 0, 2.1, 1.1)
    laying = best_shift(region, slow, 0.0)
    assert laying.count == 25
    assert open_joints(region, laying, 0.01).joint_m == 0.0


@pytest.mark.parametrize(
    ("bond", "second", "says"),
    [
        ("ladder", None, "laid of two units"),
        ("stack", "small", "laid of one unit"),
        ("pinwheel", "rail", "'rail' is none"),
        ("zigzag", None, "no bond is called 'zigzag'"),
    ],
)
def test_a_layout_built_in_python_is_told_what_does_not_go_together(bond, second, says):
    with pytest.raises(LayoutError, match=says):
        planned(REGIONS["oblong"], bond, second=second)


def test_a_pattern_needs_the_units_it_measures_by():
    with pytest.raises(GeometryError, match="two sizes"):
        drawn(pattern("far", [unit()], ((1, 0, 1),), ((), (0, 1))), [(0.4, 0.2)])


def test_steps_may_be_any_that_span_the_same_lattice():
    # the same stack by ever longer and slanting steps
    for times in (1, 7, 49):
        slant = pattern("slant", [unit()], ((1,), (0, 1)), ((times + 1,), (0, times)))
        bond = drawn(slant, [(0.4, 0.2)])
        assert least_gap_m(bond, 0.01) == pytest.approx(0.01)
        assert best_shift(shapely.box(0, 0, 2.06, 1.06), bond, 0.01).count == 25


def step(metres):
    """Return a step of so many metres for a bond whose first length is a metre."""
    return Step(x=(metres[0],), y=(metres[1],))


@pytest.mark.parametrize(
    ("one", "other"),
    [((1.64, 0.91), (0.91, 1.64)), ((0.65, 0.67), (0.67, 0.65)), ((0.54, 0.18), (0.18, 0.54))],
)
def test_steps_that_mirror_each_other_are_measured_too(one, other):
    # ties of rounding in the reduction of the lattice, met by random patterns: each once hung
    slant = Bond("slant", ((1.0, 0.1), (1e-3, 1e-3)), (MotifUnit(face=1),), step(one), step(other))
    np.testing.assert_allclose(slant.lattice(0.0), [one, other])
    around = [i * np.array(one) + j * np.array(other) for i, j in product(range(-9, 10), repeat=2)]
    gaps = [np.hypot(*np.maximum(np.abs(at) - 1e-3, 0.0)) for at in around if at.any()]
    assert least_gap_m(slant, 0.0) == pytest.approx(min(gaps))


LIBRARY = """
[bond.ladder]
along = { x = [1] }
across = { y = [0, 1, 0, 1] }
units = [
    { x = [0.5], y = [0, 0.5] },
    { x = [0, 0, "1/2"], y = [0, 1, 0, "1/2"], face = 2 },
]
[paver.large]
size = ["400 mm", "400 mm"]
thickness = "50 mm"
[paver.rail]
size = ["400 mm", "100 mm"]
thickness = "50 mm"
"""
YARD = """
title = "Yard"
unit = "m"
include = "bonds.toml"
[enclosure.corners]
A = [0, 0]
B = [3.2, 0]
C = [3.2, 1.3]
D = [1.6, 1.3]
E = [1.5, 2.6]
F = [0, 2.4]
[[path]]
name = "walk"
area = "rest"
pavers = "large"
second = "rail"
bond = "ladder"
joint = ["4 mm", "12 mm"]
"""


def test_a_bond_may_stand_in_a_list_that_layouts_include(tmp_path, ladder):
    (tmp_path / "bonds.toml").write_text(LIBRARY)
    (tmp_path / "yard.toml").write_text(YARD)
    layout = load_layout(tmp_path / "yard.toml")
    assert layout.bonds == {"ladder": LADDER}
    assert make_plan(layout).walks[0].counts == ladder.walks[0].counts


def test_a_fault_of_an_included_bond_stands_in_its_list(tmp_path):
    (tmp_path / "bonds.toml").write_text(LIBRARY.replace("y = [0, 1, 0, 1]", "x = [2]"))
    (tmp_path / "yard.toml").write_text(YARD)
    with pytest.raises(LayoutError) as caught:
        load_layout(tmp_path / "yard.toml")
    (fault,) = caught.value.faults
    assert (fault.file, fault.line) == (str(tmp_path / "bonds.toml"), 4)


def test_every_fault_of_bonds_comes_at_once():
    text = (YARD + LIBRARY).replace('include = "bonds.toml"\n', "")
    text = text.replace('second = "rail"\n', "").replace('"50 mm"', '"50 lb"')
    with pytest.raises(LayoutError) as caught:
        parse_layout(text)
    got = [fault.got for fault in caught.value.faults]
    assert "bond 'ladder' without a second unit" in got
    assert got.count('"50 lb"') == 2
    assert all(a.line <= b.line for a, b in pairwise(caught.value.faults))
