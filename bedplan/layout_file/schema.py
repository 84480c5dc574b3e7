"""Schema of the layout file: what stands on the ground (layer: layout_file).

Pydantic reads the tables; `bedplan.layout_file.build` turns them into the frozen dataclasses the
engines work on. Which keys exclude or need one another is in `bedplan.layout_file.rules`, so
that a table with a wrong value still has its other faults told.

Public entry point: `LayoutFile`.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import (
    AfterValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    WithJsonSchema,
)

from bedplan.layout_file.counts import Facets, Tiers
from bedplan.layout_file.quantities import (
    Length,
    Name,
    Share,
    SideOrAngle,
    Size,
    refusal,
)
from bedplan.layout_file.schema_enclosure import PLACED, EnclosureTable
from bedplan.layout_file.schema_goods import MANY, ONE, PriceList, Table, one_or_many
from bedplan.layout_file.schema_ground import Dug, FallTable, GroundTable, Level
from bedplan.layout_file.schema_order import OrderTable, PlantingTable
from bedplan.layout_file.schema_points import TIED, PlaceTable
from bedplan.model.bonds import BONDS

FileUnit = Literal["in", "ft", "yd", "m", "cm", "mm"]
WORD: Final = "<word>"
"""Mark of a word that stands where a length may."""

MARKS: Final = frozenset({ONE, MANY, TIED, PLACED, WORD})
BED_SHAPES: Final = ("along", "rectangle", "circle", "polygon", "around")
PATH_SHAPES: Final = ("area", "polygon", "centerline")


def _in_order(joint: list[float]) -> list[float]:
    if joint[0] > joint[1]:
        got = "a least joint above the greatest"
        raise refusal(got, "[least, greatest]", "put the smaller joint first")
    return joint


def _exactly_one(keys: tuple[str, ...]) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


SizePair = Annotated[list[Size], Field(min_length=2, max_length=2)]
Joint = Annotated[
    Annotated[Length, Tag(ONE)]
    | Annotated[
        list[Length], Field(min_length=2, max_length=2), AfterValidator(_in_order), Tag(MANY)
    ],
    Discriminator(one_or_many),
]


class GateTable(Table):
    """``[[gate]]``: `along` runs from the side's first corner to the near edge of the opening."""

    name: Name
    side: Name
    along: Length
    opening: Size
    leaves: Literal[1, 2] = 1
    hinge: Name | None = None
    opens: Literal["in", "out"] = "in"
    gap_below: Length | None = None


class PlantTable(Table):
    """``[[plant]]``."""

    name: Name
    at: PlaceTable
    stem: Length = 0.0
    spread: Length = 0.0
    keep_clear: Length = 0.0
    existing: bool = True


class PipeTable(Table):
    """``[[pipe]]``: a buried pipe or cable along a line of points."""

    name: Name
    line: Annotated[list[PlaceTable], Field(min_length=2)]
    clear: Length = 0.0


class LayerTable(Table):
    """A depth of one material, and how much of it lies there already."""

    material: Name
    depth: Size
    there: Length = 0.0


MulchDepth = Annotated[
    Annotated[Literal["on hand"], Tag(WORD)] | Annotated[Size, Tag(ONE)],
    Discriminator(lambda value: WORD if value == "on hand" else ONE),
]
"""How deep mulch is spread: a size, or as deep as the material on hand gives."""


class MulchTable(Table):
    """``mulch``: a depth of one material on a bed, or all of it that is on hand."""

    material: Name
    depth: MulchDepth
    there: Length = 0.0


class RectangleTable(Table):
    """``rectangle``: its length runs along `square_to`."""

    center: PlaceTable
    size: SizePair
    square_to: SideOrAngle = 0.0


class CircleTable(Table):
    """``circle``: by radius or diameter; facets of 0 and no sagitta make it a true curve."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(("radius", "diameter")))
    center: PlaceTable
    radius: Size | None = None
    diameter: Size | None = None
    facets: Facets = 0
    sagitta: Size | None = None


class BedTable(Table):
    """``[[bed]]``: exactly one shape, and what goes round it and into it."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(BED_SHAPES))
    name: Name
    along: Annotated[list[Name], Field(min_length=1)] | None = None
    width: Size | None = None
    start: Length = 0.0
    end: Length = 0.0
    rectangle: RectangleTable | None = None
    circle: CircleTable | None = None
    polygon: Annotated[list[PlaceTable], Field(min_length=3)] | None = None
    around: Annotated[list[Name], Field(min_length=1)] | None = None
    clearance: Length | None = None
    square_to: SideOrAngle | None = None
    edging: Name | None = None
    height: Size | None = None
    tiers: Tiers | None = None
    against_fence: bool = False
    barrier: Name | None = None
    mulch: MulchTable | None = None
    layers: list[LayerTable] = Field(default_factory=list)


Beyond = Annotated[
    Annotated[Literal["published"], Tag(WORD)] | Annotated[Length, Tag(ONE)],
    Discriminator(lambda value: WORD if value == "published" else ONE),
]
"""How far a base goes beyond its path: a length, or what the trade publishes."""

BondName = Annotated[
    Name, WithJsonSchema({"type": "string", "minLength": 1, "examples": list(BONDS)})
]
"""One of the words, or the name of a ``[bond.NAME]``: `references` tells any other."""


class PathTable(Table):
    """``[[path]]``: exactly one shape, and what is laid in it, lowest layer first."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(PATH_SHAPES))
    name: Name
    area: Literal["rest"] | None = None
    polygon: Annotated[list[PlaceTable], Field(min_length=3)] | None = None
    centerline: Annotated[list[PlaceTable], Field(min_length=2)] | None = None
    width: Size | None = None
    barrier: Name | None = None
    pavers: Name | None = None
    second: Name | None = None
    bond: BondName = "stack"
    offset: Share = 0.5
    direction: SideOrAngle = "best"
    joint: Joint = 0.0
    stride: Size | None = None
    layers: list[LayerTable] = Field(default_factory=list)
    joint_fill: Name | None = None
    base_beyond: Beyond = 0.0
    fall: FallTable | None = None
    level: Level | None = None
    at: PlaceTable | None = None
    dug: Dug | None = None


class LayoutFile(PriceList):
    """The whole file."""

    title: Name
    unit: FileUnit | None = None
    show: Literal["imperial", "metric"] | None = None
    enclosure: EnclosureTable
    gate: list[GateTable] = Field(default_factory=list)
    plant: list[PlantTable] = Field(default_factory=list)
    pipe: list[PipeTable] = Field(default_factory=list)
    bed: list[BedTable] = Field(default_factory=list)
    path: list[PathTable] = Field(default_factory=list)
    planting: list[PlantingTable] = Field(default_factory=list)
    order: OrderTable | None = None
    ground: GroundTable | None = None
