"""Rules for gates: clear width, what the leaf sweeps, what blocks the way (layer: practice)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely

from bedplan.errors import Finding
from bedplan.geometry.polygons import overlap_m2
from bedplan.model.site import PlacedGate
from bedplan.practice.subject import Subject

CLEAR_M: Final = 0.8128
"""Least clear width of a gate [m]: 32 in."""
CLEAR_SOURCE: Final = (
    "US Access Board, Guide to the ADA Standards 404.2.3: 32 in clear "
    "(binding only where an accessible route is required)"
)


def check_gates(subject: Subject) -> Iterator[Finding]:
    """Yield every finding about gates."""
    for gate in subject.site.gates:
        yield from _clear_width(subject, gate)
        yield from _blocked(subject, gate)
        yield from _swept(subject, gate)


def _clear_width(subject: Subject, gate: PlacedGate) -> Iterator[Finding]:
    if gate.gate.opening_m < CLEAR_M - 1e-6:
        yield Finding(
            "gate-width",
            "warning",
            gate.gate.name,
            subject.length(gate.gate.opening_m),
            f"at least {subject.length(CLEAR_M)}",
            CLEAR_SOURCE,
            "a wider gate lets a barrow through",
        )


def _blocked(subject: Subject, gate: PlacedGate) -> Iterator[Finding]:
    opening = shapely.LineString([gate.start, gate.end])
    for bed in subject.site.beds:
        shut_m = opening.intersection(bed.outline.buffer(1e-4)).length
        if shut_m > 0.01:
            yield Finding(
                "gate-blocked",
                "error",
                gate.gate.name,
                f"{subject.length(shut_m)} of the opening behind bed {bed.spec.name!r}",
                "the whole opening free",
                "first principles: a bed across a gate cannot be walked through",
                "end the bed short of the gate with start or end",
            )


def _swept(subject: Subject, gate: PlacedGate) -> Iterator[Finding]:
    """Find beds with boards, and stems, in the sector a leaf sweeps inside the fence."""
    for swing in gate.swings:
        inside = swing.intersection(subject.site.enclosure.polygon)
        for bed, edging in zip(subject.site.beds, subject.edging, strict=True):
            gap_m = gate.gate.gap_below_m
            clears = edging.board is None or (gap_m is not None and gap_m >= edging.height_m)
            if not clears and overlap_m2(inside, bed.outline) > 1e-4:
                yield Finding(
                    "gate-swing",
                    "warning",
                    gate.gate.name,
                    f"the leaf sweeps over bed {bed.spec.name!r}",
                    "the leaf's sector free of boards",
                    "first principles: the sector a leaf covers from shut to open",
                    "hang the gate the other way or outward, or shorten the bed",
                )
        for plant in subject.site.plants:
            if swing.covers(shapely.Point(plant.at)):
                yield Finding(
                    "gate-swing",
                    "warning",
                    gate.gate.name,
                    f"the leaf meets plant {plant.plant.name!r}",
                    "the leaf's sector free of stems",
                    "first principles: the sector a leaf covers from shut to open",
                    "hang the gate the other way or outward",
                )
