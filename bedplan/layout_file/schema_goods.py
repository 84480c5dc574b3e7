"""Schema of what is bought, and of bonds to lay it in (layer: layout_file).

Boards, pavers, fabrics, materials and bonds may stand in a layout or in a price list that
layouts include.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Final, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    WithJsonSchema,
    model_validator,
)

from bedplan.layout_file.counts import Count, Pack, Price
from bedplan.layout_file.quantities import (
    AreaSize,
    BagVolume,
    Compaction,
    Coordinate,
    Density,
    Length,
    Load,
    Name,
    PerUnit,
    Settling,
    Share,
    Size,
    Volume,
    Weight,
    refusal,
    spell,
)
from bedplan.model.materials import (
    BLOCK_M,
    BLOCK_SCREWS,
    CORNER_SCREWS,
    LEAST_PIECE_M,
    LIFT_M,
    SPLICE_CLEAR_M,
    STAGGER_M,
    STAKE_SCREWS,
)
from bedplan.model.published import MaterialKind

ONE, MANY = "<one>", "<many>"
"""Marks of the two forms of a value that may stand alone or in a list; never shown to anyone."""


def one_or_many(value: object) -> str:
    """Return the mark of a value: in a list, or alone."""
    return MANY if isinstance(value, list) else ONE


class Table(BaseModel):
    """A table of the file: no unknown keys, no silent change of type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class StockTable(Table):
    """One length on sale."""

    length: Size
    price: Price | None = None
    limit: Count | None = None

    @model_validator(mode="after")
    def _not_free(self) -> Self:
        if self.price == 0.0:
            got = "a price of 0 for a length on sale"
            raise refusal(
                got,
                "a price above zero, or none where it is not known",
                "put lengths that cost nothing under on_hand",
            )
        return self


class BoardTable(Table):
    """``[board.NAME]``: edging."""

    thickness: Size
    height: Size
    kerf: Length = 0.0
    end_trim: Length = 0.0
    corner: Literal["butt", "mitre", "stake"] = "butt"
    through: Literal["long", "pinwheel"] = "long"
    stock: list[StockTable] = Field(default_factory=list)
    on_hand: list[Size] = Field(default_factory=list)
    splice_clear: Length = SPLICE_CLEAR_M
    stagger: Length = STAGGER_M
    block: Length = BLOCK_M
    splice: Literal["even", "anywhere"] = "even"
    least_piece: Size = LEAST_PIECE_M
    at_posts: Literal["stop", "notch"] = "stop"
    stake: Name | None = None
    screws: Name | None = None
    corner_screws: Count = CORNER_SCREWS
    block_screws: Count = BLOCK_SCREWS
    stake_screws: Count = STAKE_SCREWS
    bends: bool = False
    connector_price: Price | None = None
    waste: Share = 0.0


class StakeTable(Table):
    """``[stake.NAME]``: what holds boards upright."""

    size: Size
    length: Size
    every: Size | None = None
    above: Coordinate = 0.0
    price: Price | None = None
    pack: Pack = 1
    on_hand: Count = 0


class ScrewTable(Table):
    """``[screw.NAME]``: what fastens them."""

    length: Size
    pack: Pack = 1
    price: Price | None = None
    on_hand: Count = 0


class PaverTable(Table):
    """``[paver.NAME]``: a whole unit."""

    size: Annotated[list[Size], Field(min_length=2, max_length=2)]
    thickness: Size
    price: Price | None = None
    weight: Weight | None = None
    on_hand: Count = 0
    limit: Count | None = None
    waste: Share = 0.0


MOST_MODULES: Final = 50
"""No step of a pattern is longer than so many unit lengths or widths."""

MOST_MOTIF_UNITS: Final = 48
"""No motif has more units; a larger one repeats within itself or was mistyped."""


def _read_multiple(value: object) -> float:
    """Return how many times a module is taken: a number, or a fraction such as ``"1/3"``."""
    wanted = 'how many times the unit counts, such as 1, -0.5 or "1/3"'
    if isinstance(value, str) and re.fullmatch(r"-?\d{1,4}/[1-9]\d{0,3}", value, re.ASCII):
        value = float(Fraction(value))
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refusal(spell(value), wanted, "write a number, without a unit")
    if not -MOST_MODULES <= value <= MOST_MODULES:
        got, most = spell(value), f"{wanted}, at most {MOST_MODULES} either way"
        raise refusal(got, most, "count in lengths and widths of the units")
    return float(value)


Multiple = Annotated[
    float,
    BeforeValidator(_read_multiple),
    WithJsonSchema({"type": ["string", "number"]}),
]
Multiples = Annotated[list[Multiple], Field(max_length=4)]
"""Times the first unit's length, its width, the second unit's length, its width."""


class StepTable(Table):
    """A step of a pattern, in multiples along x and y."""

    x: Multiples = Field(default_factory=list)
    y: Multiples = Field(default_factory=list)


class MotifUnitTable(Table):
    """One unit of a motif: its centre, the way it lies, and which unit of the path it is."""

    x: Multiples = Field(default_factory=list)
    y: Multiples = Field(default_factory=list)
    turned: bool = False
    face: Literal[1, 2] = 1


class BondTable(Table):
    """``[bond.NAME]``: a motif and the two steps by which it repeats."""

    along: StepTable
    across: StepTable
    units: Annotated[list[MotifUnitTable], Field(min_length=1, max_length=MOST_MOTIF_UNITS)]


class FabricTable(Table):
    """``[fabric.NAME]``: weed barrier."""

    width: Size
    lap: Length
    turn_up: Length = 0.0
    rolls: list[StockTable] = Field(default_factory=list)
    pin_every: Size | None = None
    pin_price: Price | None = None
    on_hand: list[Size] = Field(default_factory=list)


class BulkTable(Table):
    """``bulk``: loose material by the load. `per` comes first: the loads are measured like it."""

    per: PerUnit
    price: Price | None = None
    step: Load = 0.0
    minimum: Load = 0.0
    delivery: Price = 0.0


class BagTable(Table):
    """One size of bag or bale."""

    volume: BagVolume | None = None
    spread: BagVolume | None = None
    covers: AreaSize | None = None
    depth: Size | None = None
    weight: Weight | None = None
    price: Price | None = None

    @model_validator(mode="after")
    def _one_volume(self) -> Self:
        if self.covers is None and self.depth is not None:
            got, remedy = "'depth' without 'covers'", 'add for instance covers = "20 ft^2"'
        elif self.covers is not None and self.depth is None:
            got, remedy = "'covers' without 'depth'", 'add for instance depth = "3 in"'
        elif self.covers is not None and self.spread is not None:
            got, remedy = "'spread' and 'covers'", "take one of the two out"
        elif self.volume is None and self.spread is None and self.covers is None:
            got, remedy = "a bag of no size", 'add for instance volume = "2 ft^3"'
        else:
            return self
        raise refusal(got, "volume, spread, or covers with its depth", remedy)


class MaterialTable(Table):
    """``[material.NAME]``: a loose material."""

    compaction: Compaction = 1.0
    density: Density | None = None
    sold_by: Literal["volume", "weight"] | None = None
    bulk: BulkTable | None = None
    bags: list[BagTable] = Field(default_factory=list)
    on_hand: Volume = 0.0
    kind: MaterialKind | None = None
    lift: Size = LIFT_M
    settles: Settling = 0.0
    waste: Share = 0.0

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        per = self.bulk.per if self.bulk else None
        if per is not None and self.sold_by not in (None, per.measure):
            got = f'sold_by = "{self.sold_by}" with a bulk price per {per.text}'
            raise refusal(
                got, "one way of measuring", f'write sold_by = "{per.measure}", or leave it out'
            )
        if per is not None and per.measure == "weight" and self.density is None:
            got = f"a bulk price per {per.text} without a density"
            raise refusal(
                got,
                "the weight per volume of a material sold by weight",
                'add for instance density = "2950 lb/yd^3"',
            )
        return self


IncludeList = Annotated[
    Annotated[Name, Tag(ONE)] | Annotated[list[Name], Tag(MANY)], Discriminator(one_or_many)
]


class PriceList(Table):
    """A file that layouts include: goods, bonds, and further price lists."""

    include: IncludeList | None = None
    board: dict[str, BoardTable] = Field(default_factory=dict)
    paver: dict[str, PaverTable] = Field(default_factory=dict)
    fabric: dict[str, FabricTable] = Field(default_factory=dict)
    material: dict[str, MaterialTable] = Field(default_factory=dict)
    bond: dict[str, BondTable] = Field(default_factory=dict)
    stake: dict[str, StakeTable] = Field(default_factory=dict)
    screw: dict[str, ScrewTable] = Field(default_factory=dict)
