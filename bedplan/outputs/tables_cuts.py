"""Tables of how boards are sawn, and offcuts as lines for the next job (layer: outputs).

Public entry points: `sawing_table`, `offcuts_table`, `notches_table`, `on_hand_lines`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from fractions import Fraction

from bedplan.edging import Piece
from bedplan.edging.model import End
from bedplan.outputs.table import Column, Row, Table
from bedplan.plan import BoardPlan
from bedplan.plan.sawing import SawnBoard, SawnPiece, left_on_hand
from bedplan.units import INCH_M, System, format_length

NM = 1e-9
"""Metres in a nanometre."""

SQUARE_DEG = 0.05
"""A cut that reads less than this to a tenth of a degree is square [deg]."""

HOW = (
    "Lay the board flat, its outer face up, its first end at your left. Free each piece with a "
    "square cut: measure its long point from the fresh cut; the mark is the same place from the "
    "board's first end. Then saw slanted ends from the corner of the long point, blade tilted by "
    "the angle, so that the face named keeps the wood."
)


def tape(length_nm: int, show: System) -> str:
    """Return a length in nanometres as a tape reads it."""
    return format_length(length_nm * NM, show)


def kerf_words(kerf_m: float, show: System) -> str:
    """Return the width of a saw cut, finer than a tape reads: ``3/32"`` or ``2.4 mm``."""
    return f"{kerf_m * 1000:.3g} mm" if show == "metric" else format_length(kerf_m, show, 64)


def saw_words(end: End) -> str:
    """Return a slanted end's saw setting and its longer face, ``45.0° outer``; empty if square."""
    if end.saw_deg < SQUARE_DEG:
        return ""
    return f"{end.saw_deg:.1f}°" if end.longer == "both" else f"{end.saw_deg:.1f}° {end.longer}"


def end_words(end: End) -> str:
    """Return what happens at an end and what is sawn: ``mitre 45.0° outer``, or ``square``."""
    if words := saw_words(end):
        return f"{end.joint} {words}"
    return "square" if end.joint == "square" else f"{end.joint}, square"


def place_words(piece: Piece) -> str:
    """Return where a piece belongs: bed, run, and tier where it is not the lowest."""
    tier = f", tier {piece.tier}" if piece.tier > 1 else ""
    return f"{piece.bed}, run {piece.run}{tier}"


def sawing_table(part: BoardPlan, boards: Sequence[SawnBoard], show: System) -> Table:
    """Set every board of one kind with its cuts in sawing order."""
    rows = [row for board in boards for row in _board_rows(board, show)]
    columns = (
        Column("board", "left"),
        Column("saw", "left"),
        Column("bed", "left"),
        Column("long point"),
        Column("short point"),
        Column("first end", "left"),
        Column("last end", "left"),
        Column("mark"),
    )
    kerf = kerf_words(part.board.kerf_m, show)
    note = f"{HOW} Kerf {kerf}."
    if part.board.end_trim_m:
        trim = format_length(part.board.end_trim_m, show)
        note = f"Square both ends of every board first, {trim} off each; marks count it. {note}"
    return Table(f"Sawing, {part.board.name}", columns, tuple(rows), note)


def _board_rows(board: SawnBoard, show: System) -> Iterable[Row]:
    source = "on hand" if board.on_hand else "buy"
    first = f"{board.number}: {tape(board.length, show)} {source}"
    for sawn in board.pieces:
        yield _piece_row(first, sawn, show)
        first = ""
    if board.offcut:
        name = board.offcut.name or "scrap"
        yield ("", "–", name, tape(board.offcut.length, show), "", "", "", "")


def _piece_row(board: str, sawn: SawnPiece, show: System) -> Row:
    piece = sawn.piece
    return (
        board,
        piece.label,
        piece.bed,
        tape(sawn.length, show),
        format_length(piece.short_m, show),
        saw_words(piece.ends[0]) or "square",
        saw_words(piece.ends[1]) or "square",
        tape(sawn.end, show),
    )


def notches_table(boards: Iterable[SawnBoard], show: System) -> Table | None:
    """Return what is taken out of pieces so that they pass posts; None where nothing is."""
    rows = [
        (
            sawn.piece.label,
            notch.post,
            format_length(notch.start_m, show),
            format_length(notch.end_m, show),
            format_length(notch.depth_m, show),
            notch.face,
        )
        for board in boards
        for sawn in board.pieces
        for notch in sawn.piece.notches
    ]
    columns = (
        Column("piece", "left"),
        Column("post", "left"),
        Column("from"),
        Column("to"),
        Column("deep"),
        Column("into face", "left"),
    )
    note = "Measured from the long point of the first end, over the full height of the board."
    return Table("Notches", columns, tuple(rows), note) if rows else None


def offcuts_table(boards: Iterable[SawnBoard], keep_m: float, show: System) -> Table:
    """Return what is left of every board, by name where it is worth keeping."""
    rows = tuple(
        (
            board.offcut.name or "scrap",
            f"{board.kind} {board.number}",
            tape(board.offcut.length, show),
        )
        for board in boards
        if board.offcut
    )
    columns = (Column("offcut", "left"), Column("of board", "left"), Column("length"))
    note = f"Worth keeping from {format_length(keep_m, show)}."
    return Table("Offcuts", columns, rows, note)


def on_hand_lines(part: BoardPlan, boards: Sequence[SawnBoard], show: System) -> str:
    """Return what is on hand after the job as lines of a layout file.

    Lengths are rounded down, so that no later plan counts on wood that is not there.
    """
    name = part.board.name
    key = name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else json.dumps(name, ensure_ascii=False)
    lengths = ", ".join(f'"{rounded_down(each, show)}"' for each in left_on_hand(part, boards))
    return f"[board.{key}]\non_hand = [{lengths}]"


def rounded_down(length_nm: int, show: System) -> str:
    """Return a length in plain inches or millimetres, down to what a tape shows.

    Examples
    --------
    >>> rounded_down(1_130_300_000, "imperial"), rounded_down(787_399_999, "imperial")
    ('44-1/2 in', '30-15/16 in')
    >>> rounded_down(300_900_000, "metric")
    '300 mm'
    """
    if show == "metric":
        return f"{length_nm // 1_000_000} mm"
    whole, rest = divmod(length_nm * 16 // round(INCH_M / NM), 16)
    parts = (str(whole) if whole else "", str(Fraction(rest, 16)) if rest else "")
    return f"{'-'.join(filter(None, parts)) or 0} in"
