"""Volumes of every layer of every bed and path (layer: engines).

A depth is measured in place; what is ordered is loose. Loose volume is in-place volume times
the material's compaction, over what settling leaves of it; weight is loose volume times its loose
density. Mass balance, first principles. Public entry points: `bed_fill`, `path_fill`,
`base_margin_m`, `sum_by_material`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import BedSpec, PathSpec
from bedplan.model.materials import Material

Kind = Literal["mulch", "layer", "joint fill"]

BEYOND_M: Final = 0.1524
"""Least a base of dense-graded rock goes beyond its paving [m]: 6 in, see `base_margin_m`."""


@dataclass(frozen=True)
class FillLine:
    """One layer in one place.

    Parameters
    ----------
    area_m2, depth_m
        Area [m^2] and finished depth [m], what lies there already among it.
    in_place_m3, loose_m3, mass_kg
        What is added: in place, and as it comes [m^3]; weight of that [kg].
    there_m
        Depth that lies there already [m].
    laid_m
        Depth to bring it to on the day, before it settles [m].
    lifts
        In how many lifts of even thickness it is compacted; 0 where it is not.
    """

    material: str
    where: str
    kind: Kind
    area_m2: float
    depth_m: float
    in_place_m3: float
    loose_m3: float
    mass_kg: float | None
    there_m: float = 0.0
    laid_m: float = 0.0
    lifts: int = 0


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
    base_m2
        Area of the lowest layer [m^2] where it is wider than the path.
    """

    ground_m2: float
    units_m2: float = 0.0
    thickness_m: float = 0.0
    base_m2: float | None = None


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


def fill_line(  # noqa: PLR0913 - one parameter a figure of the layer
    material: Material,
    where: str,
    kind: Kind,
    area_m2: float,
    depth_m: float,
    *,
    there_m: float = 0.0,
    rammed: bool = False,
) -> FillLine:
    """Return one layer's volumes and weight.

    `there_m` of its depth lies there already [m]; it is compacted in lifts if `rammed`.
    """
    added_m = max(0.0, depth_m - there_m)
    in_place_m3 = area_m2 * added_m
    loose_m3 = loose_volume(in_place_m3, material.loose_per_place)
    return FillLine(
        material.name,
        where,
        kind,
        area_m2,
        depth_m,
        in_place_m3,
        loose_m3,
        None if material.density_kg_m3 is None else loose_m3 * material.density_kg_m3,
        there_m,
        depth_m - added_m + added_m / (1.0 - material.settles),
        lifts(added_m, material.lift_m) if rammed and material.compaction > 1.0 else 0,
    )


def lifts(depth_m: float, lift_m: float) -> int:
    """Return in how many even lifts a layer is compacted.

    Examples
    --------
    >>> lifts(0.1016, 0.0762), lifts(0.1524, 0.0762)  # 4 in and 6 in by 3 in
    (2, 2)
    """
    return max(0, math.ceil((depth_m - SNAP_M) / lift_m))


def base_margin_m(path: PathSpec) -> float:
    """Return how far the lowest layer of a path goes beyond its edge [m].

    For ``published`` the greater of 6 in and the base's own thickness: Interlocking Concrete
    Pavement Institute, Construction Tolerances and Recommendations, over-excavation, for
    dense-graded base.
    """
    if path.base_beyond == "published":
        return max(BEYOND_M, path.layers[0].depth_m) if path.layers else 0.0
    return path.base_beyond


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
            materials[layer.material],
            bed.name,
            "layer",
            float(planting.area),
            layer.depth_m,
            there_m=layer.there_m,
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
                there_m=bed.mulch.there_m,
            )
        )
    return lines


def path_fill(
    path: PathSpec, paved: PavedArea, materials: Mapping[str, Material]
) -> list[FillLine]:
    """Return the layers of a path, lowest first, then the fill of its joints.

    Joint fill takes all the ground the units leave open, to the units' thickness.
    """
    base_m2 = paved.ground_m2 if paved.base_m2 is None else paved.base_m2
    areas_m2 = [base_m2, *[paved.ground_m2] * len(path.layers)]
    lines = [
        fill_line(
            materials[layer.material],
            path.name,
            "layer",
            area_m2,
            layer.depth_m,
            there_m=layer.there_m,
            rammed=True,
        )
        for layer, area_m2 in zip(path.layers, areas_m2, strict=False)
    ]
    if path.joint_fill is not None:
        open_m2 = paved.ground_m2 - paved.units_m2
        material = materials[path.joint_fill]
        lines.append(fill_line(material, path.name, "joint fill", open_m2, paved.thickness_m))
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
