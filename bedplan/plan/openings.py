"""Openings in the weed barrier for the plants that stand in it (layer: plan).

Public entry point: `barrier_openings`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from shapely.geometry import Point as ShapelyPoint

from bedplan.geometry.lines import Point
from bedplan.plan.sawn import BarrierPlan
from bedplan.takeoff.barrier_pins import openings

if TYPE_CHECKING:
    from bedplan.plan.make import Plan

CROSS_M: Final = 0.0508
"""Stems up to this thick come up through a cross cut [m]: 2 in, common practice, no source."""

LOOSE_M: Final = 0.0254
"""Fabric stays this far off a stem on every side [m]: 1 in, common practice, no source."""

OPENING_SOURCE: Final = (
    "North Dakota soil conservation districts, fabric guidance: enlarge openings every year, "
    "so that no stem is girdled"
)


@dataclass(frozen=True)
class Opening:
    """One opening.

    Parameters
    ----------
    area
        Number of the area of its fabric, from 1.
    plant
        What comes up through it.
    at
        Middle [m].
    kind
        ``cross cut``: two cuts, the flaps folded under; ``ring``: a hole, slit from the nearest
        edge of its strip to go round a stem that stands already.
    width_m
        Length of each cut, or the hole's diameter [m]: the ring kept clear, or else the stem and
        an inch on every side.
    strips
        Numbers of the strips it goes through: two where it lies in a lap.
    """

    area: int
    plant: str
    at: Point
    kind: Literal["cross cut", "ring"]
    width_m: float
    strips: tuple[int, ...]


def barrier_openings(plan: Plan, part: BarrierPlan) -> Iterator[Opening]:
    """Yield the openings in one fabric, area by area, plants by name and those set out last."""
    standing = [
        (each.plant.name, each.at, each.plant.stem_m, each.plant.ring_m)
        for each in plan.site.plants
    ]
    standing += [
        (each.spec.kind, place, 0.0, 0.0) for each in plan.planted for place in each.places
    ]
    for number, laying in enumerate(part.layings, start=1):
        inside = set(openings(laying, [at for _, at, _, _ in standing]))
        for name, at, stem_m, ring_m in standing:
            if at in inside:
                yield Opening(
                    number,
                    name,
                    at,
                    "cross cut" if stem_m <= CROSS_M else "ring",
                    max(2.0 * ring_m, stem_m + 2.0 * LOOSE_M),
                    tuple(
                        strip.number
                        for strip in laying.strips
                        if strip.outline.intersects(ShapelyPoint(at))
                    ),
                )
