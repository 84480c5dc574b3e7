"""Steps of what lies in the walks: base in lifts, bedding, units, joints (layer: plan).

Walks come farthest from the gate first, so that nobody wheels over what is finished. Keys that no
step has are dropped by `bedplan.plan.building.build_steps`, which is the public entry point.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bedplan.plan.make import Plan
from bedplan.plan.setting_out import SetOut
from bedplan.plan.steps import (
    FILE,
    FIRST,
    NO_SOURCE,
    BuildStep,
    Check,
    Quantity,
    about,
    exactly,
    volumes,
)
from bedplan.plan.steps_walks import far_first, lines_of
from bedplan.plan.walk import Walk
from bedplan.practice.ground import FALL_SOURCE
from bedplan.takeoff.fill import FillLine

THINNER_M: Final = 0.0127
"""A finished base may be so much thinner [m]: 1/2 in."""
THICKER_M: Final = 0.01905
"""A finished base may be so much thicker [m]: 3/4 in."""
BASE_SOURCE: Final = (
    "Interlocking Concrete Pavement Institute, Construction Tolerances and Recommendations: "
    "base thickness +3/4 to -1/2 in"
)
LAID_M: Final = 0.003175
"""A bedding layer, and the gauge of courses, may stray so far [m]: 1/8 in."""
LIFT_M: Final = 0.00635
"""One lift may be spread so much thicker or thinner [m]: 1/4 in."""
SAME_M3: Final = 1e-9
"""Volumes nearer than this are one [m^3]."""
LEAST_FALL: Final = 0.02
"""Least fall of a paved walk, drop per distance [-]."""


def lay_bases(plan: Plan) -> Iterator[BuildStep]:
    """Yield the layers of every walk but the one its units are bedded in, lift by lift."""
    for walk in far_first(plan):
        waits = ready_keys(walk)
        for number, line in enumerate(_layers(plan, walk), start=1):
            if line.in_place_m3 <= 0.0 or line is _bedding(plan, walk):
                continue
            for lift in range(1, max(1, line.lifts) + 1):
                step = _lift(plan, line, f"base:{line.where}:{number}.{lift}", lift, waits)
                yield step
                waits = (step.key,)


def ready_keys(walk: Walk) -> tuple[str, ...]:
    """Return what a walk's lowest layer waits for."""
    barrier = walk.path.spec.barrier
    dug = ("deliver", f"dig:{walk.path.spec.name}", "boards")
    return (*dug, f"barrier:{barrier}") if barrier else dug


def _layers(plan: Plan, walk: Walk) -> list[FillLine]:
    return [line for line in lines_of(plan, walk) if line.kind == "layer"]


def _bedding(plan: Plan, walk: Walk) -> FillLine | None:
    """Return the layer units are bedded in: the uppermost of two or more, laid in one go."""
    layers = _layers(plan, walk)
    bedded = walk.count and len(layers) > 1 and layers[-1].lifts <= 1
    return layers[-1] if bedded else None


def _lift(plan: Plan, line: FillLine, key: str, lift: int, waits: tuple[str, ...]) -> BuildStep:
    lifts = max(1, line.lifts)
    which = f", lift {lift} of {lifts}," if lifts > 1 else ""
    rammed = f"{which} and compact it" if line.lifts else ""
    return BuildStep(
        key,
        f"Spread {line.material}{rammed}",
        line.where,
        volumes(line, 1.0 / lifts),
        ("barrow", "rake", *(("tamper or plate compactor",) if line.lifts else ())),
        waits,
        tuple(_lift_checks(plan, line, lift)),
        ("dust",),
    )


def _lift_checks(plan: Plan, line: FillLine, lift: int) -> Iterator[Check]:
    """Yield how thick one lift is spread and how thick the layer has become with it."""
    lifts = max(1, line.lifts)
    loose = line.loose_m3 / line.in_place_m3
    least_m, most_m = _depths_m(plan, line)
    there_m, share = line.there_m, lift / lifts
    if line.lifts:
        spread = [loose * (depth_m - there_m) / lifts for depth_m in (least_m, most_m)]
        yield _even_or_ranging("spread loose", spread[0], spread[1])
    if lift < lifts:
        made = [there_m + (depth_m - there_m) * share for depth_m in (least_m, most_m)]
        yield _even_or_ranging("compacted so far", made[0], made[1])
    elif most_m - least_m > LAID_M:
        yield _even_or_ranging("finished depth", least_m, most_m)
    else:
        thin_m, thick_m = max(0.0, line.laid_m - THINNER_M), line.laid_m + THICKER_M
        yield Check("finished depth", line.laid_m, thin_m, thick_m, BASE_SOURCE)


def _depths_m(plan: Plan, line: FillLine) -> tuple[float, float]:
    """Return the least and the greatest depth of a layer [m]; a base may make up a fall."""
    grounds = plan.works.paths if plan.works else ()
    for ground in grounds:
        if ground.path == line.where and abs(line.in_place_m3 - ground.base_m3) <= SAME_M3:
            return ground.base_least_m, ground.base_greatest_m
    return line.depth_m, line.depth_m


def _even_or_ranging(what: str, least_m: float, most_m: float) -> Check:
    if most_m - least_m <= LAID_M:
        return about(what, (least_m + most_m) / 2.0, LIFT_M)
    return Check(f"{what}, by the place", None, least_m, most_m, FIRST)


def pave(plan: Plan, out: SetOut) -> Iterator[BuildStep]:
    """Yield bedding, units and joints walk by walk, each after the farther one is finished."""
    finished: tuple[str, ...] = ("soil",)
    for walk in far_first(plan):
        name = walk.path.spec.name
        made = [
            *_bed_units(plan, walk, finished),
            *_lay_units(plan, walk, out, finished),
            *_fill_joints(plan, walk, finished),
        ]
        yield from made
        finished = (made[-1].key,) if made else (*finished, f"base:{name}")


def _bed_units(plan: Plan, walk: Walk, finished: tuple[str, ...]) -> Iterator[BuildStep]:
    line, name = _bedding(plan, walk), walk.path.spec.name
    if line is not None and line.in_place_m3 > 0.0:
        yield BuildStep(
            f"bedding:{name}",
            f"Screed {line.material} and step on it no more",
            name,
            volumes(line),
            ("screed", "two rails", "barrow"),
            (f"base:{name}", *ready_keys(walk), *finished),
            (about("depth", line.laid_m, LAID_M),),
            ("dust",),
        )


def _lay_units(
    plan: Plan, walk: Walk, out: SetOut, finished: tuple[str, ...]
) -> Iterator[BuildStep]:
    name = walk.path.spec.name
    if not walk.count:
        return
    lines = [each for each in out.courses if each.walk == name]
    first = " and ".join(f"{each.start} to {each.end}" for each in lines)
    start = f"first course on the line {first}" if lines else "each by its mark"
    heavy = any((each.weight_kg or 0.0) > plan.layout.terms.lift_kg for each in walk.pavers)
    yield BuildStep(
        f"units:{name}",
        f"Lay the units whole, {start}",
        name,
        tuple(Quantity(f"{each} units", count) for each, count in walk.counts.items() if count),
        ("string", "rubber mallet", "straightedge", "level"),
        (f"bedding:{name}", f"base:{name}", *ready_keys(walk), *finished),
        tuple(_unit_checks(plan, walk, out)),
        ("drainage", *(("lifting",) if heavy else ())),
    )


def _unit_checks(plan: Plan, walk: Walk, out: SetOut) -> Iterator[Check]:
    paving, name = walk.path.spec.paving, walk.path.spec.name
    for each in (each for each in out.courses if each.walk == name):
        yield exactly(f"courses from {each.start}", len(each.gauge_m))
        if len(each.gauge_m) > 1:
            what = f"line {each.start} to {each.end} to the near edge of the last course"
            yield about(what, each.gauge_m[-1], LAID_M)
    if paving is not None and paving.stride_m is None:
        yield Check("joints", None, *paving.joint_m, FILE)
    elif paving is not None:
        yield Check("from middle to middle", None, None, paving.stride_m, FILE)
    works = {path.path: path for path in plan.works.paths} if plan.works else {}
    if name in works:
        yield Check("fall of the finish", works[name].finish.slope, None, None, FILE, "slope")
    else:
        yield Check("fall", None, LEAST_FALL, None, FALL_SOURCE, "slope")


def _fill_joints(plan: Plan, walk: Walk, finished: tuple[str, ...]) -> Iterator[BuildStep]:
    name = walk.path.spec.name
    for line in lines_of(plan, walk):
        if line.kind == "joint fill" and line.in_place_m3 > 0.0:
            yield BuildStep(
                f"joints:{name}",
                f"Fill the joints with {line.material}",
                name,
                volumes(line),
                ("broom", "shovel"),
                (f"units:{name}", f"base:{name}", *ready_keys(walk), *finished),
                (
                    Check(
                        "depth of the fill, topped up after rain",
                        line.laid_m,
                        None,
                        None,
                        NO_SOURCE,
                    ),
                ),
                ("dust",),
            )
