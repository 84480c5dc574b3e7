"""Beds planted at a spacing: where every plant stands (layer: plan).

Public entry point: `plant_beds`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from bedplan.edging import BedEdging
from bedplan.geometry.lines import Point
from bedplan.model.layout import Layout
from bedplan.model.planting import Grid, Planting
from bedplan.model.site import Site
from bedplan.paving.points import best_points
from bedplan.paving.sides import directions

SAME_DEG = 1e-6
"""Directions nearer than this give one lattice [deg]."""


@dataclass(frozen=True)
class PlantedBed:
    """Where the plants of one planting stand [m]; `proven` if no shift of the rows holds more."""

    spec: Planting
    places: tuple[Point, ...]
    direction_deg: float
    proven: bool

    @property
    def count(self) -> int:
        """How many plants there are."""
        return len(self.places)


def plant_beds(layout: Layout, site: Site, edging: Sequence[BedEdging]) -> Iterator[PlantedBed]:
    """Yield every planting of a layout, laid in the ground inside the boards of its bed.

    Plants keep their edge distance from the boards and stay out of the clear rings of others.
    """
    ground = {bed.spec.name: edged.planting for bed, edged in zip(site.beds, edging, strict=True)}
    rings = [plant.ring for plant in site.plants if plant.plant.ring_m > 0.0]
    for spec in layout.plantings:
        area = ground[spec.bed]
        found = best_points(
            area,
            spec.spacing_m,
            spec.grid,
            spec.margin_m,
            _ways(site, spec, directions(area)),
            [ring for ring in rings if ring.intersects(area)],
        )
        yield PlantedBed(spec, found.points, found.direction_deg, found.proven)


def _ways(site: Site, spec: Planting, along: Iterable[float]) -> list[float]:
    """Return the directions to try: the one asked for, or along and square to every edge."""
    if isinstance(spec.direction, float):
        return [spec.direction]
    side = site.enclosure.side(spec.direction)
    if side is not None:
        return [side.direction_deg]
    return _apart([way for angle in along for way in (angle, angle + 90.0)], spec.grid)


def _apart(ways: Sequence[float], grid: Grid) -> list[float]:
    """Return directions that give different lattices: those turn into themselves."""
    turn_deg = 90.0 if grid == "square" else 60.0
    kept: list[float] = []
    for way in ways:
        half = turn_deg / 2
        if all(abs((way - each + half) % turn_deg - half) > SAME_DEG for each in kept):
            kept.append(way)
    return kept
