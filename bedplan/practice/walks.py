"""Rules for walks: clear width from gate to gate, base, units and joints (layer: practice)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import Finding
from bedplan.geometry.polygons import minus, parts
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.materials import Paver
from bedplan.model.site import PlacedGate, PlacedPath
from bedplan.practice.subject import Subject
from bedplan.units import format_area

WALK_M: Final = 0.9144
"""Least clear width of a walk [m]: 36 in."""
WALK_SOURCE: Final = (
    "ABA/ADA Standards 403.5.1: 36 in clear (binding only where an accessible "
    "route is required); 36 in for a wheelbarrow is common advice, from memory"
)
BASE_M: Final = 0.1016
"""Least compacted base under a walk [m]: 4 in."""
BASE_SOURCE: Final = (
    "Interlocking Concrete Pavement Institute, Construction Tolerances and "
    "Recommendations: 4 in for walks and patios"
)
THIN_M: Final = 0.0599
"""Least thickness of a small paver [m]: 60 mm (2-3/8 in), less a tenth for rounding."""
THIN_SOURCE: Final = "CMHA Tech Note PAV-TEC-002-22: 60 mm for pedestrian use"
LIP_SOURCE: Final = (
    "first principles: on one bed a thicker unit stands proud of a thinner one; ABA/ADA "
    "Standards 303.2 allow a level change of 1/4 in, from memory"
)
SMALL_FACE_M2: Final = 101 * 0.0254**2
"""Largest face of a small paver [m^2]: 101 in² (ASTM C936, 5.1); larger units are slabs."""
JOINT_M: Final = (0.0254 / 16, 3 * 0.0254 / 16)
JOINT_SOURCE: Final = (
    "Interlocking Concrete Pavement Institute, Construction Tolerances and "
    "Recommendations: 1/16 to 3/16 in between concrete pavers"
)


def check_walks(subject: Subject) -> Iterator[Finding]:
    """Yield every finding about walks."""
    yield from _gate_to_gate(subject)
    for path in subject.site.paths:
        paving = path.spec.paving
        if paving is not None:
            pavers = [
                subject.layout.pavers[name] for name in (paving.paver, paving.second) if name
            ]
            yield from _base(subject, path)
            for paver in pavers:
                yield from _small_units(subject, path, paver, paving.joint_m)
            yield from _lip(subject, path, pavers)
    spare = subject.site.spare
    if spare.area > 0.01:
        yield Finding(
            "spare-ground",
            "note",
            "enclosure",
            f"{format_area(spare.area, subject.show)} in no bed and no path",
            "every part of the ground given a use",
            "common practice, no source",
            'add a path with area = "rest", or extend a bed',
        )


def _gate_to_gate(subject: Subject) -> Iterator[Finding]:
    """Find the narrowest throat between every two gates."""
    site = subject.site
    rings = [plant.ring for plant in site.plants if plant.plant.ring_m > 0.0]
    ground = minus(site.enclosure.polygon, *(bed.outline for bed in site.beds), *rings)
    for one, other in combinations(site.gates, 2):
        throat_m = clear_width_m(ground, one, other)
        if throat_m < WALK_M - 1e-3:
            yield Finding(
                "walk-width",
                "error" if throat_m == 0.0 else "warning",
                f"{one.gate.name} to {other.gate.name}",
                f"{subject.length(throat_m)} at the narrowest" if throat_m else "no way through",
                f"at least {subject.length(WALK_M)}",
                WALK_SOURCE,
                "move a bed edge back where the walk is narrowest",
            )


def clear_width_m(
    ground: BaseGeometry, one: PlacedGate, other: PlacedGate, wide_m: float = 2.0
) -> float:
    """Return the widest round thing that can be wheeled from one gate to another [m].

    A disc of diameter ``w`` passes where the ground, drawn in by ``w/2``, still joins the two
    gates (first principles). Found by halving to a millimetre, and not sought above `wide_m`
    or the narrower gate's opening.
    """
    low, high = 0.0, min(wide_m, one.gate.opening_m, other.gate.opening_m)
    if _joined(ground, one, other, high):
        return high
    while high - low > 0.001:
        middle = (low + high) / 2
        low, high = (middle, high) if _joined(ground, one, other, middle) else (low, middle)
    return low if low > 0.001 else 0.0


def _joined(ground: BaseGeometry, one: PlacedGate, other: PlacedGate, width_m: float) -> bool:
    drawn_in = ground.buffer(-width_m / 2, quad_segs=8)
    ends = [shapely.Point(gate.middle) for gate in (one, other)]
    # at a gate the disc stands half a width inside the fence line; a crooked corner needs more
    return any(
        all(part.distance(end) <= 0.75 * width_m + 0.01 for end in ends)
        for part in parts(drawn_in)
    )


def _base(subject: Subject, path: PlacedPath) -> Iterator[Finding]:
    layers = path.spec.layers
    depth_m = layers[0].depth_m if layers else 0.0
    if depth_m < BASE_M - 1e-6:
        yield Finding(
            "base-depth",
            "warning",
            path.spec.name,
            f"{subject.length(depth_m)} of base",
            f"at least {subject.length(BASE_M)}",
            BASE_SOURCE,
            "deepen the first layer of the path",
        )


def _lip(subject: Subject, path: PlacedPath, pavers: Sequence[Paver]) -> Iterator[Finding]:
    thick = [paver.thickness_m for paver in pavers]
    if max(thick) - min(thick) > SNAP_M:
        yield Finding(
            "unit-lip",
            "warning",
            path.spec.name,
            f"units {' and '.join(map(subject.length, thick))} thick",
            "units of one thickness",
            LIP_SOURCE,
            "choose units of one thickness, or bed the thinner ones higher",
        )


def _small_units(
    subject: Subject, path: PlacedPath, paver: Paver, joint_m: tuple[float, float]
) -> Iterator[Finding]:
    if paver.face_m2 > SMALL_FACE_M2:
        return
    if paver.thickness_m < THIN_M:
        yield Finding(
            "unit-thickness",
            "warning",
            path.spec.name,
            f"{subject.length(paver.thickness_m)} thick",
            f"at least {subject.length(0.06)}",
            THIN_SOURCE,
            "choose a thicker unit",
        )
    if joint_m[0] < JOINT_M[0] - 1e-6 or joint_m[0] > JOINT_M[1] + 1e-6:
        least, most = map(subject.length, JOINT_M)
        yield Finding(
            "joint-width",
            "note",
            path.spec.name,
            f"{subject.length(joint_m[0])} joints",
            f"{least} to {most}",
            JOINT_SOURCE,
            "change the joint, or fill wide joints with stone",
        )
