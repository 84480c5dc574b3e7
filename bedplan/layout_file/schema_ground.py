"""Schema of the layout file: heights, falls and soil (layer: layout_file).

Public entry points: `GroundTable`, and `FallTable`, `Level` and `Dug` for a path's own finish.
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import Annotated, Final, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, ValidationInfo, WithJsonSchema

from bedplan.layout_file.quantities import (
    LONGEST_M,
    Coordinate,
    Length,
    Name,
    Reader,
    SideOrAngle,
    refusal,
    spell,
)
from bedplan.layout_file.schema_goods import MANY, ONE, Table
from bedplan.layout_file.schema_points import TIED, PlaceTable, list_or_table

LEVELS: Final = ("balance", "above")
HEIGHT: Final = Reader("length", -LONGEST_M, LONGEST_M, "not below -10 km", "at most 10 km")
_RATIO: Final[dict[str, object]] = {"type": ["string", "number"]}

Dug = Literal["parallel", "level"]
Slope = Annotated[
    float,
    BeforeValidator(Reader("ratio", 0.0, 0.5, "not below 0", "at most 50 %")),
    WithJsonSchema(_RATIO),
]
Swell = Annotated[
    float,
    BeforeValidator(Reader("ratio", 0.0, 1.0, "not below 0", "at most 100 %")),
    WithJsonSchema(_RATIO),
]
Shrink = Annotated[
    float,
    BeforeValidator(Reader("ratio", -0.5, 0.5, "not below -50 %", "at most 50 %")),
    WithJsonSchema(_RATIO),
]


def _read_level(value: object, info: ValidationInfo) -> float | str:
    if not isinstance(value, str) or value in LEVELS:
        return value if isinstance(value, str) else HEIGHT(value, info)
    near = get_close_matches(value.lower(), LEVELS, n=1, cutoff=0.5)
    if near:
        words = " or ".join(spell(word) for word in LEVELS)
        raise refusal(spell(value), f"{words}, or a height", f'write "{near[0]}"')
    return HEIGHT(value, info)


Level = Annotated[
    float | Literal["balance", "above"],
    BeforeValidator(_read_level),
    WithJsonSchema({"type": ["string", "number"], "examples": list(LEVELS)}),
]


class SpotTable(Table):
    """A spot height at a place tied to the fence."""

    at: PlaceTable
    height: Coordinate


SpotList = Annotated[list[Coordinate], Field(min_length=3, max_length=3)]
AnySpot = Annotated[
    Annotated[SpotList, Tag(MANY)] | Annotated[SpotTable, Tag(TIED)], Discriminator(list_or_table)
]


class FallTable(Table):
    """Where a finish falls to, a side or degrees, and its slope."""

    toward: SideOrAngle
    slope: Slope


class SoilTable(Table):
    """What a soil gains when dug and loses when rolled, as shares of its volume in the bank."""

    swell: Swell
    shrink: Shrink


def _word_or_table(value: object) -> str:
    return TIED if isinstance(value, dict) else ONE


SoilWord = Literal["sand", "loam", "clay", "blasted rock"]
AnySoil = Annotated[
    Annotated[SoilWord, Tag(ONE)] | Annotated[SoilTable, Tag(TIED)], Discriminator(_word_or_table)
]


class GroundTable(Table):
    """``[ground]``: spot heights, and how paths and boards lie on the ground."""

    spots: list[AnySpot] = Field(default_factory=list)
    fall: FallTable | None = None
    level: Level = "balance"
    at: PlaceTable | None = None
    dug: Dug = "parallel"
    soil: AnySoil = "loam"
    building: list[Name] = Field(default_factory=list)
    reveal: Length | None = None
    bury: Length = 0.0
