"""Reads a list of pieces already cut: a CSV file, or bare labels (layer: layout_file).

A table has a column ``label``; ``board``, ``long``, ``first_deg``, ``last_deg``, ``first_longer``
and ``last_longer`` are taken where they stand, and from the plan the labels belong to where they
do not, so the ``pieces.csv`` that ``bedplan cuts`` writes is read as it is. Commas, semicolons or
tabs; a byte order mark and any line ends. All faults come at once, each with its line.

Public entry point: `read_cut_pieces`.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path
from typing import Final

from bedplan.edging import Piece
from bedplan.errors import Fault, LayoutError, UnitError
from bedplan.plan.reuse import CutPiece, cut_from
from bedplan.units import parse

LARGEST_B: Final = 5_000_000
"""No list of boards is larger [bytes]."""

STEEPEST_DEG: Final = 89.0
"""No end is sawn steeper [deg]."""

Row = dict[str, str]


@dataclass(frozen=True)
class _Line:
    """A row of the list, and the line it starts at."""

    number: int
    cells: Row

    def fault(self, got: str, wanted: str, remedy: str) -> Fault:
        return Fault((), got, wanted, remedy, "", self.number)


class _CellError(Exception):
    """A cell that cannot be read."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault


def read_cut_pieces(path: Path, planned: Mapping[str, Piece]) -> list[CutPiece]:
    """Return the pieces a file lists.

    Parameters
    ----------
    path
        The file.
    planned
        Pieces of the plan the labels belong to, by label.

    Raises
    ------
    LayoutError
        With every fault of the file: no column of labels, labels unknown or told twice, boards,
        lengths or angles that cannot be read.
    """
    lines = _lines(_text(path), str(path))
    faults: list[Fault] = []
    made: dict[str, tuple[int, CutPiece]] = {}
    for line in lines:
        label = line.cells.get("label", "")
        try:
            if label in made:
                raise _CellError(_twice(line, label, made[label][0]))
            made[label] = (line.number, _piece(line, label, planned))
        except _CellError as wrong:
            faults.append(wrong.fault)
    if faults:
        raise LayoutError(replace(fault, file=str(path)) for fault in faults)
    return [piece for _, piece in made.values()]


def _text(path: Path) -> str:
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_B + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _bad(path, f"it cannot be opened ({reason})") from None
    if len(content) > LARGEST_B:
        raise _bad(path, f"a file of more than {LARGEST_B // 1_000_000} MB")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _bad(path, "it is not UTF-8 text") from None


def _bad(path: Path, got: str) -> LayoutError:
    wanted = "a list of pieces already cut"
    remedy = "name the right file; from a spreadsheet, save it as CSV UTF-8"
    return LayoutError([Fault((), got, wanted, remedy, str(path))])


def _lines(text: str, name: str) -> list[_Line]:
    """Return the rows of a table by column, or of a bare list by ``label``."""
    rows = [(number, cells) for number, cells in _rows(text, name) if any(cells)]
    if not rows:
        raise _bad(Path(name), "an empty file")
    head = [cell.lower().replace(" ", "_") for cell in rows[0][1]]
    if "label" in head:
        return [_Line(number, _by_column(head, cells)) for number, cells in rows[1:]]
    if all(len(cells) == 1 for _, cells in rows):
        return [_Line(number, {"label": cells[0]}) for number, cells in rows]
    raise LayoutError(
        [
            Fault(
                (),
                f"columns {', '.join(rows[0][1])}",
                "a column called label, or one bare label a line",
                "keep the first line of the pieces.csv that `bedplan cuts` writes",
                name,
                rows[0][0],
            )
        ]
    )


def _by_column(head: list[str], cells: list[str]) -> Row:
    return dict(zip(head, cells, strict=False))


def _rows(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Yield every row with the line it starts at."""
    head = text.lstrip("\r\n").split("\n", 1)[0]
    mark = max(",;\t", key=head.count)
    reader = csv.reader(StringIO(text, newline=""), delimiter=mark, strict=True)
    start = 1
    try:
        for cells in reader:
            decimal = _pointed if mark != "," else str
            yield start, [decimal(cell.strip()) for cell in cells]
            start = reader.line_num + 1
    except csv.Error as error:
        fault = Fault(
            (), f"a row that is no CSV ({error})", "quotes in pairs", "mend it", name, start
        )
        raise LayoutError([fault]) from None


def _pointed(cell: str) -> str:
    """Return a cell with decimal commas as points."""
    return re.sub(r"(?<=\d),(?=\d)", ".", cell)


def _twice(line: _Line, label: str, first: int) -> Fault:
    return line.fault(
        f"piece {label!r} a second time, first on line {first}",
        "each piece once",
        "take one of the two out",
    )


def _piece(line: _Line, label: str, planned: Mapping[str, Piece]) -> CutPiece:
    plan = planned.get(label)
    if plan is None:
        known = ", ".join(list(planned)[:12]) or "none"
        raise _CellError(
            line.fault(
                f"piece {label!r}" if label else "a row without a label",
                "the label of a piece of the layout before the change",
                f"labels there are {known}{', …' if len(planned) > 12 else ''}",
            )
        )
    piece = cut_from(plan)
    slants = tuple(
        _slant(line, which, slant)
        for which, slant in zip(("first", "last"), piece.slants_deg, strict=True)
    )
    return CutPiece(
        label,
        line.cells.get("board") or piece.board,
        _long_m(line, piece.long_m),
        (slants[0], slants[1]),
        piece.notches,
    )


def _long_m(line: _Line, planned_m: float) -> float:
    text = line.cells.get("long", "")
    millimetres = line.cells.get("long_mm", "")
    if not text and not millimetres:
        return planned_m
    try:
        length = parse(text or f"{millimetres} mm", "length")
    except UnitError as error:
        raise _CellError(
            line.fault(f"long {error.text!r}", f"{error.wanted}", error.remedy)
        ) from None
    if length <= 0.0:
        raise _CellError(line.fault(f"long {text!r}", "a length above zero", "measure the piece"))
    return length


def _slant(line: _Line, which: str, planned_deg: float) -> float:
    """Return an end's angle, above zero where the outer face is the longer [deg]."""
    side = line.cells.get(f"{which}_longer", "").lower()
    if side not in ("", "outer", "inner", "both"):
        raise _CellError(
            line.fault(f"{which}_longer {side!r}", "outer, inner or both", "name the longer face")
        )
    text = line.cells.get(f"{which}_deg", "")
    degrees = abs(planned_deg) if not text else _degrees(line, which, text)
    inner = side == "inner" or (side in ("", "both") and planned_deg < 0.0)
    return -degrees if inner else degrees


def _degrees(line: _Line, which: str, text: str) -> float:
    try:
        degrees = parse(text.replace("°", " deg"), "angle")
    except UnitError as error:
        raise _CellError(line.fault(f"{which}_deg {text!r}", error.wanted, error.remedy)) from None
    if not 0.0 <= degrees <= STEEPEST_DEG:
        raise _CellError(
            line.fault(
                f"{which}_deg {text!r}",
                f"what the saw's scale reads, 0 to {STEEPEST_DEG:g}",
                "0 is a square cut",
            )
        )
    return degrees
