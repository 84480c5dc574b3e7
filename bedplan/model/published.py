"""Published compaction and weight of loose materials, agency by agency (layer: model).

Where agencies differ every figure stands; nothing here is ever used in place of the file's own.
Public entry points: `PUBLISHED`, `MaterialKind`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from bedplan.units import POUND_KG, YARD3_M3

MaterialKind = Literal[
    "crushed base",
    "crushed top course",
    "ballast",
    "crushed rock",
    "gravel",
    "sand",
    "earth",
    "wood chips",
]

LB_YD3: Final = POUND_KG / YARD3_M3
"""One pound per cubic yard [kg/m^3]."""


@dataclass(frozen=True)
class Figure:
    """A range somebody published, least and greatest, and who: agency, document, table."""

    least: float
    most: float
    source: str


@dataclass(frozen=True)
class PublishedMaterial:
    """Loose volume per volume in place [-] and loose weight [kg/m^3] of one kind of material."""

    compaction: tuple[Figure, ...] = ()
    density_kg_m3: tuple[Figure, ...] = ()


_WSDOT: Final = "Washington State DOT, Design Manual M 22-01, Exhibit 620-1"
_CALRECYCLE: Final = "CalRecycle, Determination of Weights and Volumes, materials table"
_ARMY: Final = "US Army, TM 9-2320-366-10-1, Table 2-15"
_ARMY_SOILS: Final = "US Army, FM 5-434, Table 1-1 (from memory)"
_OREGON: Final = "Oregon DEQ survey densities, 2005, density list"


def _one(figure: float, source: str) -> Figure:
    return Figure(figure, figure, source)


def _loose(least_lb_yd3: float, most_lb_yd3: float, source: str) -> Figure:
    return Figure(least_lb_yd3 * LB_YD3, most_lb_yd3 * LB_YD3, source)


PUBLISHED: Final[Mapping[MaterialKind, PublishedMaterial]] = {
    "crushed base": PublishedMaterial(
        (_one(3700 / 2950, _WSDOT),),
        (_loose(2950, 2950, _WSDOT),),
    ),
    "crushed top course": PublishedMaterial(
        (_one(3700 / 2850, _WSDOT),),
        (_loose(2850, 2850, _WSDOT),),
    ),
    "ballast": PublishedMaterial(
        (_one(3900 / 3100, _WSDOT),),
        (_loose(3100, 3100, _WSDOT),),
    ),
    "crushed rock": PublishedMaterial(
        (),
        (_loose(2600, 2600 * 1.2, f"{_CALRECYCLE}: dry to wet"), _loose(2565, 2700, _ARMY)),
    ),
    "gravel": PublishedMaterial(
        (),
        (_loose(2600, 2600 * 1.2, f"{_CALRECYCLE}: dry to wet"), _loose(2970, 2970, _ARMY)),
    ),
    "sand": PublishedMaterial((_one(1.11 / 0.95, _ARMY_SOILS),)),
    "earth": PublishedMaterial(
        (
            _one(1.3, f"{_CALRECYCLE}: 30 % heavier compacted"),
            Figure(1.25 / 0.90, 1.43 / 0.90, f"{_ARMY_SOILS}: loam to clay"),
        ),
        (_loose(2100, 3000, f"{_CALRECYCLE}: dry to wet"),),
    ),
    "wood chips": PublishedMaterial(
        (),
        (
            _loose(300, 800, f"{_CALRECYCLE}: dry to 30 % soil"),
            _loose(243, 473, f"{_OREGON}: dry to green"),
        ),
    ),
}
"""By the kind a material may be declared to be."""
