"""Schema of the fence: corners given or taped, and posts (layer: layout_file).

Which of these keys exclude or need one another is in `bedplan.layout_file.rules_enclosure`.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import ConfigDict, Discriminator, Field, Tag

from bedplan.layout_file.quantities import Coordinate, Length, Name, Share, Size
from bedplan.layout_file.schema_goods import MANY, ONE, Table, one_or_many
from bedplan.model.ties import Tape

PLACED: Final = "<placed>"
"""Mark of corners given with their places; `MANY` marks corners only named, for ties."""

Pair = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]


def _form_of_corners(value: object) -> str:
    return MANY if isinstance(value, list) else PLACED


Corners = Annotated[
    Annotated[dict[str, Pair], Tag(PLACED)] | Annotated[list[Name], Tag(MANY)],
    Discriminator(_form_of_corners),
]
Reading = Annotated[
    Annotated[Size, Tag(ONE)] | Annotated[list[Size], Field(min_length=1), Tag(MANY)],
    Discriminator(one_or_many),
]
"""What the tape read between two marks, or each of several readings."""


class PostsTable(Table):
    """Fence posts; every further key is a side with the distances of its posts."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, list[Length]] = Field(init=False)
    size: Size
    proud: Length = 0.0
    footing: Length = 0.0


class TapeTable(Table):
    """How well the tape tells a distance: one part fixed, one in proportion."""

    fixed: Size = Tape().fixed_m
    per: Share = Tape().per_m


class EnclosureTable(Table):
    """``[enclosure]``: the corners in order, with places or taped by ties, and the posts."""

    corners: Corners
    ties: dict[str, Reading] | None = None
    known: dict[str, Pair] = Field(default_factory=dict)
    marks: dict[str, Literal["inside", "outside", "anywhere"]] = Field(default_factory=dict)
    turn: Literal["ccw", "cw"] = "ccw"
    inward: list[Name] | None = None
    tape: TapeTable | None = None
    posts: PostsTable | None = None
