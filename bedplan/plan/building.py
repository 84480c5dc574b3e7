"""The order a plan is built in (layer: plan).

A step stands in the list only where the plan has it. Every step names those that must be finished
first; the list is in such an order, and nothing done early is undone later: what is dug before
what is set, wet and wheeled work before what it would spoil, far walks before near ones. Public
entry point: `build_steps`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bedplan.plan.make import Plan
from bedplan.plan.setting_out import set_out_plan
from bedplan.plan.steps import BuildStep
from bedplan.plan.steps_beds import (
    drive_stakes,
    fill_beds,
    locate_lines,
    mark_out,
    mulch_beds,
    plant_new,
    saw_boards,
    set_boards,
    tape_fence,
)
from bedplan.plan.steps_paving import lay_bases, pave
from bedplan.plan.steps_walks import bring_goods, dig_walks, lay_barriers


def build_steps(plan: Plan) -> tuple[BuildStep, ...]:
    """Return the steps of the building in an order that can be worked.

    Every step in `BuildStep.before` stands earlier in the list, and its cautions are those of
    the plan. A caution no step bears stands at the first.

    Raises
    ------
    GeometryError
        If a point to mark lies where no two marks give ties that cross.
    """
    steps = _cautioned(list(_steps(plan)), [each.topic for each in plan.cautions])
    done: dict[str, frozenset[str]] = {}
    linked = []
    for step in steps:
        before = _direct(_named(step.before, done), done)
        done[step.key] = frozenset(before).union(*(done[key] for key in before))
        linked.append(replace(step, before=before))
    return tuple(linked)


def _steps(plan: Plan) -> Iterator[BuildStep]:
    out = set_out_plan(plan)
    yield from tape_fence(plan)
    yield from locate_lines(plan)
    yield from mark_out(plan, out)
    yield from dig_walks(plan)
    yield from saw_boards(plan)
    yield from drive_stakes(plan)
    yield from set_boards(plan, out)
    soil = list(fill_beds(plan))
    yield from (step for step in soil if step.key == "spoil")
    yield from bring_goods(plan)
    yield from (step for step in soil if step.key != "spoil")
    yield from plant_new(plan)
    yield from lay_barriers(plan)
    yield from lay_bases(plan)
    yield from pave(plan, out)
    yield from mulch_beds(plan)


def _named(wanted: Sequence[str], done: dict[str, frozenset[str]]) -> tuple[str, ...]:
    """Return the keys of the steps so far that are meant: ``dig`` means every ``dig:…``."""
    return tuple(
        key for key in done if any(key == each or key.startswith(f"{each}:") for each in wanted)
    )


def _direct(before: Sequence[str], done: dict[str, frozenset[str]]) -> tuple[str, ...]:
    """Return keys less those that another of them waits for already."""
    return tuple(key for key in before if not any(key in done[other] for other in before))


def _cautioned(steps: Sequence[BuildStep], topics: Sequence[str]) -> list[BuildStep]:
    """Return steps with the cautions the plan has, those no step bears at the first."""
    kept = [
        replace(step, cautions=tuple(each for each in topics if each in step.cautions))
        for step in steps
    ]
    borne = {topic for step in kept for topic in step.cautions}
    left = tuple(topic for topic in topics if topic not in borne)
    return [replace(kept[0], cautions=(*kept[0].cautions, *left)), *kept[1:]]
