"""How far a heap of loose material goes (layer: engines).

Public entry point: `spread_heap`. Volume over area is depth: first principles.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bedplan.model.materials import Material
from bedplan.takeoff.fill import FillLine


@dataclass(frozen=True)
class Spread:
    """What a heap does over the layers that use its material.

    Parameters
    ----------
    material, heap_m3
        The heap, loose [m^3].
    area_m2
        Of all its layers together [m^2].
    even_m
        Finished depth if it is spread evenly over all of them [m], on top of what lies there; 0
        without any layer.
    wanted_m3
        Loose volume the layers ask for [m^3].
    layers
        Each layer, and the area of it the heap covers at its set depth [m^2] if the layers are
        filled one after the other, in the order of the file.
    """

    material: str
    heap_m3: float
    area_m2: float
    even_m: float
    wanted_m3: float
    layers: tuple[tuple[FillLine, float], ...]

    @property
    def short_m3(self) -> float:
        """Loose volume still to be bought; below 0 for what stays over [m^3]."""
        return self.wanted_m3 - self.heap_m3


def spread_heap(material: Material, heap_m3: float, lines: Sequence[FillLine]) -> Spread:
    """Return how far a heap goes.

    Parameters
    ----------
    material
        What the heap is of: its compaction and settling.
    heap_m3
        Loose volume [m^3], ≥ 0.
    lines
        Fill of the plan; other materials are passed over.

    Examples
    --------
    One cubic metre over 10 m² asked for 5 cm deep lies 10 cm deep:

    >>> from bedplan.takeoff.fill import fill_line
    >>> bark = Material("bark")
    >>> heap = spread_heap(bark, 1.0, [fill_line(bark, "bed", "mulch", 10.0, 0.05)])
    >>> heap.even_m, heap.short_m3
    (0.1, -0.5)
    """
    mine = [line for line in lines if line.material == material.name]
    area_m2 = sum(line.area_m2 for line in mine)
    in_place_m3 = heap_m3 / material.loose_per_place
    return Spread(
        material.name,
        heap_m3,
        area_m2,
        in_place_m3 / area_m2 if area_m2 > 0.0 else 0.0,
        sum(line.loose_m3 for line in mine),
        tuple(zip(mine, _covered(heap_m3, mine), strict=True)),
    )


def _covered(heap_m3: float, lines: Iterable[FillLine]) -> list[float]:
    """Return the area of each layer that a heap fills, one after the other [m^2]."""
    left, areas_m2 = heap_m3, []
    for line in lines:
        have = max(0.0, left)
        share = 1.0 if line.loose_m3 <= have else have / line.loose_m3
        areas_m2.append(line.area_m2 * share)
        left -= line.loose_m3
    return areas_m2
