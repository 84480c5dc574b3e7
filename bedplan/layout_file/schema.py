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

from bedplan.layout_file.quantities import (
    Coordinate,
    Facets,
    Length,
    Name,
    Share,
    SideOrAngle,
    Size,
    refusal,
)
from bedplan.layout_file.schema_goods import MANY, ONE, PriceList, Table, one_or_many
from bedplan.model.bonds import BONDS

FileUnit = Literal["in", "ft", "yd", "m", "cm", "mm"]
TIED: Final = "<tied>"
"""Mark of a point tied to a side; `MANY` marks one given as [x, y]."""

MARKS: Final = frozenset({ONE, MANY, TIED})
BED_SHAPES: Final = ("along", "rectangle", "circle", "polygon", "around")
PATH_SHAPES: Final = ("area", "polygon", "centerline")


def _form_of_point(value: object) -> str | None:
    if isinstance(value, list):
        return MANY
    return TIED if isinstance(value, dict) else None


def _in_order(joint: list[float]) -> list[float]:
    if joint[0] > joint[1]:
        got = "a least joint above the greatest"
        raise refusal(got, "[least, greatest]", "put the smaller joint first")
    return joint


def _exactly_one(keys: tuple[str, ...]) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


class TiedPoint(Table):
    """A point by its side: so far along, so far in."""

    side: Name
    along: Length
    in_: Annotated[Length, Field(alias="in")] = 0.0


Pair = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
SizePair = Annotated[list[Size], Field(min_length=2, max_length=2)]
PlaceTable = Annotated[
    Annotated[Pair, Tag(MANY)] | Annotated[TiedPoint, Tag(TIED)], Discriminator(_form_of_point)
]
Joint = Annotated[
    Annotated[Length, Tag(ONE)]
    | Annotated[
        list[Length], Field(min_length=2, max_length=2), AfterValidator(_in_order), Tag(MANY)
    ],
    Discriminator(one_or_many),
]


class PostsTable(Table):
    """Fence posts; every further key is a side with the distances of its posts."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, list[Length]] = Field(init=False)
    size: Size
    proud: Length = 0.0


class EnclosureTable(Table):
    """``[enclosure]``: the corners in order and the posts."""

    corners: dict[str, Pair]
    posts: PostsTable | None = None


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


class LayerTable(Table):
    """A depth of one material."""

    material: Name
    depth: Size


class RectangleTable(Table):
    """``rectangle``: its length runs along `square_to`."""

    center: PlaceTable
    size: SizePair
    square_to: SideOrAngle = 0.0


class CircleTable(Table):
    """``circle``: by radius or diameter; facets of 0 make it a true curve."""

    model_config = ConfigDict(json_schema_extra=_exactly_one(("radius", "diameter")))
    center: PlaceTable
    radius: Size | None = None
    diameter: Size | None = None
    facets: Facets = 0


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
    against_fence: bool = False
    barrier: Name | None = None
    mulch: LayerTable | None = None
    layers: list[LayerTable] = Field(default_factory=list)


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


class LayoutFile(PriceList):
    """The whole file."""

    title: Name
    unit: FileUnit | None = None
    show: Literal["imperial", "metric"] | None = None
    enclosure: EnclosureTable
    gate: list[GateTable] = Field(default_factory=list)
    plant: list[PlantTable] = Field(default_factory=list)
    bed: list[BedTable] = Field(default_factory=list)
    path: list[PathTable] = Field(default_factory=list)
