"""What to mind while building, chosen by what the plan holds (layer: practice).

The wording is ours; each caution names what it rests on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bedplan.model.ordering import LIFT_KG
from bedplan.practice.goods import used_materials
from bedplan.practice.subject import Subject
from bedplan.takeoff.loose_lines import bag_weight_kg, bag_word
from bedplan.units import format_mass


@dataclass(frozen=True)
class Caution:
    """One caution: what to mind, and the rule it rests on."""

    topic: str
    text: str
    source: str


def cautions(subject: Subject) -> tuple[Caution, ...]:
    """Return the cautions that bear on this plan, in the order the work meets them."""
    return tuple(_cautions(subject))


def _cautions(subject: Subject) -> Iterator[Caution]:
    layout = subject.layout
    edged = [bed for bed in layout.beds if bed.edging]
    paths = [path for path in layout.paths if path.layers or path.paving]
    yield Caution(
        "codes",
        "Local codes, permits and licensed professionals come before anything written here.",
        "general rule",
    )
    if edged or paths:
        yield Caution(
            "digging",
            "Before any stake or spade: have buried lines located (811 in "
            "the US, the one-call service elsewhere), wait for the marks, dig by hand "
            "near them.",
            "49 CFR 196.103 (PHMSA)",
        )
    if any(plant.existing for plant in layout.plants):
        yield Caution(
            "roots",
            "Dig by hand near existing plants and cut no root thicker than a "
            "thumb; keep fill and mulch off the trunk.",
            "common practice, no source; mulch on stems: Iowa State and Penn State "
            "extension pages",
        )
    if edged:
        yield from _on_boards(subject)
    if paths:
        yield from _on_walks()
    if heavy := _heavy(subject):
        yield Caution(
            "lifting",
            f"Two people or a lifting aid for {', '.join(heavy)}: over {_limit(subject)}.",
            "NIOSH reference weight, quoted by OSHA"
            if subject.layout.terms.lift_kg == LIFT_KG
            else "the layout's own limit, [order] lift",
        )


def _on_boards(subject: Subject) -> Iterator[Caution]:
    boards = [subject.layout.boards[bed.edging] for bed in subject.layout.beds if bed.edging]
    yield Caution(
        "saw",
        "Clamp the board, guard in place, eyes and ears protected; set the saw unplugged.",
        "common practice, no source",
    )
    if not all(board.bends for board in boards):
        yield Caution(
            "screws",
            "Drill a pilot hole for every screw near the end of a board, or it will split.",
            "common practice, no source",
        )
    yield Caution(
        "treated wood",
        "Keep old arsenic-treated boards out of beds that grow "
        "food; ask what newer boards are treated with.",
        "Extension answer (Michigan State, 2014) on the 2003 phase-out of CCA",
    )


def _on_walks() -> Iterator[Caution]:
    yield Caution(
        "dust",
        "Stone and concrete dust holds silica: wet the material, stand "
        "upwind, wear a fitted respirator where dust is seen. No unit here needs a "
        "cut.",
        "29 CFR 1926.1153 (OSHA)",
    )
    yield Caution(
        "drainage",
        "Let finished walks fall away from buildings, 2 % at least; do "
        "not raise ground against a wall.",
        "Interlocking Concrete Pavement Institute, slope attribute: 2 %",
    )


def _limit(subject: Subject) -> str:
    limit_kg = subject.layout.terms.lift_kg
    return "23 kg (51 lb)" if limit_kg == LIFT_KG else format_mass(limit_kg, subject.show)


def _heavy(subject: Subject) -> list[str]:
    layout, limit_kg = subject.layout, subject.layout.terms.lift_kg
    paved = [path.paving for path in layout.paths if path.paving]
    used = {name for paving in paved for name in (paving.paver, paving.second) if name}
    pavers = [
        f"{name} units"
        for name in sorted(used)
        if (layout.pavers[name].weight_kg or 0.0) > limit_kg
    ]
    filled = [layout.materials[name] for name in sorted(used_materials(layout))]
    bags = {
        f"{bag_word(bag)}s of {material.name}"
        for material in filled
        for bag in material.bags
        if (bag_weight_kg(bag, material) or 0.0) > limit_kg
    }
    return [*pavers, *sorted(bags)]
