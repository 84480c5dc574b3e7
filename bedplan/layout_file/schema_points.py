"""Points of the layout file: by their coordinates, or tied to a side (layer: layout_file).

Public entry points: `PlaceTable`, `place_of`.
"""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Discriminator, Field, Tag

from bedplan.layout_file.quantities import Length, Name
from bedplan.layout_file.schema_enclosure import Pair
from bedplan.layout_file.schema_goods import MANY, Table
from bedplan.model.layout import Place, SidePoint

TIED: Final = "<tied>"
"""Mark of a point tied to a side; `MANY` marks one given as [x, y]."""


class TiedPoint(Table):
    """A point by its side: so far along, so far in."""

    side: Name
    along: Length
    in_: Annotated[Length, Field(alias="in")] = 0.0


def list_or_table(value: object) -> str | None:
    """Return the mark of a value: a list, a table, or None for what is neither."""
    if isinstance(value, list):
        return MANY
    return TIED if isinstance(value, dict) else None


PlaceTable = Annotated[
    Annotated[Pair, Tag(MANY)] | Annotated[TiedPoint, Tag(TIED)], Discriminator(list_or_table)
]


def place_of(point: list[float] | TiedPoint) -> Place:
    """Return the place that a point of the file stands for."""
    if isinstance(point, TiedPoint):
        return SidePoint(point.side, point.along, point.in_)
    x, y = point
    return x, y
