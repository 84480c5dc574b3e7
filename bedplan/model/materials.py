"""Things that are bought: boards, pavers, fabric and loose materials (layer: model).

Every class is a frozen record of what the layout file or a price list says, in SI units. A
price of None means "not given" and stays missing all the way to the order: it is never zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Corner = Literal["butt", "mitre"]
Through = Literal["long", "pinwheel"]
SoldBy = Literal["volume", "weight"]

SPLICE_CLEAR_M: Final = 0.3048
"""Least distance of a splice from a corner [m]: 12 in, common practice, no source."""


@dataclass(frozen=True)
class StockItem:
    """A length the yard sells.

    Parameters
    ----------
    length_m
        Length as sold [m], > 0.
    price
        Price of one, in the money of the file.
    limit
        How many there are; None for as many as wanted.
    """

    length_m: float
    price: float | None = None
    limit: int | None = None


@dataclass(frozen=True)
class Board:
    """A kind of edging board.

    Parameters
    ----------
    thickness_m, height_m
        True (dressed) size [m], not the nominal one.
    kerf_m
        Width of the saw cut [m].
    end_trim_m
        Taken off each end of every stock length before use [m].
    corner
        ``butt``: one board runs through, the other stops against it; ``mitre``: both are cut
        on the line that halves the corner.
    through
        Which board runs through a butt corner: the longer one, or each in turn.
    stock
        Lengths on sale.
    on_hand_m
        Leftover lengths, used before anything is bought [m].
    splice_clear_m
        Least distance of a splice from the end of its run [m].
    bends
        True for edging that follows a curve; a circle is then one run of its arc length.
    """

    name: str
    thickness_m: float
    height_m: float
    kerf_m: float = 0.0
    end_trim_m: float = 0.0
    corner: Corner = "butt"
    through: Through = "long"
    stock: tuple[StockItem, ...] = ()
    on_hand_m: tuple[float, ...] = ()
    splice_clear_m: float = SPLICE_CLEAR_M
    bends: bool = False

    @property
    def longest_m(self) -> float:
        """The longest length on sale, less its end trims [m]; 0 if none is on sale."""
        longest = max((item.length_m for item in self.stock), default=0.0)
        return max(0.0, longest - 2 * self.end_trim_m)


@dataclass(frozen=True)
class Paver:
    """A whole unit: face length and width, thickness [m], weight [kg] and what is on hand."""

    name: str
    length_m: float
    width_m: float
    thickness_m: float
    price: float | None = None
    weight_kg: float | None = None
    on_hand: int = 0
    limit: int | None = None

    @property
    def face_m2(self) -> float:
        """Area of one face [m^2]."""
        return self.length_m * self.width_m


@dataclass(frozen=True)
class Fabric:
    """Weed barrier from the roll: width, side lap, turn-up at edges and pin spacing [m]."""

    name: str
    width_m: float
    lap_m: float
    turn_up_m: float = 0.0
    rolls: tuple[StockItem, ...] = ()
    pin_every_m: float | None = None
    on_hand_m: tuple[float, ...] = ()
    pin_price: float | None = None


@dataclass(frozen=True)
class Bulk:
    """Loose material by the load.

    Parameters
    ----------
    measure
        What is measured at the yard's gate.
    unit
        The unit of sale as it was written, such as ``ton``.
    unit_size
        That unit in m³ or kg.
    step, minimum
        Smallest increment and smallest load [m³ or kg]; a step of 0 means any amount.
    price
        Per unit of sale.
    delivery
        Once per order.
    """

    measure: SoldBy
    unit: str
    unit_size: float
    step: float = 0.0
    minimum: float = 0.0
    price: float | None = None
    delivery: float = 0.0


@dataclass(frozen=True)
class Bag:
    """One bag size: loose volume [m^3] and price."""

    volume_m3: float
    price: float | None = None


@dataclass(frozen=True)
class Material:
    """A loose material.

    Parameters
    ----------
    compaction
        Loose volume per volume in place [-], ≥ 1.
    density_kg_m3
        Weight of a loose cubic metre [kg/m^3]; None where the file gives none.
    bulk, bags
        How it is sold; either, both or neither.
    on_hand_m3
        Loose volume left over from another job [m^3].
    """

    name: str
    compaction: float = 1.0
    density_kg_m3: float | None = None
    sold_by: SoldBy | None = None
    bulk: Bulk | None = None
    bags: tuple[Bag, ...] = ()
    on_hand_m3: float = 0.0
