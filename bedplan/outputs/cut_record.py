"""Cut sheets and changes as plain data in SI units, for ``--json`` (layer: outputs).

Lengths are metres, areas square metres, angles degrees. Keys may be added, none is renamed.
Public entry points: `cuts_record`, `changes_record`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from bedplan.edging import Piece
from bedplan.plan import BoardPlan, Plan
from bedplan.plan.changes import Changes, CornerMove, Measured, PieceChange
from bedplan.plan.reuse import CutPiece, Served
from bedplan.plan.sawing import SawnBoard, SawnPiece, left_on_hand, sawn_boards
from bedplan.plan.still_wanted import StillWanted

Record = dict[str, Any]

NM = 1e-9
"""Metres in a nanometre."""


def cuts_record(plan: Plan, keep_m: float) -> Record:
    """Return every board of a plan with its cuts as nested dicts and lists."""
    return {
        "title": plan.layout.title,
        "keep_m": keep_m,
        "cuts": [_kind(part, sawn_boards(part, keep_m)) for part in plan.boards],
    }


def _kind(part: BoardPlan, boards: Sequence[SawnBoard]) -> Record:
    return {
        "board": part.board.name,
        "kerf_m": part.board.kerf_m,
        "end_trim_m": part.board.end_trim_m,
        "boards": [_board(board) for board in boards],
        "cost": part.cut.cost,
        "proven": part.cut.proven,
        "left_on_hand_m": [length * NM for length in left_on_hand(part, boards)],
    }


def _board(board: SawnBoard) -> Record:
    left = board.offcut
    return {
        "number": board.number,
        "stock_m": board.length * NM,
        "on_hand": board.on_hand,
        "pieces": [_sawn(sawn) for sawn in board.pieces],
        "kerfs_m": [[start * NM, end * NM] for start, end in board.kerfs],
        "offcut": left
        and {
            "name": left.name,
            "start_m": left.start * NM,
            "length_m": left.length * NM,
            "keep": bool(left.name),
        },
    }


def _sawn(sawn: SawnPiece) -> Record:
    start, end = sawn.start * NM, sawn.end * NM
    return {**piece_record(sawn.piece), "start_m": start, "mark_m": end}


def piece_record(piece: Piece) -> Record:
    """Return a piece with the saw settings of its ends."""
    return {
        "label": piece.label,
        "board": piece.board,
        "bed": piece.bed,
        "run": piece.run,
        "tier": piece.tier,
        "long_m": piece.long_m,
        "short_m": piece.short_m,
        "ends": [asdict(end) for end in piece.ends],
        "notches": [asdict(notch) for notch in piece.notches],
    }


def changes_record(changes: Changes, still: StillWanted | None) -> Record:
    """Return what changed, and what cut pieces serve if any were given."""
    return {
        "corners": [_corner(corner) for corner in changes.corners],
        "sides_m": [_measured(side) for side in changes.sides],
        "pieces": [_change(change) for change in changes.pieces],
        "units": [_measured(units) for units in changes.units],
        "beds_m2": [_measured(bed) for bed in changes.beds],
        "cost": _measured(changes.cost),
        "cut_pieces": still and _still(still),
    }


def _corner(corner: CornerMove) -> Record:
    return {**asdict(corner), "moved_m": corner.moved_m}


def _measured(measured: Measured) -> Record:
    return {**asdict(measured), "change": measured.change}


def _change(change: PieceChange) -> Record:
    return {
        "what": list(change.what),
        "before": change.before and piece_record(change.before),
        "after": change.after and piece_record(change.after),
    }


def _still(still: StillWanted) -> Record:
    return {
        "served": [_served(served) for served in still.reuse.served],
        "left_over": [_cut_piece(one) for one in still.unused],
        "still_wanted": [piece.label for piece in still.reuse.wanted],
        "still_to_cut": [_part(part, still) for part in still.parts],
    }


def _served(served: Served) -> Record:
    return {
        "cut": served.cut.label,
        "serves": served.piece.label,
        "how": served.how,
        "turn": served.turn,
        "is_m": served.cut.long_m,
        "wanted_m": served.piece.long_m,
        "off_m": list(served.off_m),
        "saw_anew": list(served.recut),
        "cut_notches": served.notched,
    }


def _cut_piece(one: CutPiece) -> Record:
    return {"label": one.label, "board": one.board, "long_m": one.long_m}


def _part(part: BoardPlan, still: StillWanted) -> Record:
    boards = sawn_boards(part, 0.0)
    sources = still.sources(part)
    return {
        "board": part.board.name,
        "buy": [{"stock_m": length * NM, "count": count} for length, count in part.cut.buy],
        "cost": part.cut.cost,
        "proven": part.cut.proven,
        "boards": [
            {
                "from": source,
                "length_m": board.length * NM,
                "pieces": [sawn.piece.label for sawn in board.pieces],
                "left_m": board.offcut.length * NM if board.offcut else 0.0,
            }
            for source, board in zip(sources, boards, strict=True)
        ],
    }
