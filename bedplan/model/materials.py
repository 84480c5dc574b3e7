"""Things that are bought: boards, pavers, fabric and loose materials (layer: model).

Every class is a frozen record of what the layout file or a price list says, in SI units. A
price of None means "not given" and stays missing all the way to the order: it is never zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Corner = Literal["butt", "mitre", "stake"]
Through = Literal["long", "pinwheel"]
AtPosts = Literal["stop", "notch"]
Splicing = Literal["even", "anywhere"]
SoldBy = Literal["volume", "weight"]

SPLICE_CLEAR_M: Final = 0.3048
"""Least distance of a splice from a corner [m]: 12 in, common practice, no source."""

STAGGER_M: Final = 0.3048
"""Least distance of a splice from one in the tier below [m]: 12 in, common practice, no source."""

BLOCK_M: Final = 0.3048
"""Length of the block behind a splice [m]: 12 in, common practice, no source."""

LEAST_PIECE_M: Final = 0.4064
"""Shortest piece worth splicing in [m]: 16 in, one bay of framing; common practice, no source."""

LIFT_M: Final = 0.0762
"""Greatest thickness compacted at once [m]: 3 in with tampers. US Navy NAVEDTRA 14081, Grading
and Excavating, p. 15-42, which allows 6 in with rollers."""

MOST_TIERS: Final = 20
"""No edging is stacked higher; more is mistyped, or a wall."""

CORNER_SCREWS: Final = 3
"""Screws where two boards meet at a corner: common practice, no source."""

BLOCK_SCREWS: Final = 8
"""Screws in a block, four each side of the splice: common practice, no source."""

STAKE_SCREWS: Final = 2
"""Screws from a stake into each board, so that it cannot turn: common practice, no source."""


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
        on the line that halves the corner; ``stake``: both are cut square and meet a stake.
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
    at_posts
        What a run does at a fence post in its way: ``stop`` at its face, or ``notch`` round it.
    stake, screws
        Names of the stakes and screws it is set with; None where the file names none.
    stagger_m
        Least distance of a splice from one in the tier below [m].
    block_m
        Length of the backing block behind a splice, cut from the same stock; 0 for none [m].
    splicing, least_piece_m
        ``even``: runs longer than stock are cut into equal pieces; ``anywhere``: wherever the
        cut plan gains most, no piece shorter than this [m].
    corner_screws, block_screws, stake_screws
        Screws of one corner, of one block, and of one stake into one board, in each tier.
    connector_price
        Price of one connector, of edging that bends.
    waste
        Spare boards bought, as a share of those the cut plan takes.
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
    at_posts: AtPosts = "stop"
    stake: str | None = None
    screws: str | None = None
    stagger_m: float = STAGGER_M
    block_m: float = BLOCK_M
    splicing: Splicing = "even"
    least_piece_m: float = LEAST_PIECE_M
    corner_screws: int = CORNER_SCREWS
    block_screws: int = BLOCK_SCREWS
    stake_screws: int = STAKE_SCREWS
    connector_price: float | None = None
    waste: float = 0.0

    @property
    def longest_m(self) -> float:
        """The longest length on sale, less its end trims [m]; 0 if none is on sale."""
        longest = max((item.length_m for item in self.stock), default=0.0)
        return max(0.0, longest - 2 * self.end_trim_m)


@dataclass(frozen=True)
class Stake:
    """A kind of stake that holds boards upright.

    Parameters
    ----------
    size_m
        Side of the square stake [m].
    length_m
        From top to point [m].
    every_m
        Greatest spacing along a run [m]; None for stakes at corners and ends only.
    above_m
        Its top above the top of the boards, negative for below [m].
    price, pack
        Price of one pack, and how many a pack holds.
    on_hand
        How many there are already.
    """

    name: str
    size_m: float
    length_m: float
    every_m: float | None = None
    above_m: float = 0.0
    price: float | None = None
    on_hand: int = 0
    pack: int = 1


@dataclass(frozen=True)
class Screw:
    """A kind of screw: length [m], price of a box, how many a box holds, how many on hand."""

    name: str
    length_m: float
    pack: int = 1
    price: float | None = None
    on_hand: int = 0

    @property
    def plural(self) -> str:
        """What several are called: "deck screws" of a "deck screw" as of a "deck"."""
        bare = self.name.removesuffix(" screws").removesuffix(" screw")
        return f"{bare} screws"


@dataclass(frozen=True)
class Paver:
    """A whole unit: face length and width, thickness [m], weight [kg] and what is on hand.

    `waste` is the share bought beyond what is laid, for breakage.
    """

    name: str
    length_m: float
    width_m: float
    thickness_m: float
    price: float | None = None
    weight_kg: float | None = None
    on_hand: int = 0
    limit: int | None = None
    waste: float = 0.0

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
    """One size of bag or bale.

    Parameters
    ----------
    volume_m3
        Loose volume it spreads to [m^3].
    price
        Of one.
    packed_m3
        Volume printed on it, where pressed material spreads to another [m^3].
    covers_m2
        Area it is sold to cover [m^2], where that is what it says.
    weight_kg
        Of one [kg]; None to go by the material's density.
    """

    volume_m3: float
    price: float | None = None
    packed_m3: float | None = None
    covers_m2: float | None = None
    weight_kg: float | None = None


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
    kind
        What it is among the materials with published figures; None where the file says nothing.
    lift_m
        Greatest thickness compacted at once [m].
    settles
        Share of its depth it loses after it is laid; depths are what is left then.
    waste
        Share bought beyond what the fill takes.
    """

    name: str
    compaction: float = 1.0
    density_kg_m3: float | None = None
    sold_by: SoldBy | None = None
    bulk: Bulk | None = None
    bags: tuple[Bag, ...] = ()
    on_hand_m3: float = 0.0
    kind: str | None = None
    lift_m: float = LIFT_M
    settles: float = 0.0
    waste: float = 0.0

    @property
    def loose_per_place(self) -> float:
        """Loose volume laid for each volume left in place once compacted and settled [-]."""
        return self.compaction / (1.0 - self.settles)
