"""Edging whose runs are spliced wherever that saves boards (layer: plan).

The edging engine splices evenly; where a board asks for ``splice = "anywhere"`` the stock engine
chooses the places, tier by tier from the lowest, each tier keeping off the joints of the one
below and cutting from what the last has left over. The choice is kept only where it costs less,
buys fewer boards or has fewer splices than even splicing.

Public entry point: `edge_spliced`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bedplan.edging import BedEdging, LowerBoards, Piece, edge_beds
from bedplan.errors import LayoutError, StockError
from bedplan.geometry.tolerance import FIT_M
from bedplan.model.layout import Layout
from bedplan.model.materials import Board
from bedplan.model.site import Site
from bedplan.plan.sawn import plan_boards, stock_of
from bedplan.plan.tiering import lower_boards, on_ground
from bedplan.stock import CutPlan, SplicePlan, SpliceRules, SpliceRun, StockLength, splice_anywhere
from bedplan.units import nanometres

SECONDS: Final = 3.0
"""Time to look for splices, for each tier [s]."""

RunKey = tuple[str, int, int]
"""Bed, run and tier."""

Stations = Mapping[RunKey, tuple[float, ...]]


def edge_spliced(layout: Layout, site: Site) -> tuple[BedEdging, ...]:
    """Return the edging of every bed, each board spliced as it asks.

    Raises
    ------
    LayoutError, StockError
        As for `bedplan.edging.edge_beds` and `plan_boards`.
    """
    lower = lower_boards(layout, site)
    even = edge_beds(site, layout.boards, layout.stakes, lower=lower)
    chosen: dict[RunKey, tuple[float, ...]] = {}
    for board in layout.boards.values():
        if board.splicing == "anywhere":
            chosen |= _better(layout, site, board, even, lower)
    if chosen:
        even = edge_beds(site, layout.boards, layout.stakes, chosen, lower)
    return on_ground(layout, site, even)


def _better(
    layout: Layout, site: Site, board: Board, even: Sequence[BedEdging], lower: LowerBoards
) -> Stations:
    """Return the splices chosen for one kind of board; none where even ones are as good."""
    chosen = _chosen(board, even)
    if not chosen:
        return {}
    spliced = edge_beds(site, layout.boards, layout.stakes, chosen, lower)
    alone = replace(layout, boards={board.name: board})
    return chosen if _worth(alone, spliced) < _worth(alone, even) else {}


def _worth(layout: Layout, edging: Sequence[BedEdging]) -> tuple[float, int, int]:
    """Return what to keep small: cost, boards to buy, splices; endless where stock runs out."""
    try:
        cuts: list[CutPlan] = [part.cut for part in plan_boards(layout, edging)]
    except LayoutError:
        return math.inf, 0, 0
    boards = sum(count for cut in cuts for _, count in cut.buy)
    splices = sum(len(bed.splices) for bed in edging if bed.board in layout.boards)
    return round(sum(cut.objective for cut in cuts), 6), boards, splices


@dataclass(frozen=True)
class _Supply:
    """What a tier can be cut from: lengths on sale, and leftovers [nm]."""

    stock: tuple[StockLength, ...]
    on_hand: tuple[int, ...]

    def after(self, plan: SplicePlan) -> _Supply:
        """Return what is left once a tier is cut: fewer boards on sale, and its offcuts."""
        unused = list(self.on_hand)
        for board in plan.cut.boards:
            if board.on_hand:
                unused.remove(board.stock_length)
        offcuts = (board.offcut for board in plan.cut.boards if board.offcut > 0)
        return _Supply(_fewer(self.stock, dict(plan.cut.buy)), (*unused, *offcuts))


def _fewer(stock: Sequence[StockLength], bought: dict[int, int]) -> tuple[StockLength, ...]:
    """Return stock whose limits are less by what was bought, the cheapest offers first."""
    left = []
    for item in sorted(stock, key=lambda item: (item.length, item.price or 0.0)):
        taken = bought.get(item.length, 0)
        if item.limit is not None:
            taken = min(taken, item.limit)
            left.append(replace(item, limit=item.limit - taken))
        else:
            left.append(item)
        bought[item.length] = bought.get(item.length, 0) - taken
    return tuple(item for item in left if item.limit != 0)


def _chosen(board: Board, even: Sequence[BedEdging]) -> dict[RunKey, tuple[float, ...]]:
    """Return where every straight run of a board is spliced, from each run's start [m].

    Without a choice are runs that no rule lets be spliced; the edging engine eases the rules.
    """
    runs = _runs_of(board, even)
    supply = _Supply(
        tuple(stock_of(board.stock)), tuple(nanometres(each) for each in board.on_hand_m)
    )
    chosen: dict[RunKey, tuple[float, ...]] = {}
    for tier in range(1, 1 + max((key[2] for key in runs), default=0)):
        wanted = {key: extent for key, extent in runs.items() if key[2] == tier}
        try:
            plan = _spliced(board, wanted, chosen, supply)
        except StockError:
            return {}
        for (key, (first, _)), stations in zip(wanted.items(), plan.stations, strict=True):
            chosen[key] = tuple(first + 1e-9 * station for station in stations)
        supply = supply.after(plan)
    return chosen


def _runs_of(board: Board, even: Sequence[BedEdging]) -> dict[RunKey, tuple[float, float]]:
    """Return the first and last long point of every straight run, from the run's start [m]."""
    groups: dict[RunKey, list[Piece]] = defaultdict(list)
    for bed in even:
        if bed.board == board.name and not _hoop(bed):
            # boards under a level one go along parts of runs, and are spliced evenly
            alone = {(each.run, each.tier) for each in bed.lower}
            for piece in (each for each in bed.pieces if (each.run, each.tier) not in alone):
                groups[(piece.bed, piece.run, piece.tier)].append(piece)
    return {
        key: (
            min(piece.station_m for piece in pieces),
            max(piece.station_m + piece.long_m for piece in pieces),
        )
        for key, pieces in groups.items()
    }


def _hoop(bed: BedEdging) -> bool:
    """Tell whether a bed's edging is bent round: its pieces are equal, and stay so."""
    return len(bed.runs) == 1 and math.dist(bed.runs[0].start, bed.runs[0].end) <= FIT_M


def _spliced(
    board: Board,
    wanted: Mapping[RunKey, tuple[float, float]],
    below: Stations,
    supply: _Supply,
) -> SplicePlan:
    runs = [
        SpliceRun(
            nanometres(last - first),
            joints_below=tuple(
                nanometres(at - first) for at in below.get((bed, run, tier - 1), ()) if at > first
            ),
        )
        for (bed, run, tier), (first, last) in wanted.items()
    ]
    rules = SpliceRules(
        nanometres(board.least_piece_m),
        nanometres(board.splice_clear_m),
        nanometres(board.stagger_m),
    )
    return splice_anywhere(
        runs,
        supply.stock,
        nanometres(board.kerf_m),
        rules,
        end_trim=nanometres(board.end_trim_m),
        on_hand=supply.on_hand,
        time_limit_s=SECONDS,
    )
