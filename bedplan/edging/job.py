"""What is asked of the edging of one bed (layer: engines).

Public entry points: `BedJob`, `tier_count`, `longest_m`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from bedplan.edging.clear import InGround
from bedplan.edging.pieces import Place
from bedplan.edging.stakes import StakeKind
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import BedSpec
from bedplan.model.materials import Board, Stake
from bedplan.model.site import PlacedBed

SpliceChoice = Mapping[tuple[str, int, int], Sequence[float]]
"""Where runs are spliced, by bed, run and tier: stations from the run's start [m]."""

LowerBoards = Mapping[tuple[str, int, int], Sequence[tuple[float, float]]]
"""Where boards are wanted under the one all round, by bed, run and tier from the second down:
first and last station from the run's start [m], in order."""


@dataclass(frozen=True)
class BedJob:
    """A bed to edge: its number in the file, its board and stake, and what is in the ground.

    `splices` are places chosen elsewhere; runs it does not name are spliced evenly. `lower` counts
    for a bed whose boards follow the ground.
    """

    bed: PlacedBed
    number: int
    board: Board
    stake: Stake | None
    ground: InGround
    splices: SpliceChoice
    lower: LowerBoards = field(default_factory=dict)

    @property
    def follows_ground(self) -> bool:
        """Whether tiers are added under the first one, and only where the ground asks."""
        return self.bed.spec.tiers == "ground"

    @property
    def tiers(self) -> int:
        """Boards stacked, where most are."""
        if self.follows_ground:
            name = self.bed.spec.name
            return max((tier for bed, _, tier in self.lower if bed == name), default=1)
        return tier_count(self.bed.spec, self.board)

    @property
    def height_m(self) -> float:
        """Top of the boards above the ground [m]; of the first one where they follow it."""
        if self.follows_ground:
            return self.board.height_m
        return self.bed.spec.height_m or self.tiers * self.board.height_m

    @property
    def stake_kind(self) -> StakeKind | None:
        """The stake with what it holds; None where the board names none."""
        if self.stake is None:
            return None
        return StakeKind(self.stake, self.board, self.height_m, self.number)

    def place(self, tier: int) -> Place:
        """Return where the pieces of a tier stand."""
        return Place(self.bed.spec.name, self.number, tier)


def tier_count(spec: BedSpec, board: Board) -> int:
    """Return how many boards are stacked to the height a bed asks for.

    Examples
    --------
    >>> from bedplan.model.layout import Circle
    >>> board = Board("cedar", 0.02, 0.14)
    >>> beds = [BedSpec("b", Circle((0, 0), 1.0), height_m=height) for height in (0.1, 0.28, 0.3)]
    >>> [tier_count(bed, board) for bed in beds]
    [1, 2, 3]
    """
    if spec.height_m is not None:
        return max(1, math.ceil((spec.height_m - SNAP_M) / board.height_m))
    return spec.tiers if isinstance(spec.tiers, int) else 1


def longest_m(board: Board) -> float:
    """Return the longest piece that every run can be given: a longer leftover is but one."""
    on_hand = max(board.on_hand_m, default=0.0) - 2 * board.end_trim_m
    return board.longest_m or on_hand
