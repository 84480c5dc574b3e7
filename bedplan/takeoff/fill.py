"""Volumes of every layer of every bed and path (layer: engines).

A depth is measured in place; what is ordered is loose. Loose volume is in-place volume times
the material's compaction, weight is loose volume times its loose density. Mass balance, first
principles. Public entry points: `bed_fill`, `path_fill`, `sum_by_material`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from shapely.geometry.base import BaseGeometry

from bedplan.model.layout import BedSpec, Layer, PathSpec
from bedplan.model.materials import Material

Kind = Literal["mulch", "layer", "joint fill"]


@dataclass(frozen=True)
class FillLine:
    """One layer in one place: area [m^2], depth [m], volumes [m^3] and loose weight [kg]."""

    material: str
    where: str
    kind: Kind
    area_m2: float
    depth_m: float
    in_place_m3: float
    loose_m3: float
    mass_kg: float | None


@dataclass(frozen=True)
class FillTotal:
    """All of one material: volumes [m^3], weight of the loose volume [kg]."""

    material: str
    in_place_m3: float
    loose_m3: float
    mass_kg: float | None


@dataclass(frozen=True)
class PavedArea:
    """What units leave open in a path.

    Parameters
    ----------
    ground_m2
        Area of the path less stems and posts [m^2].
    units_m2
        Area under the faces of its units [m^2].
    thickness_m
        Thickness of the units [m].
    """

    ground_m2: float
    units_m2: float = 0.0
    thickness_m: float = 0.0


def loose_volume(in_place_m3: float, compaction: float) -> float:
    """Return the volume to order for a layer [m^3].

    Parameters
    ----------
    in_place_m3
        Volume after compaction [m^3], ≥ 0.
    compaction
        Loose volume per volume in place [-], ≥ 1.

    Examples
    --------
    >>> loose_volume(2.0, 1.25)
    2.5
    """
    return in_place_m3 * compaction


def fill_line(
    material: Material, where: str, kind: Kind, area_m2: float, depth_m: float
) -> FillLine:
    """Return one layer's volumes and weight."""
    in_place_m3 = area_m2 * depth_m
    loose_m3 = loose_volume(in_place_m3, material.compaction)
    mass_kg = None if material.density_kg_m3 is None else loose_m3 * material.density_kg_m3
    return FillLine(material.name, where, kind, area_m2, depth_m, in_place_m3, loose_m3, mass_kg)


def bed_fill(
    bed: BedSpec, mulched: BaseGeometry, planting: BaseGeometry, materials: Mapping[str, Material]
) -> list[FillLine]:
    """Return the layers of a bed, lowest first, then its mulch.

    Parameters
    ----------
    bed
        What the bed is filled with.
    mulched
        Planting area less the clear rings of its plants: mulch is kept off stems.
    planting
        Area inside the boards.
    materials
        By name.
    """
    lines = [
        fill_line(
            materials[layer.material], bed.name, "layer", float(planting.area), layer.depth_m
        )
        for layer in bed.layers
    ]
    if bed.mulch is not None:
        lines.append(
            fill_line(
                materials[bed.mulch.material],
                bed.name,
                "mulch",
                float(mulched.area),
                bed.mulch.depth_m,
            )
        )
    return lines


def path_fill(
    path: PathSpec, paved: PavedArea, materials: Mapping[str, Material]
) -> list[FillLine]:
    """Return the layers of a path, lowest first, then the fill of its joints.

    Joint fill takes all the ground the units leave open, to the units' thickness.
    """
    lines = [
        fill_line(materials[layer.material], path.name, "layer", paved.ground_m2, layer.depth_m)
        for layer in path.layers
    ]
    if path.joint_fill is not None:
        depth = Layer(path.joint_fill, paved.thickness_m)
        lines.append(
            fill_line(
                materials[depth.material],
                path.name,
                "joint fill",
                paved.ground_m2 - paved.units_m2,
                depth.depth_m,
            )
        )
    return lines


def sum_by_material(lines: Iterable[FillLine]) -> list[FillTotal]:
    """Return one total per material, in order of first use."""
    groups: dict[str, list[FillLine]] = defaultdict(list)
    for line in lines:
        groups[line.material].append(line)
    return [_total(name, group) for name, group in groups.items()]


def _total(name: str, lines: list[FillLine]) -> FillTotal:
    masses = [line.mass_kg for line in lines if line.mass_kg is not None]
    return FillTotal(
        name,
        sum(line.in_place_m3 for line in lines),
        sum(line.loose_m3 for line in lines),
        sum(masses) if len(masses) == len(lines) else None,
    )
