"""Tables of what is cut: edging pieces, cut plans, strips of weed barrier (layer: outputs)."""

from __future__ import annotations

from collections import Counter

from bedplan.edging import Piece
from bedplan.outputs.table import Column, Row, Table
from bedplan.plan import BarrierPlan, BoardPlan
from bedplan.units import System, format_area, format_length, nanometres


def pieces_table(part: BoardPlan, show: System) -> Table:
    """Return every piece of one kind of board."""
    rows = tuple(
        (
            piece.label,
            piece.bed,
            format_length(piece.long_m, show),
            format_length(piece.short_m, show),
            _end(piece, 0),
            _end(piece, 1),
        )
        for piece in part.pieces
    )
    columns = (
        Column("piece", "left"),
        Column("bed", "left"),
        Column("long point"),
        Column("short point"),
        Column("first end", "left"),
        Column("last end", "left"),
    )
    return Table(
        f"Edging pieces, {part.board.name}",
        columns,
        rows,
        "Saw settings as a mitre saw reads them, 0° square. Piece 2.3a is bed 2, run 3, "
        "first length of a splice; runs are numbered with the bed on the left.",
    )


def _end(piece: Piece, which: int) -> str:
    end = piece.ends[which]
    return f"{end.joint} {end.saw_deg:.1f}°"


def cut_table(part: BoardPlan, show: System) -> Table:
    """Set every board with its pieces by label, alike boards on one row each."""
    waiting: dict[int, list[str]] = {}
    for piece in part.pieces:
        waiting.setdefault(nanometres(piece.long_m), []).append(piece.label)
    rows = []
    for number, board in enumerate(part.cut.boards, start=1):
        cuts = ", ".join(
            f"{waiting[length].pop(0)} ({format_length(length * 1e-9, show)})"
            for length in board.pieces
        )
        rows.append(
            (
                str(number),
                format_length(board.stock_length * 1e-9, show),
                "on hand" if board.on_hand else "buy",
                cuts,
                format_length(board.offcut * 1e-9, show),
            )
        )
    columns = (
        Column("board"),
        Column("length"),
        Column("from", "left"),
        Column("saw in this order", "left"),
        Column("offcut"),
    )
    return Table(f"Cut plan, {part.board.name}", columns, tuple(rows), _proof(part))


def _proof(part: BoardPlan) -> str:
    what = f"{part.cut.cost:.2f}" if part.cut.cost is not None else "cost unknown"
    if part.cut.proven:
        return f"{what}: proven, no plan costs less."
    return f"{what}: no plan costs less than {part.cut.lower_bound:.2f}."


def barrier_table(part: BarrierPlan, show: System) -> Table:
    """Return the strips of one fabric, area by area."""
    rows: list[Row] = []
    for number, laying in enumerate(part.layings, start=1):
        lengths = Counter(
            format_length(length, show) for strip in laying.strips for length in strip.pieces_m
        )
        strips = ", ".join(
            f"{count} × {length}" if count > 1 else length for length, count in lengths.items()
        )
        rows.append(
            (
                str(number),
                format_area(laying.net_area_m2, show),
                format_area(laying.fabric_area_m2, show),
                strips,
            )
        )
    columns = (Column("area"), Column("to cover"), Column("fabric"), Column("strips", "left"))
    pins = f" {part.pins} pins." if part.pins else ""
    return Table(
        f"Weed barrier, {part.fabric.name}",
        columns,
        tuple(rows),
        f"Lap {format_length(part.fabric.lap_m, show)}, turned up "
        f"{format_length(part.fabric.turn_up_m, show)} at edges.{pins}",
    )
