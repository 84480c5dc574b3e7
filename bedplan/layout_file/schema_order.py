"""Schema of how things are bought and planted (layer: layout_file).

Public entry points: `OrderTable`, `PlantingTable`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, WithJsonSchema

from bedplan.layout_file.counts import Count, Price
from bedplan.layout_file.quantities import (
    LONGEST_M,
    BagVolume,
    Length,
    Name,
    Reader,
    Share,
    SideOrAngle,
    Weight,
)
from bedplan.layout_file.schema_goods import Table

Spacing = Annotated[
    float,
    BeforeValidator(Reader("length", 0.02, LONGEST_M, "at least 20 mm", "at most 10 km")),
    WithJsonSchema({"type": ["string", "number"]}),
]
"""From a plant to the next: closer, a bed would hold more plants than anybody sets."""


class OrderTable(Table):
    """``[order]``: tax, what the vehicle and the barrow carry, what one person lifts."""

    tax: Share = 0.0
    payload: Weight | None = None
    payload_volume: BagVolume | None = None
    barrow: BagVolume | None = None
    lift: Weight | None = None


class PlantingTable(Table):
    """``[[planting]]``: new plants at a spacing in one bed."""

    bed: Name
    kind: Name
    spacing: Spacing
    pattern: Literal["square", "triangular"] = "triangular"
    edge: Length | None = None
    direction: SideOrAngle = "best"
    price: Price | None = None
    on_hand: Count = 0
