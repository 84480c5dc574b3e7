"""Tables set on paper in large type, with boxes to tick (layer: outputs).

Landscape pages to take out on the ground: every row apart from the next by a rule, a square in
front of each that has one. Public entry point: `ticked_pages`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shapely.geometry import box

from bedplan.outputs.scene import (
    POINT_MM,
    Anchor,
    Mark,
    Pen,
    Placed,
    Scene,
    Shapes,
    Strokes,
    Text,
)
from bedplan.outputs.scene_lettering import box as text_box
from bedplan.outputs.scene_lettering import clean, width_mm, wrap
from bedplan.outputs.scene_palette import BORDER, HAIR, HEADING, INK, RULE, SMALL, Style
from bedplan.outputs.sheet import PAD_MM, Page, Sheet
from bedplan.outputs.table import Table
from bedplan.outputs.tables_setout import BOX

TYPE: Final = Style(10.5)
LEAST_PT: Final = 7.0
"""Wide tables are set smaller, but no smaller than this [pt]."""

ROW_MM: Final = 7.4
TITLE_MM: Final = 7.0
HEADER_MM: Final = 5.6
GAP_MM: Final = 4.0
"""Below a table, and between two columns [mm]."""

_PEN: Final = Pen(0.35, INK)

TICK_MM: Final = 4.2
"""Side of the box to tick [mm]."""

BESIDE_MM: Final = 2.2
"""Between a box and the words beside it [mm]."""

FOOT_MM: Final = 9.0
"""Room for the words at the foot of a page [mm]."""


@dataclass(frozen=True)
class _Strip:
    """One thing set across the page: its height, and its marks below a given level [mm].

    `keep` strips stand on one page with the next.
    """

    height: float
    keep: bool
    table: Table
    style: Style
    row: int
    """Number of the row; -1 for the headings of columns, -2 for the table's title."""


def ticked_pages(
    title: str, what: str, tables: Sequence[Table], foot: str, sheet: str
) -> list[Scene]:
    """Return tables on as many landscape pages as they take.

    Parameters
    ----------
    title, what
        Of the layout and of the list, in the head of every page.
    tables
        In order. A cell that begins with `tables_setout.BOX` gets a box to tick.
    foot
        Words at the foot of every page.
    sheet
        ``letter``, ``tabloid``, ``a4`` or ``a3``.

    Raises
    ------
    OutputError
        If there is no such sheet.
    """
    page = next(Sheet(sheet, landscape=True).pages())
    left, bottom, right, top = page.border.bounds
    room = top - bottom - TITLE_MM - FOOT_MM - 2 * PAD_MM
    strips = [strip for table in tables for strip in _strips(table, right - left - 2 * PAD_MM)]
    leaves = list(_filled(strips, room))
    return [
        _page(page, f"{title}, {what} {number} of {len(leaves)}", leaf, foot)
        for number, leaf in enumerate(leaves, start=1)
    ]


def _strips(table: Table, room: float) -> Iterator[_Strip]:
    style = _fitting(table, room)
    yield _Strip(TITLE_MM, True, table, style, -2)
    yield _Strip(HEADER_MM, True, table, style, -1)
    last = len(table.rows) - 1
    for row in range(last + 1):
        yield _Strip(ROW_MM + (GAP_MM if row == last else 0.0), False, table, style, row)


def _fitting(table: Table, room: float) -> Style:
    """Return the type a table is set in: large, or as small as its width asks for."""
    wide = sum(_widths(table, TYPE))
    return TYPE.sized(max(LEAST_PT, min(TYPE.size_pt, TYPE.size_pt * room / wide)))


def _widths(table: Table, style: Style) -> list[float]:
    """Return the width of every column, the gap after it included [mm]."""
    bold = Style(style.size_pt, bold=True)
    return [
        GAP_MM
        + max(
            width_mm(column.heading, bold),
            *(_room(row[i], style) for row in table.rows),
        )
        for i, column in enumerate(table.columns)
    ]


def _room(cell: str, style: Style) -> float:
    """Return the width a cell takes, its box to tick included [mm]."""
    if cell.startswith(BOX):
        return TICK_MM + BESIDE_MM + width_mm(clean(cell[1:].strip()), style)
    return width_mm(clean(cell), style)


def _filled(strips: Iterable[_Strip], room: float) -> Iterator[list[_Strip]]:
    """Yield pages full of strips; a table that runs over has its headings again."""
    leaf: list[_Strip] = []
    used, waiting = 0.0, list(strips)
    for number, strip in enumerate(waiting):
        needed = strip.height
        ahead = number
        while waiting[ahead].keep:
            ahead += 1
            needed += waiting[ahead].height
        if leaf and used + needed > room:
            yield leaf
            leaf, used = [], 0.0
            if not strip.keep:
                again = [_Strip(TITLE_MM, True, strip.table, strip.style, -2)]
                again.append(_Strip(HEADER_MM, True, strip.table, strip.style, -1))
                leaf, used = again, sum(each.height for each in again)
        leaf.append(strip)
        used += strip.height
    if leaf:
        yield leaf


def _page(page: Page, head: str, leaf: Sequence[_Strip], foot: str) -> Scene:
    left, bottom, right, top = page.border.bounds
    inside = left + PAD_MM
    marks: list[Mark] = [_text(head, inside, top - PAD_MM - 3.6, HEADING)]
    level = top - PAD_MM - TITLE_MM
    for strip in leaf:
        marks += _set(strip, inside, right - PAD_MM, level)
        level -= strip.height
    for number, row in enumerate(wrap(foot, SMALL, right - left - 2 * PAD_MM)):
        marks.append(_text(row, inside, bottom + FOOT_MM - 3.5 - 3.0 * number, SMALL))
    marks.append(Shapes("border", (page.border,), None, BORDER))
    labels = [Placed("row", mark.text, text_box(mark)) for mark in marks if isinstance(mark, Text)]
    return page.printed(head, marks, labels)


def _text(words: str, x: float, y: float, style: Style, right: bool = False) -> Text:
    anchor: Anchor = "right" if right else "left"
    return Text(
        "panel lettering", words, (x, y), style.size_pt, anchor, 0.0, style.bold, style.colour
    )


def _set(strip: _Strip, left: float, right: float, top: float) -> list[Mark]:
    """Return one strip as marks: a title, the headings, or a row with the rule below it."""
    if strip.row == -2:
        return [_text(clean(strip.table.title), left, top - 5.2, Style(11.0, bold=True))]
    table, header = strip.table, strip.row == -1
    style = Style(min(strip.style.size_pt, 8.5), bold=True) if header else strip.style
    height = HEADER_MM if header else ROW_MM
    headings = tuple(column.heading for column in table.columns)
    cells = headings if header else table.rows[strip.row]
    marks: list[Mark] = [
        Strokes(
            "panel", (((left, top - height), (right, top - height)),), RULE if header else HAIR
        )
    ]
    base, x = top - height / 2 - 0.35 * style.size_pt * POINT_MM, left
    for column, cell, wide in zip(table.columns, cells, _widths(table, strip.style), strict=True):
        at, words = x, cell
        if cell.startswith(BOX):
            low = top - (height + TICK_MM) / 2
            marks.append(Shapes("panel", (box(x, low, x + TICK_MM, low + TICK_MM),), None, _PEN))
            at, words = x + TICK_MM + BESIDE_MM, cell[1:].strip()
        if words:
            end = column.align == "right"
            marks.append(_text(clean(words), x + wide - GAP_MM if end else at, base, style, end))
        x += wide
    return marks
