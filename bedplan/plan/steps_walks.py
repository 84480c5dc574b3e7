"""Steps of the ground below the walks: dig, bring the goods, lay the barrier (layer: plan).

Walks come farthest from the gate first, so that nobody wheels over what is finished. Keys that no
step has are dropped by `bedplan.plan.building.build_steps`, which is the public entry point.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import shapely

from bedplan.ground.depths import PathDig
from bedplan.ground.works import PathWorks
from bedplan.model.site import PlacedGate
from bedplan.plan.make import Plan
from bedplan.plan.openings import barrier_openings
from bedplan.plan.steps import (
    FILE,
    FIRST,
    BuildStep,
    Check,
    Quantity,
    about,
)
from bedplan.plan.walk import Walk
from bedplan.practice.roots import critical_radius_m
from bedplan.takeoff.fill import FillLine
from bedplan.takeoff.haul import haul

SURFACE_M: Final = 0.009525
"""A formation may stray so far from its plane [m]: 3/8 in, as a finished base may over 10 ft."""


def wheeling_gate(plan: Plan) -> PlacedGate | None:
    """Return the gate everything is wheeled through: the widest, of equals the first."""
    return max(plan.site.gates, key=lambda each: each.gate.opening_m, default=None)


def far_first(plan: Plan) -> list[Walk]:
    """Return the walks in the order they are worked: the farthest from the gate first.

    Of walks as near, as two that start at the gate, the one whose middle is farther comes first.
    """
    gate = wheeling_gate(plan)
    if gate is None:
        return list(plan.walks)
    at = shapely.Point(gate.middle)
    return sorted(
        (walk for walk in plan.walks if not walk.ground.is_empty),
        key=lambda walk: (walk.ground.distance(at), walk.ground.centroid.distance(at)),
        reverse=True,
    )


def lines_of(plan: Plan, walk: Walk) -> list[FillLine]:
    """Return the fill of a walk; paths stand after beds, which may bear the same names."""
    past = sum(len(each.layers) + bool(each.mulch) for each in plan.layout.beds)
    return [line for line in plan.fill[past:] if line.where == walk.path.spec.name]


def dig_walks(plan: Plan) -> Iterator[BuildStep]:
    """Yield the digging of every walk that has something to lay in it."""
    works = {path.path: path for path in plan.works.paths} if plan.works else {}
    for walk in far_first(plan):
        name = walk.path.spec.name
        down_m = _depth_m(walk)
        if down_m <= 0.0:
            continue
        ground = works.get(name)
        made, checks = _flat(plan, walk, down_m) if ground is None else _sloping(ground)
        rooted = list(_among_roots(plan, walk))
        yield BuildStep(
            f"dig:{name}",
            "Dig" if not rooted else f"Dig, by hand near {', '.join(rooted)}",
            name,
            tuple(made),
            ("spade", "barrow", "string", "level"),
            ("mark", "locate"),
            tuple(checks),
            ("digging", "drainage", *(["roots"] if rooted else [])),
        )


def _flat(plan: Plan, walk: Walk, down_m: float) -> tuple[list[Quantity], list[Check]]:
    """Return what is dug where the file says nothing of its ground: taken as level."""
    base_m2 = max((line.area_m2 for line in lines_of(plan, walk)), default=0.0)
    dug_m3 = max(base_m2, float(walk.ground.area)) * down_m
    check = about("formation below the finish, ground taken as level", down_m, SURFACE_M)
    return [Quantity("soil", dug_m3, "in the bank")], [check]


def _sloping(ground: PathWorks) -> tuple[list[Quantity], list[Check]]:
    """Return what is dug by the heights of the ground, and the formation at one place a walk."""
    made = [Quantity("soil", ground.work.cut_m3, "in the bank")]
    if ground.work.fill_m3 > 0.0:
        made.append(Quantity("ground made up and rolled", ground.work.fill_m3, "in place"))
    depths = [_below(*_range_m(dig)) for dig in ground.digs]
    return made, [*depths, _fall(ground.finish.slope)]


def _below(least_m: float, most_m: float) -> Check:
    what = "formation below the finish"
    if most_m - least_m <= SURFACE_M:
        return about(what, (least_m + most_m) / 2.0, SURFACE_M)
    return Check(f"{what}, by the place", None, least_m, most_m, FIRST)


def _range_m(dig: PathDig) -> tuple[float, float]:
    """Return how far the formation of a walk lies below its finish, least and greatest [m]."""
    above_m = dig.finish.height_at(dig.base.least_at) - dig.formation.height_at(dig.base.least_at)
    return above_m, above_m + dig.base.greatest_m - dig.base.least_m


def _fall(slope: float) -> Check:
    return Check("fall of the finish", slope, None, None, FILE, "slope")


def _depth_m(walk: Walk) -> float:
    """Return how deep a walk is dug below its finish: units and what is added to it [m]."""
    added_m = sum(max(0.0, each.depth_m - each.there_m) for each in walk.path.spec.layers)
    return added_m + (walk.paver.thickness_m if walk.paver else 0.0)


def _among_roots(plan: Plan, walk: Walk) -> Iterator[str]:
    for each in plan.site.plants:
        reach_m = max(critical_radius_m(each.plant.stem_m), each.plant.spread_m / 2.0)
        if each.plant.existing and walk.ground.distance(shapely.Point(each.at)) < reach_m:
            yield each.plant.name


def bring_goods(plan: Plan) -> Iterator[BuildStep]:
    """Yield the delivery of all that is loose or heavy, heaped clear of the gate."""
    loads = haul(plan.order.lines, plan.totals, plan.layout.terms)
    barrows = [Quantity(f"barrow loads of {each.item}", each.barrows) for each in loads]
    trips = [Quantity(f"trips with {each.item}", each.trips or 0) for each in loads]
    quantities = tuple(each for each in (*barrows, *trips) if each.amount)
    if not (quantities or any(walk.count for walk in plan.walks)):
        return
    gate = wheeling_gate(plan)
    yield BuildStep(
        "deliver",
        "Have the goods brought, heaped outside and clear of the gate",
        gate.gate.name if gate else "over the fence: there is no gate",
        (*quantities, *_units(plan.walks)),
        ("barrow", "tarpaulin"),
        ("dig", "boards", "spoil", "mark", "fence"),
        (
            ()
            if gate is None
            else (
                Check("opening kept free", gate.gate.opening_m, gate.gate.opening_m, None, FIRST),
            )
        ),
        ("lifting",),
    )


def _units(walks: Sequence[Walk]) -> Iterator[Quantity]:
    names = dict.fromkeys(name for walk in walks for name in walk.counts)
    for name in names:
        if count := sum(walk.counts.get(name, 0) for walk in walks):
            yield Quantity(f"{name} units", count)


def lay_barriers(plan: Plan) -> Iterator[BuildStep]:
    """Yield one step for each fabric: over the dug walks and the filled beds, up the boards."""
    for part in plan.barriers:
        strips = [strip for laying in part.layings for strip in laying.strips]
        made = [
            Quantity("strips", len(strips)),
            Quantity(
                part.fabric.name, sum(each.total_length_m for each in part.layings), "length"
            ),
            Quantity("pins", part.pins or 0),
        ]
        openings = list(barrier_openings(plan, part))
        made += [
            Quantity(f"openings ({kind})", sum(each.kind == kind for each in openings))
            for kind in ("cross cut", "ring")
        ]
        on_walks = [
            each.spec.name for each in plan.site.paths if each.spec.barrier == part.fabric.name
        ]
        on_beds = [
            each.spec.name for each in plan.site.beds if each.spec.barrier == part.fabric.name
        ]
        before = [f"dig:{name}" for name in on_walks] + ["boards", "mark", "fence"]
        before += [f"{what}:{name}" for what in ("soil", "plants") for name in on_beds]
        checks = [Check("lap of strips", None, part.fabric.lap_m, None, FILE)]
        if part.fabric.turn_up_m > 0.0:
            checks.append(Check("turned up at the edges", None, part.fabric.turn_up_m, None, FILE))
        if part.fabric.pin_every_m:
            checks.append(Check("from pin to pin", None, None, part.fabric.pin_every_m, FILE))
        yield BuildStep(
            f"barrier:{part.fabric.name}",
            f"Lay the weed barrier, {part.fabric.name} (bedplan strips tells how)",
            ", ".join((*on_walks, *on_beds)),
            tuple(each for each in made if each.amount),
            ("knife", "tape", "hammer"),
            tuple(before),
            tuple(checks),
        )
