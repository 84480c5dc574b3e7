"""Prices, and numbers that are counted and not measured (layer: layout_file).

What is read is a plain number; a text, or a number a key cannot take, is refused with what was
wanted.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, WithJsonSchema

from bedplan.layout_file.quantities import refusal, spell
from bedplan.model.materials import MOST_TIERS


def _read_price(value: object) -> float:
    wanted = "a price, a plain number such as 4.10"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refusal(spell(value), wanted, "write it without quotes and without a money sign")
    if not 0 <= value <= 1e9:
        raise refusal(
            spell(value),
            wanted + " from 0 to 1e9",
            "write what one costs, or leave the price out if it is not known",
        )
    return float(value)


def _read_count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 1_000_000:
        raise refusal(spell(value), "a whole number from 0 to 1000000", "write how many there are")
    return value


def _read_pack(value: object) -> int:
    count = _read_count(value)
    if count < 1:
        raise refusal(spell(value), "a whole number from 1", "write how many are sold together")
    return count


def _read_tiers(value: object) -> int | str:
    if value == "ground":
        return "ground"
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_TIERS:
        wanted = f'a whole number from 1 to {MOST_TIERS}, or "ground"'
        raise refusal(spell(value), wanted, "write how many boards are stacked")
    return value


def _read_facets(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value not in {0, *range(3, 361)}:
        raise refusal(
            spell(value),
            "0 for a true curve, or 3 to 360 straight edges",
            "write how many boards go round the circle",
        )
    return value


Price = Annotated[
    float, BeforeValidator(_read_price), WithJsonSchema({"type": "number", "minimum": 0})
]
Count = Annotated[
    int, BeforeValidator(_read_count), WithJsonSchema({"type": "integer", "minimum": 0})
]
Pack = Annotated[
    int, BeforeValidator(_read_pack), WithJsonSchema({"type": "integer", "minimum": 1})
]
Tiers = Annotated[
    int | Literal["ground"],
    BeforeValidator(_read_tiers),
    WithJsonSchema(
        {"anyOf": [{"type": "integer", "minimum": 1, "maximum": MOST_TIERS}, {"const": "ground"}]}
    ),
]
Facets = Annotated[
    int, BeforeValidator(_read_facets), WithJsonSchema({"type": "integer", "minimum": 0})
]
