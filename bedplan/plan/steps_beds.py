"""Steps of the fence and the beds, from the tape to the mulch (layer: plan).

Every function yields the steps the layout has, with what each waits for; keys that no step has
are dropped by `bedplan.plan.building.build_steps`, which is the public entry point.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import shapely

from bedplan.edging import BedEdging
from bedplan.edging.hardware import connector_count, screw_counts
from bedplan.model.site import PlacedBed
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
    volumes,
)
from bedplan.practice.beds import STEM_SOURCE
from bedplan.takeoff.fill import FillLine

TAPE_M: Final = 0.0127
"""A fence side farther off than this is entered anew before anything is cut [m]: 1/2 in."""
FRAME_M: Final = 0.00635
"""Sides and diagonals of a bed may stray so far [m]: 1/4 in."""
LEVEL_M: Final = 0.003175
"""Tops of boards may stray so far from level [m]: 1/8 in."""
MULCH_M: Final = 0.0127
"""Mulch may lie so much deeper or shallower [m]: 1/2 in."""


def tape_fence(plan: Plan) -> Iterator[BuildStep]:
    """Yield the step that holds the fence as built against the file."""
    sides = plan.site.enclosure.sides
    yield BuildStep(
        "fence",
        "Tape the finished fence; where a side is off, enter it and run this again",
        "the whole fence",
        (
            Quantity("fence", plan.site.enclosure.perimeter_m, "length"),
            Quantity("gates", len(plan.site.gates)),
        ),
        ("long tape",),
        (),
        (
            *(about(f"side {side.name}", side.length_m, TAPE_M) for side in sides),
            *(
                about(f"opening of {each.gate.name}", each.gate.opening_m, TAPE_M)
                for each in plan.site.gates
            ),
        ),
        ("codes",),
    )


def locate_lines(plan: Plan) -> Iterator[BuildStep]:
    """Yield the step that finds what is buried, wherever a stake or a spade goes in."""
    paths = [path for path in plan.layout.paths if path.layers or path.paving]
    if not (paths or _new_plants(plan) or any(edged.pieces for edged in plan.edging)):
        return
    pipes = plan.site.pipes
    yield BuildStep(
        "locate",
        "Have buried lines located and wait for the marks",
        ", ".join(each.pipe.name for each in pipes) or "the whole ground",
        tuple(
            Quantity(each.pipe.name, float(shapely.LineString(each.line).length), "length")
            for each in pipes
        ),
        ("flags or paint",),
        ("fence",),
        tuple(
            Check(f"stakes off {each.pipe.name}", None, each.pipe.clear_m, None, FILE)
            for each in pipes
            if each.pipe.clear_m > 0.0
        ),
        ("digging",),
    )


def mark_out(plan: Plan, out: SetOut) -> Iterator[BuildStep]:
    """Yield the step that marks every corner and first course on the ground."""
    if not out.stakes:
        return
    walks = [walk.path.spec.name for walk in plan.walks if walk.count]
    yield BuildStep(
        "mark",
        "Mark every corner and string (bedplan setout tells the ties)",
        ", ".join([*(bed.spec.name for bed in plan.site.beds), *walks]),
        (Quantity("marks", len(out.stakes)), Quantity("strings", len(out.strings))),
        ("two tapes", "pegs", "string"),
        ("locate", "fence"),
        tuple(_diagonals(out)),
    )


def _diagonals(out: SetOut) -> Iterator[Check]:
    for bed, frame in out.frames:
        for span in frame.diagonals:
            yield about(f"{bed}: {span.first} to {span.second}", span.exact_m, FRAME_M)


def saw_boards(plan: Plan) -> Iterator[BuildStep]:
    """Yield the step that cuts every board; after marking, so that it is measured once more."""
    if not plan.boards:
        return
    pieces = [
        Quantity(f"{part.board.name} {word}", count)
        for part in plan.boards
        for word, kind in (("pieces", "board"), ("blocks", "block"))
        if (count := sum(piece.kind == kind for piece in part.pieces))
    ]
    lengths = (
        Quantity(f"{part.board.name} lengths", len(part.cut.boards)) for part in plan.boards
    )
    yield BuildStep(
        "saw",
        "Saw the boards (bedplan cuts tells how) and write each label on",
        "at the saw",
        (*pieces, *lengths),
        ("saw", "square", "tape", "clamps"),
        ("mark",),
        tuple(_longest(plan)),
        ("saw", "treated wood"),
    )


def _longest(plan: Plan) -> Iterator[Check]:
    """Yield the longest piece of each kind of board: the first one to hold in its place."""
    for part in plan.boards:
        piece = max(part.pieces, key=lambda each: each.long_m)
        what = f"{piece.label} of {piece.bed}, long point, held in its place before the rest"
        yield about(what, piece.long_m, LEVEL_M)


def drive_stakes(plan: Plan) -> Iterator[BuildStep]:
    """Yield the step that drives the stakes of all beds."""
    staked = [edged for edged in plan.edging if edged.stakes]
    if not staked:
        return
    below_m = [stake.below_m for edged in staked for stake in edged.stakes]
    yield BuildStep(
        "stakes",
        "Drive the stakes plumb, corners first",
        ", ".join(edged.bed for edged in staked),
        tuple(Quantity(f"{name} stakes", n) for name, n in plan.hardware.stakes.items()),
        ("mallet", "level", "string"),
        ("mark", "dig"),
        (Check("length of each stake in the ground", None, min(below_m), None, FIRST),),
        ("digging", "roots"),
    )


def set_boards(plan: Plan, out: SetOut) -> Iterator[BuildStep]:
    """Yield one step for the boards of each bed."""
    works = {bed.bed: bed for bed in plan.works.beds} if plan.works else {}
    diagonals = dict(out.frames)
    for edged in plan.edging:
        if not edged.pieces or edged.board is None:
            continue
        checks = [
            about(f"{span.first} to {span.second}", span.exact_m, FRAME_M)
            for span in (diagonals[edged.bed].diagonals if edged.bed in diagonals else ())
        ]
        checks.append(Check("top of boards out of level", 0.0, -LEVEL_M, LEVEL_M, NO_SOURCE))
        if edged.bed in works:
            top_m = works[edged.bed].top_m
            checks.append(replace(about("top of boards", top_m, FRAME_M), kind="height"))
        yield BuildStep(
            f"boards:{edged.bed}",
            "Set the boards",
            edged.bed,
            tuple(each for each in _board_quantities(plan, edged) if each.amount),
            ("drill", "level", "clamps"),
            ("saw", "stakes", "mark", "dig"),
            tuple(checks),
            () if plan.layout.boards[edged.board].bends else ("screws",),
        )


def _board_quantities(plan: Plan, edged: BedEdging) -> Iterator[Quantity]:
    board = plan.layout.boards[edged.board or ""]
    yield Quantity(f"{board.name} pieces", len(edged.pieces))
    yield Quantity(f"{board.name} blocks", len(edged.blocks))
    yield Quantity("edging", edged.length_m, "length")
    if board.screws is not None:
        screws = sum(count for _, count in screw_counts(edged, board))
        yield Quantity(f"screws ({board.screws})", screws)
    if board.bends:
        yield Quantity(f"{board.name} connectors", connector_count(edged))


def fill_beds(plan: Plan) -> Iterator[BuildStep]:
    """Yield the steps that bring dug soil and layers into the beds."""
    if plan.works and plan.works.spoil.loose_m3 > 0.0:
        spoil = plan.works.spoil
        taken = [
            Quantity(f"dug soil into {room.bed}", room.room_m3, "loose")
            for room in spoil.taken
            if room.room_m3 > 0.0
        ]
        if spoil.cart_m3 > 0.0:
            taken.append(Quantity("dug soil to cart away", spoil.cart_m3, "loose"))
        yield BuildStep(
            "spoil",
            "Move the dug soil",
            "beds in the order of the file",
            tuple(taken),
            ("barrow", "shovel"),
            ("dig", "boards"),
        )
    for bed in plan.site.beds:
        name = bed.spec.name
        lines = [line for line in _lines_of(plan, bed) if line.kind == "layer" and line.loose_m3]
        if lines:
            yield BuildStep(
                f"soil:{name}",
                "Fill the bed, lowest layer first",
                name,
                tuple(each for line in lines for each in volumes(line)),
                ("barrow", "rake"),
                ("deliver", "spoil", "dig", f"boards:{name}"),
                tuple(about(f"depth of {line.material}", line.laid_m, MULCH_M) for line in lines),
            )


def _lines_of(plan: Plan, bed: PlacedBed) -> list[FillLine]:
    """Return the fill of a bed; beds stand before paths, which may bear the same names."""
    lines = plan.fill[: sum(len(each.layers) + bool(each.mulch) for each in plan.layout.beds)]
    return [line for line in lines if line.where == bed.spec.name]


def plant_new(plan: Plan) -> Iterator[BuildStep]:
    """Yield one step for the new plants of each bed, those in no bed last."""
    for bed, kinds in _new_plants(plan).items():
        spaced = [each.spec for each in plan.planted if each.spec.bed == bed and each.count]
        yield BuildStep(
            f"plants:{bed}",
            "Set the new plants and water them in",
            bed or "in no bed",
            tuple(Quantity(kind, count) for kind, count in kinds.items()),
            ("spade", "tape", "watering can"),
            (f"soil:{bed}", "spoil", f"boards:{bed}", "mark", "dig"),
            tuple(
                each
                for spec in spaced
                for each in (
                    Check(f"{spec.kind} from the next", spec.spacing_m, None, None, FILE),
                    Check(f"{spec.kind} from the boards", None, spec.margin_m, None, FILE),
                )
            ),
            ("digging", "roots"),
        )


def _new_plants(plan: Plan) -> dict[str, dict[str, int]]:
    """Return the plants to set by bed and kind."""
    found: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for part in plan.planted:
        if part.count:
            found[part.spec.bed][part.spec.kind] += part.count
    for plant in plan.site.plants:
        if not plant.plant.existing:
            spot = shapely.Point(plant.at)
            beds = (each.spec.name for each in plan.site.beds if each.outline.covers(spot))
            found[next(beds, "")][plant.plant.name] += 1
    return dict(sorted(found.items(), key=lambda each: not each[0]))


def mulch_beds(plan: Plan) -> Iterator[BuildStep]:
    """Yield one step for the mulch of each bed: last, off every stem."""
    for bed in plan.site.beds:
        name = bed.spec.name
        for line in _lines_of(plan, bed):
            if line.kind != "mulch" or not line.loose_m3:
                continue
            rings = [
                Check(
                    f"bare ground round {each.plant.name}, from the middle",
                    each.plant.ring_m,
                    each.plant.ring_m,
                    None,
                    STEM_SOURCE,
                )
                for each in plan.site.plants
                if each.plant.ring_m > 0.0 and each.ring.intersects(bed.outline)
            ]
            yield BuildStep(
                f"mulch:{name}",
                "Mulch, held off every stem",
                name,
                volumes(line),
                ("barrow", "rake", "planks over the finished walks"),
                (
                    "deliver",
                    "base",
                    "units",
                    "joints",
                    f"plants:{name}",
                    f"soil:{name}",
                    "spoil",
                    "barrier",
                    f"boards:{name}",
                ),
                (about(f"depth of {line.material} as laid", line.laid_m, MULCH_M), *rings),
                ("roots",)
                if any(
                    each.plant.existing
                    for each in plan.site.plants
                    if bed.outline.covers(shapely.Point(each.at))
                )
                else (),
            )
