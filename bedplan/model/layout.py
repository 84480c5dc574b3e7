"""What a layout says, before anything is computed (layer: model).

A `Layout` holds wishes tied to the fence: "30 inches deep along BC", "9 ft along AB and 3 ft
in". Nothing in it is a finished shape, so a re-measured enclosure carries everything along:
replace `Layout.enclosure` and plan again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from bedplan.model.bonds import BondPattern
from bedplan.model.ground import GroundSpec
from bedplan.model.materials import Board, Fabric, Material, Paver, Screw, Stake
from bedplan.model.ordering import OrderTerms
from bedplan.model.planting import Planting
from bedplan.model.ties import TiedRing

Point = tuple[float, float]
System = Literal["imperial", "metric"]


@dataclass(frozen=True)
class SidePoint:
    """A place by the fence: so far along a side from its first corner, then square in [m]."""

    side: str
    along_m: float
    in_m: float = 0.0


Place = Point | SidePoint


@dataclass(frozen=True)
class PostRow:
    """Posts along one side, by their distance from its first corner [m]."""

    side: str
    along_m: tuple[float, ...]


@dataclass(frozen=True)
class Posts:
    """Fence posts.

    Parameters
    ----------
    size_m
        Side of the square post [m].
    proud_m
        How far a post stands inside the fence line [m]; 0 where its inner face is flush.
    rows
        Posts between the corners. A post stands at every corner as well.
    footing_m
        Side of the square footing round a post, or its diameter [m]; 0 for none.
    """

    size_m: float
    proud_m: float = 0.0
    rows: tuple[PostRow, ...] = ()
    footing_m: float = 0.0


@dataclass(frozen=True)
class EnclosureSpec:
    """The fence line, the inside face of its framing.

    Parameters
    ----------
    corners
        Named corners in order, either way round [m]. Empty where only ties tell the fence:
        `bedplan.survey.surveyed` then finds them.
    posts
        Its posts.
    ties
        The taped distances it comes from; None where the corners themselves are given. While
        ties are there, the corners are what they come to.
    """

    corners: tuple[tuple[str, Point], ...]
    posts: Posts | None = None
    ties: TiedRing | None = None


@dataclass(frozen=True)
class Gate:
    """A gate in one side.

    Parameters
    ----------
    along_m
        From the side's first corner to the near edge of the opening [m].
    opening_m
        Clear width between the gate posts [m].
    leaves
        1 or 2.
    hinge
        The corner name towards which a single leaf is hung.
    opens
        ``in`` or ``out`` of the enclosure.
    gap_below_m
        Under the leaf [m].
    """

    name: str
    side: str
    along_m: float
    opening_m: float
    leaves: int = 1
    hinge: str = ""
    opens: Literal["in", "out"] = "in"
    gap_below_m: float | None = None


@dataclass(frozen=True)
class Pipe:
    """A buried pipe or cable: its line, and how far stakes and footings keep from it [m]."""

    name: str
    line: tuple[Place, ...]
    clear_m: float = 0.0


@dataclass(frozen=True)
class Plant:
    """A plant: place, stem diameter, crown spread and the ring kept clear round the stem [m]."""

    name: str
    at: Place
    stem_m: float = 0.0
    spread_m: float = 0.0
    keep_clear_m: float = 0.0
    existing: bool = True

    @property
    def ring_m(self) -> float:
        """Radius of the clear ring, from the middle of the stem [m]."""
        return self.stem_m / 2 + self.keep_clear_m


@dataclass(frozen=True)
class AlongSides:
    """A border of even width along one or more sides in a row, mitred at their corners [m]."""

    sides: tuple[str, ...]
    width_m: float
    start_m: float = 0.0
    end_m: float = 0.0


@dataclass(frozen=True)
class Rectangle:
    """A rectangle by its centre; its length runs along `square_to` (a side or degrees)."""

    center: Place
    size_m: tuple[float, float]
    square_to: str | float = 0.0


@dataclass(frozen=True)
class Circle:
    """A circle by its centre and radius [m]; `facets` straight edges, or 0 for a true curve.

    With a `sagitta_m` it takes as few straight edges as stray no farther from the curve [m].
    """

    center: Place
    radius_m: float
    facets: int = 0
    sagitta_m: float = 0.0


@dataclass(frozen=True)
class Outline:
    """Any simple polygon by its corners."""

    points: tuple[Place, ...]


@dataclass(frozen=True)
class Around:
    """The smallest rectangle, square to a side, that keeps a clearance round named plants [m]."""

    plants: tuple[str, ...]
    clearance_m: float
    square_to: str | float | None = None


BedShape = AlongSides | Rectangle | Circle | Outline | Around


@dataclass(frozen=True)
class Layer:
    """A depth of one material, measured in place [m]; `there_m` of it lies there already.

    With `from_heap` the depth is what the material on hand gives, and the plan finds it.
    """

    material: str
    depth_m: float
    there_m: float = 0.0
    from_heap: bool = False


@dataclass(frozen=True)
class BedSpec:
    """A bed: its shape and what goes round it and into it.

    `height_m` is the top of its edging above the ground [m], `tiers` the boards stacked; where
    neither is given one board is set. With ``"ground"`` for `tiers` one level board goes round,
    and more are set under it along the stretches where the ground falls away.
    """

    name: str
    shape: BedShape
    edging: str | None = None
    against_fence: bool = False
    barrier: str | None = None
    mulch: Layer | None = None
    layers: tuple[Layer, ...] = ()
    height_m: float | None = None
    tiers: int | Literal["ground"] | None = None


@dataclass(frozen=True)
class Rest:
    """All the ground inside the fence that no bed and no other path takes."""


@dataclass(frozen=True)
class Centerline:
    """A walk of even width along a line of points [m]."""

    points: tuple[Place, ...]
    width_m: float


PathShape = Rest | Outline | Centerline


@dataclass(frozen=True)
class Paving:
    """How units are to lie in a path.

    Parameters
    ----------
    paver
        Name of the unit.
    bond
        ``stack``, ``running``, ``herringbone``, ``herringbone 45``, ``basket weave``,
        ``pinwheel``; ``courses`` for straight rows each slid on its own, ``free`` for no
        pattern at all; or the name of a pattern in `Layout.bonds`.
    offset
        Shift of each course on the last, as a share of the unit's length.
    direction
        ``best``, the name of a side, or degrees.
    joint_m
        Least and greatest joint allowed [m].
    stride_m
        Stepping stones: greatest distance of centres along the walk [m]; None for a whole bond.
    second
        Name of the second unit, for a bond of two sizes.
    """

    paver: str
    bond: str = "stack"
    offset: float = 0.5
    direction: str | float = "best"
    joint_m: tuple[float, float] = (0.0, 0.0)
    stride_m: float | None = None
    second: str | None = None

    @property
    def pattern(self) -> str:
        """What the units are laid in, in a word: the bond, or stepping stones."""
        return self.bond if self.stride_m is None else "stepping stones"


@dataclass(frozen=True)
class PathSpec:
    """A path: its shape and what is laid in it, lowest layer first.

    `base_beyond` is how far the lowest layer goes beyond the path's edge [m], or ``published``
    for what `bedplan.takeoff.fill.base_margin_m` says.
    """

    name: str
    shape: PathShape
    barrier: str | None = None
    paving: Paving | None = None
    layers: tuple[Layer, ...] = ()
    joint_fill: str | None = None
    base_beyond: float | Literal["published"] = 0.0


@dataclass(frozen=True)
class Layout:
    """Everything a layout file says."""

    title: str
    enclosure: EnclosureSpec
    gates: tuple[Gate, ...] = ()
    plants: tuple[Plant, ...] = ()
    beds: tuple[BedSpec, ...] = ()
    paths: tuple[PathSpec, ...] = ()
    boards: Mapping[str, Board] = field(default_factory=dict)
    pavers: Mapping[str, Paver] = field(default_factory=dict)
    fabrics: Mapping[str, Fabric] = field(default_factory=dict)
    materials: Mapping[str, Material] = field(default_factory=dict)
    show: System = "imperial"
    bonds: Mapping[str, BondPattern] = field(default_factory=dict)
    stakes: Mapping[str, Stake] = field(default_factory=dict)
    screws: Mapping[str, Screw] = field(default_factory=dict)
    pipes: tuple[Pipe, ...] = ()
    terms: OrderTerms = field(default_factory=OrderTerms)
    plantings: tuple[Planting, ...] = ()
    ground: GroundSpec | None = None
