"""Tables as CSV files, the whole set or none (layer: outputs).

Commas, UTF-8 and Windows line ends, as RFC 4180 (2005) has it, so that any spreadsheet opens them.
Public entry points: `cut_files` for what is in them, `write_set` to write them.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from io import StringIO
from pathlib import Path
from typing import Final

from bedplan.edging import Piece
from bedplan.errors import OutputError
from bedplan.outputs.files import replace_file, write_new
from bedplan.outputs.tables_cuts import NM, place_words, tape
from bedplan.plan.sawing import SawnBoard, SawnPiece
from bedplan.units import System, format_length

PIECES: Final = (
    *("label", "board", "long", "short", "first_deg", "last_deg", "first_longer", "last_longer"),
    *("first_end", "last_end", "first_meets", "last_meets", "bed", "run", "tier", "from_board"),
    *("saw_order", "mark", "long_mm", "short_mm", "mark_mm", "notches"),
)
BOARDS: Final = (
    *("board", "number", "length", "length_mm", "from", "pieces", "cuts", "offcut"),
    "offcut_mm",
)
OFFCUTS: Final = ("name", "board", "of_board", "length", "length_mm", "keep")
LABELS: Final = ("label", "board", "from_board", "saw_order", "write")


def cut_files(boards: Sequence[SawnBoard], show: System) -> dict[str, bytes]:
    """Return the files of a cut sheet by name: pieces, boards, offcuts and labels."""
    sawn = [
        (board, number, each)
        for board in boards
        for number, each in enumerate(board.pieces, start=1)
    ]
    return {
        "pieces.csv": written(PIECES, (_piece(*each, show) for each in sawn)),
        "boards.csv": written(BOARDS, (_board(board, show) for board in boards)),
        "offcuts.csv": written(OFFCUTS, _offcuts(boards, show)),
        "labels.csv": written(LABELS, (_label(*each, show) for each in sawn)),
    }


def written(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """Return a table as the bytes of a CSV file."""
    text = StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue().encode()


def _piece(board: SawnBoard, order: int, sawn: SawnPiece, show: System) -> list[object]:
    piece = sawn.piece
    first, last = piece.ends
    return [
        *(piece.label, piece.board, tape(sawn.length, show), format_length(piece.short_m, show)),
        *(f"{end.saw_deg:.1f}" for end in (first, last)),
        *(first.longer, last.longer, first.joint, last.joint, first.joins, last.joins),
        *(piece.bed, piece.run, piece.tier, board.number, order, tape(sawn.end, show)),
        *(_mm(sawn.length * NM), _mm(piece.short_m), _mm(sawn.end * NM)),
        _notches(piece, show),
    ]


def _notches(piece: Piece, show: System) -> str:
    return "; ".join(
        f"{format_length(notch.start_m, show)} to {format_length(notch.end_m, show)}, "
        f"{format_length(notch.depth_m, show)} deep in the {notch.face} face, {notch.post}"
        for notch in piece.notches
    )


def _board(board: SawnBoard, show: System) -> list[object]:
    left = board.offcut.length if board.offcut else 0
    return [
        *(board.kind, board.number, tape(board.length, show), _mm(board.length * NM)),
        "on hand" if board.on_hand else "buy",
        " ".join(sawn.piece.label for sawn in board.pieces),
        len(board.kerfs),
        *(tape(left, show), _mm(left * NM)),
    ]


def _offcuts(boards: Iterable[SawnBoard], show: System) -> Iterator[list[object]]:
    for board in boards:
        if board.offcut:
            left = board.offcut.length
            keep = "yes" if board.offcut.name else "no"
            name = board.offcut.name or "scrap"
            yield [name, board.kind, board.number, tape(left, show), _mm(left * NM), keep]


def _label(board: SawnBoard, order: int, sawn: SawnPiece, show: System) -> list[object]:
    words = f"{sawn.piece.label}  {place_words(sawn.piece)}  {tape(sawn.length, show)}"
    return [sawn.piece.label, board.kind, board.number, order, words]


def _mm(length_m: float) -> str:
    """Return millimetres to a hundredth, for programs that add lengths up."""
    return f"{length_m * 1000:.2f}"


def write_set(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> None:
    """Write several files into a folder, which is made where there is none.

    Raises
    ------
    OutputError
        If one of them exists and is not to be replaced: then none is written. If the folder
        cannot be made or a file not be written.
    """
    there = [name for name in files if (folder / name).exists()]
    if there and not replace:
        message = (
            f"{', '.join(there)} in {folder} would be replaced; nothing was written. "
            "Choose another folder or add --force"
        )
        raise OutputError(message)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"{folder} cannot be made ({error.strerror}); nothing was written"
        raise OutputError(message) from None
    for name, content in files.items():
        (replace_file if replace else write_new)(folder / name, content)
