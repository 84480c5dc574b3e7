"""Stakes, screws and connectors of the edging, counted (layer: engines).

Screws: at every corner of two boards, in every block, from every stake into each board it holds,
and where a board ends at the fence or at a post; boards fixed to the fence at a spacing besides.
Connectors: one at every joint of edging that bends, the closing of a ring among them.

Public entry point: `count_hardware`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from bedplan.edging.model import BedEdging, PlacedStake
from bedplan.geometry.lines import through
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.materials import Board

RAIL_SCREWS_M: Final = 0.6096
"""Greatest spacing of the screws into a fence rail [m]: 24 in, common practice, no source."""


@dataclass(frozen=True)
class Hardware:
    """What the boards are set with, by name: stakes, screws, and connectors by their board."""

    stakes: Mapping[str, int] = field(default_factory=dict)
    screws: Mapping[str, int] = field(default_factory=dict)
    connectors: Mapping[str, int] = field(default_factory=dict)


def count_hardware(edging: Iterable[BedEdging], boards: Mapping[str, Board]) -> Hardware:
    """Return all stakes, screws and connectors of a garden.

    Parameters
    ----------
    edging
        The edging of every bed.
    boards
        Kinds of board, by name; a board without ``screws`` has none counted.
    """
    stakes: Counter[str] = Counter()
    screws: Counter[str] = Counter()
    connectors: Counter[str] = Counter()
    for bed in edging:
        if bed.board is None:
            continue
        board = boards[bed.board]
        stakes.update(stake.stake for stake in bed.stakes)
        if board.screws is not None:
            screws[board.screws] += sum(count for _, count in screw_counts(bed, board))
        if board.bends and (count := connector_count(bed)):
            connectors[board.name] += count
    return Hardware(dict(stakes), dict(screws), dict(connectors))


def screw_counts(bed: BedEdging, board: Board) -> Iterator[tuple[str, int]]:
    """Yield what screws of a bed are for, and how many."""
    into_stakes = sum(
        boards_at(bed, stake) * (2 if stake.kind == "corner" else 1) for stake in bed.stakes
    )
    into_stakes += sum(splice.held_by == "stake" for splice in bed.splices)
    yield "corners", bed.corners * board.corner_screws
    yield "blocks", len(bed.blocks) * board.block_screws
    yield "stakes", into_stakes * board.stake_screws
    yield "fence", (_ends_on_fence(bed) + _rail_places(bed)) * board.stake_screws


def boards_at(bed: BedEdging, stake: PlacedStake) -> int:
    """Return how many boards stand on one another at a stake."""
    along = [each for each in bed.lower if each.run == stake.run]
    if not along:
        return bed.all_round
    run = next(run for run in bed.runs if run.number == stake.run)
    station = through(run.start, run.end).station(stake.at)
    return bed.all_round + sum(
        each.start_m - SNAP_M <= station <= each.end_m + SNAP_M for each in along
    )


def _ends_on_fence(bed: BedEdging) -> int:
    """Count the ends of boards that are screwed to the fence or to a post."""
    fixed = ("fence", "post")
    return sum(end.joint in fixed for piece in bed.pieces for end in piece.ends)


def _rail_places(bed: BedEdging) -> int:
    """Count the places between their ends where boards are screwed to a rail."""
    railed = {run.number: run.length_m for run in bed.runs if run.on_fence}
    lower = (each.end_m - each.start_m for each in bed.lower if each.run in railed)
    return bed.all_round * sum(map(_rail_screws, railed.values())) + sum(map(_rail_screws, lower))


def _rail_screws(length_m: float) -> int:
    return max(0, math.ceil(length_m / RAIL_SCREWS_M - 1e-9) - 1)


def connector_count(bed: BedEdging) -> int:
    """Return one connector for every splice, and for the closing of a ring in one piece."""
    closed = sum(piece.ends[0].joint == "closed" for piece in bed.pieces)
    return len(bed.splices) + closed
