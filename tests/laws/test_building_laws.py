"""Laws of the build order: one way through it, and all the takeoff counts in it once."""

from __future__ import annotations

from collections import Counter
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
import shapely
from gardens import bed, garden, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan import load_layout, make_plan
from bedplan.model.layout import Gate, Layer, Outline, PathSpec, Paving
from bedplan.model.materials import Fabric, Material, Paver, StockItem
from bedplan.outputs.record import record
from bedplan.plan.building import build_steps

LAYOUTS = Path(__file__).parents[2] / "layouts"
NAMES = ["five-sided-yard", "corner-plot", "sloping-terrace"]


@cache
def made(name):
    plan = make_plan(load_layout(LAYOUTS / f"{name}.toml"))
    return plan, build_steps(plan)


def summed(steps, stage, kind="count"):
    """Return what the steps of a stage take, by name."""
    total = Counter()
    for step in steps:
        if step.key.partition(":")[0] in stage:
            for each in step.quantities:
                total[each.name] += each.amount if each.kind == kind else 0
    return {name: amount for name, amount in total.items() if amount}


def hold_order(steps):
    graph = {step.key: set(step.before) for step in steps}
    assert len(graph) == len(steps), "two steps of one key"
    assert set().union(*graph.values()) <= set(graph)
    order = list(TopologicalSorter(graph).static_order())  # raises where there is a ring
    assert set(order) == set(graph)
    place = {step.key: number for number, step in enumerate(steps)}
    assert all(place[key] < place[step.key] for step in steps for key in step.before)
    behind = {}
    for step in steps:
        behind[step.key] = set(step.before).union(*(behind[key] for key in step.before))
    assert steps[0].key == "fence"
    assert all("fence" in behind[step.key] for step in steps[1:])
    return behind


def hold_what_waits(behind):
    """Hold what cannot be done later without undoing work."""
    starts = {
        stage: [key for key in behind if key.partition(":")[0] == stage]
        for stage in ("dig", "boards", "stakes", "soil", "plants", "units", "joints", "base")
    }
    for key, done in behind.items():
        stage, _, name = key.partition(":")
        if stage in ("dig", "stakes", "boards"):
            assert "locate" in done
        if stage == "boards":
            assert {*starts["dig"], *starts["stakes"], "saw"} & set(behind) <= done
        if stage in ("barrier", "base", "bedding", "units"):
            assert set(starts["boards"]) <= done
        if stage in ("bedding", "units"):
            assert set(starts["soil"]) <= done
        if stage in ("units", "joints"):
            lifts = [each for each in starts["base"] if each.startswith(f"base:{name}:")]
            assert {*lifts, f"bedding:{name}"} & set(behind) <= done
        if stage == "joints":
            assert f"units:{name}" in done
        if stage == "mulch":
            assert {*starts["units"], *starts["joints"], *starts["base"]} <= done
            assert {f"plants:{name}", f"soil:{name}"} & set(behind) <= done


def hold_sums(plan, steps):
    """Hold that steps take together what the takeoff tells, volume by volume, count by count."""
    data = record(plan)
    told = {"in place": "in_place_m3", "loose": "loose_m3"}
    stages = ("soil", "base", "bedding", "joints", "mulch")
    for kind, key in told.items():
        wanted = {each["material"]: each[key] for each in data["fill"] if each[key]}
        assert summed(steps, stages, kind) == pytest.approx(wanted)
        for where in {line["where"] for line in data["layers"]}:
            here = [step for step in steps if step.where == where]
            lines = sum(line[key] for line in data["layers"] if line["where"] == where)
            assert sum(summed(here, stages, kind).values()) == pytest.approx(lines)
    units = Counter()
    for path in data["paths"]:
        units.update({f"{name} units": count for name, count in path["units_by_paver"].items()})
    assert summed(steps, ("units",)) == {name: count for name, count in units.items() if count}
    pieces = {each["board"]: len(each["pieces"]) for each in data["edging"]}
    for stage in ("saw", "boards"):
        words = summed(steps, (stage,))
        for board, count in pieces.items():
            assert words.get(f"{board} pieces", 0) + words.get(f"{board} blocks", 0) == count
    for each in data["hardware"]:
        stage = "stakes" if each["kind"] == "stakes" else "boards"
        word = {
            "stakes": f"{each['name']} stakes",
            "screws": f"screws ({each['name']})",
            "connectors": f"{each['name']} connectors",
        }[each["kind"]]
        assert summed(steps, (stage,))[word] == each["count"]
    for each in data["barrier"]:
        mine = [step for step in steps if step.key == f"barrier:{each['fabric']}"]
        counts = summed(mine, ("barrier",))
        assert counts["strips"] == len(each["strips"])
        assert counts.get("pins", 0) == (each["pins"] or 0)
        lengths = summed(mine, ("barrier",), "length")
        assert lengths[each["fabric"]] == pytest.approx(sum(each["strips_m"]))
    new = Counter()
    for each in data["plants"]:
        new[each["kind"]] += 0 if each["existing"] else each["count"]
    assert summed(steps, ("plants",)) == {kind: count for kind, count in new.items() if count}


def hold_lifts(plan, steps):
    wanted = [
        line for line in plan.fill if line.kind == "layer" and line.lifts and line.in_place_m3
    ]
    beds = {each.name for each in plan.layout.beds}
    for line in wanted:
        if line.where in beds:
            continue
        there = [
            s
            for s in steps
            if s.where == line.where
            and s.quantities
            and s.key.startswith(("base:", "bedding:"))
            and s.quantities[0].name == line.material
        ]
        same = [
            each for each in wanted if (each.where, each.material) == (line.where, line.material)
        ]
        assert len(there) == sum(each.lifts for each in same)
        lift_m = plan.layout.materials[line.material].lift_m
        for step in there:
            assert step.quantities[1].amount <= lift_m * line.area_m2 + 1e-6


def hold_cautions(plan, steps):
    topics = {each.topic for each in plan.cautions}
    assert {each for step in steps for each in step.cautions} == topics
    assert "codes" in steps[0].cautions


@pytest.mark.parametrize("name", NAMES)
def test_demo_gardens(name):
    plan, steps = made(name)
    hold_what_waits(hold_order(steps))
    hold_sums(plan, steps)
    hold_lifts(plan, steps)
    hold_cautions(plan, steps)


def test_earthwork_is_that_of_the_ground():
    plan, steps = made("sloping-terrace")
    data = record(plan)["ground"]
    assert summed(steps, ("dig",), "in the bank")["soil"] == pytest.approx(data["cut_m3"])
    spoil = summed(steps, ("spoil",), "loose")
    assert sum(spoil.values()) == pytest.approx(data["loose_m3"])
    assert spoil["dug soil to cart away"] == pytest.approx(data["cart_m3"])


@pytest.mark.parametrize("name", NAMES)
def test_nearer_walks_are_never_finished_before_farther_ones(name):
    plan, steps = made(name)
    widest = max(plan.site.gates, key=lambda each: each.gate.opening_m)
    at = shapely.Point(widest.middle)
    away = {walk.path.spec.name: walk.ground.distance(at) for walk in plan.walks}
    for stage in ("dig", "base", "units"):
        distances = [away[step.where] for step in steps if step.key.startswith(f"{stage}:")]
        assert distances == sorted(distances, reverse=True)


ROCK = Material("rock", compaction=1.25, lift_m=0.075)
SAND = Material("sand", compaction=1.1)
BARK = Material("bark", settles=0.1)


@st.composite
def gardens(draw):
    """Return a garden of strips side by side, each a bed or a path of some sort."""
    depth = st.sampled_from([0.0, 0.02, 0.06, 0.16])
    beds, paths = [], []
    for number in range(draw(st.integers(1, 3))):
        x = 2.0 * number
        ring = [(x, 0.0), (x + 2.0, 0.0), (x + 2.0, 3.0), (x, 3.0)]
        felt = draw(st.sampled_from([None, "felt"]))
        layers = tuple(
            Layer(name, d)
            for name in draw(st.sampled_from([(), ("rock",), ("rock", "sand")]))
            if (d := draw(depth))
        )
        if draw(st.booleans()):
            mulch = Layer("bark", 0.06) if draw(st.booleans()) else None
            edging = draw(st.sampled_from([None, "pine"]))
            beds.append(
                bed(f"bed {number}", ring, edging=edging, barrier=felt, mulch=mulch, layers=layers)
            )
        else:
            paving = Paving("slab", joint_m=(0.003, 0.01)) if draw(st.booleans()) else None
            fill = "sand" if paving and draw(st.booleans()) else None
            paths.append(
                PathSpec(f"path {number}", Outline(tuple(ring)), felt, paving, layers, fill)
            )
    along = draw(st.sampled_from([0.2, 2.4, 4.8]))
    gates = (
        (Gate("gate", "AB", along, 1.0, hinge="A", opens="out"),) if draw(st.booleans()) else ()
    )
    return garden(
        rectangle(6, 3),
        beds,
        paths,
        gates=gates,
        materials={each.name: each for each in (ROCK, SAND, BARK)},
        pavers={"slab": Paver("slab", 0.5, 0.4, 0.05, weight_kg=25.0)},
        fabrics={"felt": Fabric("felt", 1.0, 0.2, rolls=(StockItem(50.0, 1.0),), pin_every_m=1.0)},
    )


@settings(max_examples=25, deadline=None)
@given(gardens())
def test_any_garden(layout):
    plan = make_plan(layout)
    steps = build_steps(plan)
    hold_what_waits(hold_order(steps))
    hold_sums(plan, steps)
    hold_lifts(plan, steps)
    hold_cautions(plan, steps)
    # a step only where the layout has it
    stages = Counter(step.key.partition(":")[0] for step in steps)
    assert stages["boards"] == sum(bool(edged.pieces) for edged in plan.edging)
    assert stages["barrier"] == len(plan.barriers)
    assert stages["units"] == sum(walk.count > 0 for walk in plan.walks)
    assert stages["mulch"] == sum(each.mulch is not None for each in layout.beds)
    heavy = {step.where for step in steps if "lifting" in step.cautions and step.key != "deliver"}
    assert heavy == {walk.path.spec.name for walk in plan.walks if walk.count}
