"""Tables of what changed from one plan to another, and of cut pieces that serve (layer: outputs).

Public entry points: `changes_tables`, `reuse_tables`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from bedplan.edging import Piece
from bedplan.model.layout import System
from bedplan.outputs.table import Column, Row, Table, money, named
from bedplan.outputs.tables_cuts import end_words, tape
from bedplan.plan.changes import WITHIN_DEG, Changes, Measured, PieceChange
from bedplan.plan.reuse import Served
from bedplan.plan.sawing import KEEP_M, SawnBoard, sawn_boards
from bedplan.plan.still_wanted import StillWanted
from bedplan.units import format_area, format_length

TOLD_M: Final = 5e-4
"""A corner that moved less is told as not moved: less than a tape shows [m]."""

TOLD_M2: Final = 5e-3
"""The same for the area of a bed [m^2]."""


def changes_tables(changes: Changes, show: System, within_m: float) -> list[Table]:
    """Return the tables of what changed; those with nothing to tell are left out."""
    made = [
        _corners_table(changes, show),
        _sides_table(changes, show),
        _pieces_table(changes, show, within_m),
        _totals_table(changes, show),
    ]
    return [table for table in made if table.rows]


def _corners_table(changes: Changes, show: System) -> Table:
    rows: list[Row] = []
    for corner in changes.corners:
        if corner.before is None or corner.after is None:
            rows.append((corner.name, "gone" if corner.after is None else "new", "", ""))
        elif (corner.moved_m or 0.0) >= TOLD_M:
            dx, dy = (b - a for a, b in zip(corner.before, corner.after, strict=True))
            told = (format_length(each, show) for each in (corner.moved_m or 0.0, dx, dy))
            rows.append((corner.name, *told))
    columns = named("corner", "moved", "right", "up")
    return Table("Corners that moved", columns, tuple(rows), "In the axes of the two files.")


def _sides_table(changes: Changes, show: System) -> Table:
    rows = [
        _measured_row(side, lambda length: format_length(length, show))
        for side in changes.sides
        if side.change is None or abs(side.change) >= TOLD_M
    ]
    return Table("Sides that changed", named("side", "before", "after", "change"), tuple(rows))


def _measured_row(measured: Measured, told: Callable[[float], str]) -> Row:
    figures = (measured.before, measured.after, measured.change)
    return (measured.name, *("–" if figure is None else told(figure) for figure in figures))


def _pieces_table(changes: Changes, show: System, within_m: float) -> Table:
    same = sum(change.what == ("same",) for change in changes.pieces)
    rows = tuple(_piece_row(change, show) for change in changes.pieces if change.what != ("same",))
    columns = (
        Column("piece", "left"),
        Column("bed", "left"),
        Column("change", "left"),
        Column("before"),
        Column("after"),
        Column("by"),
        Column("first end", "left"),
        Column("last end", "left"),
    )
    note = (
        f"{same} of {len(changes.pieces)} pieces are the same within "
        f"{format_length(within_m, show)} and {WITHIN_DEG:g}°. Ends as they are now; "
        "in brackets as they were, where that differs."
    )
    return Table("Pieces that changed", columns, rows, note)


def _piece_row(change: PieceChange, show: System) -> Row:
    old, new = change.before, change.after
    known = new or old
    assert known is not None  # a change has one of the two
    label = known.label if not old or not new or old.label == new.label else f"{new.label}, "
    label += f"was {old.label}" if old and new and old.label != new.label else ""
    by = format_length(new.long_m - old.long_m, show) if old and new else ""
    return (
        label,
        known.bed,
        ", ".join(change.what),
        _long(old, show),
        _long(new, show),
        by,
        *(_end_change(old, new, which) for which in (0, 1)),
    )


def _long(piece: Piece | None, show: System) -> str:
    return "–" if piece is None else format_length(piece.long_m, show)


def _end_change(old: Piece | None, new: Piece | None, which: int) -> str:
    was = end_words(old.ends[which]) if old else ""
    now = end_words(new.ends[which]) if new else ""
    if not was or not now or was == now:
        return now or was
    return f"{now} [{was}]"


def _totals_table(changes: Changes, show: System) -> Table:
    rows = [
        _measured_row(units, lambda count: f"{count:g}") for units in changes.units if units.change
    ]
    rows += [
        _measured_row(bed, lambda area: format_area(area, show).replace("^2", "²"))
        for bed in changes.beds
        if bed.change is None or abs(bed.change) >= TOLD_M2
    ]
    cost = changes.cost
    if cost.before != cost.after:
        rows.append(_measured_row(cost, money))
    note = "Whole units by walk, outlines of beds, cost of the order. The rest is as before."
    columns = named("total", "before", "after", "change")
    return Table("Totals that changed", columns, tuple(rows), note)


def reuse_tables(still: StillWanted, show: System, within_m: float) -> list[Table]:
    """Return which cut pieces serve, which are spare, and what is still to be cut and bought."""
    made = [
        _served_table(still, show, within_m),
        _trims_table(still, show),
        _spare_table(still, show),
        *_still_tables(still, show),
    ]
    return [table for table in made if table.rows]


def _served_table(still: StillWanted, show: System, within_m: float) -> Table:
    rows = tuple(
        (
            served.cut.label,
            "stays in its place" if served.how == "in its place" else f"for {served.piece.label}",
            served.piece.bed,
            served.turn,
            format_length(served.cut.long_m, show),
            format_length(served.piece.long_m, show),
        )
        for served in still.reuse.served
        if served.how != "trimmed"
    )
    columns = (
        *(Column(word, "left") for word in ("cut piece", "serves", "bed", "laid")),
        Column("is"),
        Column("wanted"),
    )
    note = (
        f"Within {format_length(within_m, show)} and {WITHIN_DEG:g}°. End for end: first end last "
        "and inner face out. Rolled over: inner face out, top edge down."
    )
    return Table("Cut pieces that serve as they are", columns, rows, note)


def _trims_table(still: StillWanted, show: System) -> Table:
    rows = tuple(
        (
            served.cut.label,
            f"{served.piece.label}, {served.piece.bed}",
            served.turn,
            format_length(served.cut.long_m, show),
            format_length(served.piece.long_m, show),
            *(_trim(served, which, show) for which in (0, 1)),
            "cut its notches" if served.notched else "",
        )
        for served in still.reuse.served
        if served.how == "trimmed"
    )
    columns = (
        *(Column(word, "left") for word in ("cut piece", "for", "laid")),
        Column("is"),
        Column("wanted"),
        *(Column(word, "left") for word in ("first end", "last end", "and")),
    )
    note = "Ends as the piece is laid, not as it was; what comes off is taken at the long points."
    return Table("Cut pieces that serve once trimmed", columns, rows, note)


def _trim(served: Served, which: int, show: System) -> str:
    if not served.recut[which]:
        return "stays"
    return f"{format_length(served.off_m[which], show)} off, {end_words(served.piece.ends[which])}"


def _spare_table(still: StillWanted, show: System) -> Table:
    rows = tuple((one.label, one.board, format_length(one.long_m, show)) for one in still.unused)
    columns = (Column("cut piece", "left"), Column("board", "left"), Column("length"))
    return Table("Cut pieces left over", columns, rows, "They serve no place; keep or discard.")


def _still_tables(still: StillWanted, show: System) -> Iterator[Table]:
    for part in still.parts:
        boards = sawn_boards(part, KEEP_M[show])
        rows = [
            _still_row(source, board, show)
            for source, board in zip(still.sources(part), boards, strict=True)
        ]
        columns = (
            Column("from", "left"),
            Column("length"),
            Column("saw", "left"),
            Column("left over"),
        )
        cost = money(part.cut.cost)
        yield Table(f"Still to cut, {part.board.name}", columns, tuple(rows), f"To buy: {cost}.")


def _still_row(source: str, board: SawnBoard, show: System) -> Row:
    pieces = ", ".join(f"{sawn.piece.label} ({tape(sawn.length, show)})" for sawn in board.pieces)
    left = tape(board.offcut.length, show) if board.offcut else ""
    return (source, tape(board.length, show), pieces, left)
