"""Runs, ends and pieces of edging (layer: engines).

A *run* is a straight length of a bed's outline that carries a board; a *piece* is one cut
length. Seen from above every piece is a four-sided figure: its outer face lies on the outline,
its inner face one thickness inside, and each end is one straight cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.model.layout import Point

Joint = Literal["through", "stop", "mitre", "stake", "fence", "post", "square", "splice", "closed"]


@dataclass(frozen=True)
class End:
    """One end of a piece.

    Parameters
    ----------
    joint
        What happens there: ``through`` and ``stop`` are the two boards of a butt corner,
        ``mitre`` half of one, ``stake`` stops at a corner stake, ``fence`` dies into a fence
        or a neighbour's board, ``post`` stops at a fence post, ``square`` is free, ``splice``
        meets the next piece of the run, ``closed`` meets itself.
    saw_deg
        What the mitre saw's scale reads, 0 for a square cut [deg].
    joins
        Label of the piece it meets, or the name of the side, post or stake; empty where free.
    longer
        Which face keeps more wood at this end, looking at the outer face: ``outer``, ``inner``,
        or ``both`` for a square cut.
    """

    joint: Joint
    saw_deg: float
    joins: str = ""
    longer: Literal["outer", "inner", "both"] = "both"


@dataclass(frozen=True)
class Notch:
    """A piece of wood taken out of a board's face so that it passes a post.

    Parameters
    ----------
    start_m, end_m
        Where along the piece, from its first end's long point [m].
    depth_m
        How deep into the thickness [m].
    post
        Name of the post it clears.
    face
        The face it is cut into.
    """

    start_m: float
    end_m: float
    depth_m: float
    post: str
    face: Literal["outer", "inner"] = "outer"


@dataclass(frozen=True)
class Piece:
    """One length to cut.

    Parameters
    ----------
    label
        What to write on it, such as ``2b``: run and piece.
    long_m
        Longest extent along the board, the length to take from stock [m].
    short_m
        Length of the shorter face [m].
    outline
        Its figure in plan.
    tier
        1 for the lowest board, and up. Where the boards follow the ground 1 is the level one at
        the top, which alone goes all round, and tiers count down.
    station_m
        Where along its run its first end's long point lies, from the run's start [m].
    notches
        What is taken out of it, in order along it.
    kind
        ``board``, or ``block`` for the backing block of a splice.
    """

    label: str
    bed: str
    run: int
    board: str
    long_m: float
    short_m: float
    ends: tuple[End, End]
    outline: Polygon
    tier: int = 1
    station_m: float = 0.0
    notches: tuple[Notch, ...] = ()
    kind: Literal["board", "block"] = "board"


@dataclass(frozen=True)
class Run:
    """A length of a bed's outline that carries a board, from start to end.

    `on_fence` is the name of the side whose rail the boards are fixed to; empty elsewhere.
    """

    number: int
    start: Point
    end: Point
    length_m: float
    on_fence: str = ""


@dataclass(frozen=True)
class Splice:
    """Where two pieces of a run meet end to end.

    Parameters
    ----------
    run, tier
        The run and the tier it is in.
    station_m
        From the run's start [m].
    at
        Its place on the outer face.
    joins
        Labels of the two pieces.
    held_by
        ``block`` behind it, ``stake`` behind it, ``connector`` of edging that bends, the rail
        of the ``fence``, or ``nothing``.
    block
        Label of its backing block; empty without one.
    """

    run: int
    tier: int
    station_m: float
    at: Point
    joins: tuple[str, str]
    held_by: Literal["block", "stake", "connector", "fence", "nothing"]
    block: str = ""


@dataclass(frozen=True)
class PlacedStake:
    """A stake on the ground.

    Parameters
    ----------
    label
        What to write on it, such as ``2.s3``: bed and number.
    stake
        The kind of stake.
    run
        The run it holds; the arriving one at a corner.
    kind
        ``corner`` holds two boards, ``end`` the free end of one, ``splice`` a splice without a
        block, ``between`` stands at the spacing.
    at
        Its middle.
    direction_deg
        The way one of its faces runs: along its board [deg].
    size_m, length_m
        Its side and length [m].
    below_m
        How much of it is in the ground [m].
    shifted_m
        How far it was moved along its run to keep clear of what is in the ground [m].
    """

    label: str
    stake: str
    run: int
    kind: Literal["corner", "end", "splice", "between"]
    at: Point
    direction_deg: float
    size_m: float
    length_m: float
    below_m: float
    shifted_m: float = 0.0


@dataclass(frozen=True)
class Opening:
    """A stretch of the ring round a bed, between its boards' faces, that no board fills.

    Parameters
    ----------
    kind
        ``stake``: the notch a corner stake closes; ``post``: a fence post's place; ``gap``: what
        is left where a board was squared off or has no room.
    outline
        Its figure in plan.
    run
        The run whose end it lies at.
    length_m
        How long it is along the run [m].
    """

    kind: Literal["stake", "post", "gap"]
    outline: Polygon
    run: int
    length_m: float


@dataclass(frozen=True)
class Shortfall:
    """A rule of the board or stake that could not be held at one place.

    Parameters
    ----------
    rule
        ``splice-clear`` nearer to a corner, ``splice-stagger`` nearer to a splice in the tier
        below, ``stake-clear`` no place clear of footings, pipes and stems, ``stake-spacing``
        farther from its neighbour, ``edging-gap`` an opening at the end of a board.
    run, tier
        Where.
    at
        The place.
    figure_m, limit_m
        What it is and what it should be [m].
    cause
        What is in the way, by name; empty where nothing is.
    """

    rule: Literal["splice-clear", "splice-stagger", "stake-clear", "stake-spacing", "edging-gap"]
    run: int
    tier: int
    at: Point
    figure_m: float
    limit_m: float
    cause: str = ""


@dataclass(frozen=True)
class LowerBoard:
    """A stretch of a run along which one more board stands under the others.

    Parameters
    ----------
    run, tier
        The run, and the tier: 2 lies under the board that goes all round, 3 under that.
    start_m, end_m
        From the run's start [m].
    """

    run: int
    tier: int
    start_m: float
    end_m: float


@dataclass(frozen=True)
class BedEdging:
    """The edging of one bed.

    Parameters
    ----------
    runs
        Straight lengths that carry boards.
    pieces
        All boards to cut, tier by tier.
    splices
        Where pieces of a run meet.
    planting
        What is left inside the boards.
    tiers, height_m
        Boards stacked where most are, and their top above the ground [m]; where the boards follow
        the ground, the height of the one that goes all round.
    blocks
        Backing blocks, pieces of the same stock.
    stakes, openings, shortfalls
        Stakes on the ground; where no board fills the ring; rules that could not be held.
    corners
        How many corners, those of all tiers together, have two boards screwed to each other.
    lower
        Stretches with boards under the first tier, where the boards follow the ground.
    """

    bed: str
    board: str | None
    runs: tuple[Run, ...]
    pieces: tuple[Piece, ...]
    splices: tuple[Splice, ...]
    planting: BaseGeometry
    tiers: int = 1
    height_m: float = 0.0
    blocks: tuple[Piece, ...] = ()
    stakes: tuple[PlacedStake, ...] = ()
    openings: tuple[Opening, ...] = ()
    shortfalls: tuple[Shortfall, ...] = ()
    corners: int = 0
    lower: tuple[LowerBoard, ...] = ()

    @property
    def all_round(self) -> int:
        """Boards stacked wherever there is one."""
        return 1 if self.lower else self.tiers

    @property
    def all_pieces(self) -> tuple[Piece, ...]:
        """Boards and backing blocks, all that is cut from stock."""
        return (*self.pieces, *self.blocks)

    @property
    def length_m(self) -> float:
        """Length of edging along its outer face [m]."""
        return sum(run.length_m for run in self.runs)
