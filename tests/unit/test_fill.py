"""Volumes and weights of layers, mulch and joints."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from gardens import bed, garden, pine, rectangle
from shapely.geometry import box

from bedplan import make_plan
from bedplan.model.layout import BedSpec, Layer, Outline, PathSpec, Paving, Plant, Rest
from bedplan.model.materials import Material, Paver
from bedplan.takeoff.fill import (
    PavedArea,
    bed_fill,
    fill_line,
    loose_volume,
    path_fill,
    sum_by_material,
)
from bedplan.takeoff.spreading import spread_heap

ROCK = Material("rock", compaction=1.25, density_kg_m3=1700)
SAND = Material("sand", compaction=1.1)
BARK = Material("bark", density_kg_m3=300)
GOODS = {"rock": ROCK, "sand": SAND, "bark": BARK}


@pytest.mark.parametrize(
    ("material", "loose", "mass"), [(ROCK, 0.25, 0.25 * 1700), (SAND, 0.22, None), (BARK, 0.2, 60)]
)
def test_a_layers_volumes_and_weight(material, loose, mass):
    line = fill_line(material, "walk", "layer", 2.0, 0.1)
    assert (line.in_place_m3, line.loose_m3) == pytest.approx((0.2, loose))
    assert line.mass_kg == (None if mass is None else pytest.approx(mass))
    assert loose_volume(0.2, material.compaction) == pytest.approx(loose)


def test_a_bed_is_filled_lowest_layer_first_and_mulched_last():
    spec = BedSpec(
        "b",
        Outline(()),
        mulch=Layer("bark", 0.05),
        layers=(Layer("rock", 0.1), Layer("sand", 0.2)),
    )
    lines = bed_fill(spec, box(0, 0, 1, 1), box(0, 0, 2, 1), GOODS)
    assert [(line.material, line.kind, line.area_m2, line.in_place_m3) for line in lines] == [
        ("rock", "layer", 2, pytest.approx(0.2)),
        ("sand", "layer", 2, pytest.approx(0.4)),
        ("bark", "mulch", 1, pytest.approx(0.05)),
    ]


def test_joint_fill_takes_what_the_units_leave():
    path = PathSpec("p", Rest(), layers=(Layer("rock", 0.1),), joint_fill="sand")
    base, joints = path_fill(path, PavedArea(10, 8.5, 0.06), GOODS)
    assert base.area_m2 == 10
    assert (joints.kind, joints.area_m2, joints.in_place_m3) == (
        "joint fill",
        1.5,
        pytest.approx(0.09),
    )


def test_joint_fill_of_an_unpaved_path_is_nothing():
    path = PathSpec("p", Rest(), joint_fill="sand")
    (line,) = path_fill(path, PavedArea(10), GOODS)
    assert line.in_place_m3 == 0


def test_totals_go_by_material_in_order_of_first_use():
    lines = [
        fill_line(GOODS[name], "x", "layer", 1, depth)
        for name, depth in (("sand", 0.1), ("rock", 0.2), ("sand", 0.3))
    ]
    totals = sum_by_material(lines)
    assert [total.material for total in totals] == ["sand", "rock"]
    assert totals[0].in_place_m3 == pytest.approx(0.4)
    assert totals[0].mass_kg is None
    assert totals[1].mass_kg == pytest.approx(0.25 * 1700)
    assert sum_by_material([]) == []


# ---- through a whole plan ------------------------------------------------------------------


def test_a_plan_fills_inside_the_boards_and_round_the_stems():
    t = 0.02
    spec = bed(
        "b",
        [(1, 1), (3, 1), (3, 2), (1, 2)],
        mulch=Layer("bark", 0.07),
        layers=(Layer("rock", 0.1),),
    )
    plants = (Plant("p", (2, 1.5), 0.1, keep_clear_m=0.15),)
    plan = make_plan(
        garden(rectangle(4, 4), [spec], board=pine(thickness_m=t), plants=plants, materials=GOODS)
    )
    soil, mulch = plan.fill
    inside = (2 - 2 * t) * (1 - 2 * t)
    assert soil.area_m2 == pytest.approx(inside)
    assert mulch.area_m2 == pytest.approx(inside - math.pi * 0.04, abs=3e-4)


def test_a_plans_walk_is_laid_on_all_its_ground_less_stems():
    slab = Paver("slab", 0.4, 0.4, 0.05)
    walk = PathSpec(
        "w",
        Rest(),
        paving=Paving("slab", joint_m=(0.01, 0.01)),
        layers=(Layer("rock", 0.1),),
        joint_fill="sand",
    )
    layout = garden(rectangle(2.06, 1.24), [], [walk], pavers={"slab": slab}, materials=GOODS)
    plan = make_plan(layout)
    base, joints = plan.fill
    assert plan.walks[0].count == 15
    assert base.in_place_m3 == pytest.approx(2.06 * 1.24 * 0.1)
    assert joints.in_place_m3 == pytest.approx((2.06 * 1.24 - 15 * 0.16) * 0.05)
    tree = Plant("tree", (1.03, 0.62), 0.1, keep_clear_m=0.05)
    with_tree = make_plan(replace(layout, plants=(tree,)))
    assert with_tree.fill[0].area_m2 == pytest.approx(2.06 * 1.24 - math.pi * 0.01, abs=1e-4)
    assert with_tree.walks[0].count < 15
    assert with_tree.walks[0].open_area_m2 == pytest.approx(
        with_tree.fill[0].area_m2 - with_tree.walks[0].count * 0.16
    )


@pytest.mark.parametrize(
    ("heap", "covered"), [(0.0, [0, 1, 0]), (0.05, [0.5, 1, 0]), (0.15, [1, 1, 0.5]), (9, [1] * 3)]
)
def test_a_heap_fills_one_layer_after_the_other(heap, covered):
    # the middle layer lies there already and takes nothing, whatever is left
    lines = [
        fill_line(BARK, "one", "mulch", 1.0, 0.1),
        fill_line(BARK, "full", "mulch", 1.0, 0.1, there_m=0.1),
        fill_line(BARK, "last", "mulch", 1.0, 0.1),
    ]
    spread = spread_heap(BARK, heap, lines)
    assert [area_m2 for _, area_m2 in spread.layers] == pytest.approx(covered)
    assert spread.short_m3 == pytest.approx(0.2 - heap)
