"""The cut sheet: every board with its cuts, on as many pages as it takes (layer: outputs).

Pages lie landscape. Boards stand one below the other, kind by kind, to one scale; along the foot
of each page run title, how to saw, legend, scale bars and check square. Public entry point:
`cut_sheet`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from shapely.geometry import Polygon, box

from bedplan.errors import OutputError
from bedplan.model.layout import System
from bedplan.outputs.scene import POINT_MM, Mark, Placed, Scene, Shapes, Strokes, Text
from bedplan.outputs.scene_boards import (
    EDGE,
    FACE,
    GUTTER_MM,
    SLANT,
    Drafting,
    Row,
    board_row,
    kind_words,
    offcut_hatch,
    set_row,
    times_drawn,
)
from bedplan.outputs.scene_column import (
    Column,
    check_square,
    legend_row,
    scale_bars,
    sheet_rows,
    title_rows,
)
from bedplan.outputs.scene_lettering import ASCENT_EM
from bedplan.outputs.scene_palette import (
    BED_FILL,
    BORDER,
    HAIR,
    HEADING,
    INK,
    PATH_MARK,
    SMALL,
    WHITE,
)
from bedplan.outputs.sheet import COLUMN_MM, PAD_MM, Page, Scale, Sheet, scales
from bedplan.plan.sawing import SawnBoard, sawn_boards

if TYPE_CHECKING:
    from bedplan.plan import BoardPlan, Plan

HEADING_MM: Final = 5.6
"""Height of a heading over the boards of one kind [mm]."""

HOW: Final = (
    "Bars are boards seen on their top edge, as they will stand: first end at the left, outer "
    "face the heavy line below.",
    "1. Free each piece with a square cut. Measure its length, the figure on it, from the fresh "
    "cut; figures below are the same cuts from the board's first end.",
    "2. Saw slanted ends from the corner of the long point, which is on the face named: board "
    "flat, outer face up, blade tilted; or board on edge, outer face to you, mitre swung.",
    "Write the label on the outer face, an arrow to the first end.",
)

_NOTE: Final = "Lengths are to scale, thickness is not. Tick each board off when it is sawn."


@dataclass(frozen=True)
class _Kind:
    """One kind of board, laid out."""

    heading: str
    drafting: Drafting
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class _Setting:
    """What all pages have in common."""

    title: str
    show: System
    page: Page
    scale: Scale
    foot: Polygon

    @property
    def field(self) -> tuple[float, float, float, float]:
        """Room for the boards: left, bottom, right, top [mm]."""
        left, _, right, top = self.page.border.bounds
        return (left + PAD_MM, self.foot.bounds[3] + PAD_MM, right - PAD_MM, top - PAD_MM)


_Block = tuple[str, Drafting, tuple[Row, ...]]
"""Boards of one kind on one page under their heading."""


def cut_sheet(plan: Plan, sheet: Sheet | str = "letter", keep_m: float = 0.3) -> tuple[Scene, ...]:
    """Return the pages of the cut sheet; none for a plan without boards.

    Parameters
    ----------
    plan
        What is drawn.
    sheet
        A sheet, or the name of one: ``letter``, ``tabloid``, ``a4``, ``a3``.
    keep_m
        Least length of an offcut worth keeping [m].

    Raises
    ------
    OutputError
        If there is no such sheet, or a board is too long for it at the smallest scale.
    """
    sawn = [(part, sawn_boards(part, keep_m)) for part in plan.boards]
    if not sawn:
        return ()
    name = sheet if isinstance(sheet, str) else sheet.name
    page = next(Sheet(name, landscape=True).pages())
    longest = max(board.length for _, boards in sawn for board in boards) * 1e-9
    scale = _scale(page, plan.layout.show, longest)
    setting = _Setting(plan.layout.title, plan.layout.show, page, scale, _foot(page, plan))
    kinds = [_kind(part, boards, setting) for part, boards in sawn]
    pages = list(_paged(kinds, setting))
    return tuple(
        _scene(setting, blocks, number, len(pages)) for number, blocks in enumerate(pages, start=1)
    )


def _scale(page: Page, show: System, longest_m: float) -> Scale:
    left, _, right, _ = page.border.bounds
    room = (right - left - 2 * PAD_MM - GUTTER_MM) * page.enlarged
    for scale in scales(show):
        if longest_m * 1000.0 / scale.denominator <= room:
            return scale
    message = f"a board {longest_m:.1f} m long does not fit on sheet {page.name} at any scale"
    raise OutputError(message)


def _foot(page: Page, plan: Plan) -> Polygon:
    """Return the strip along the foot, as tall as its tallest column."""
    left, bottom, right, _ = page.border.bounds
    trial = _Setting(
        plan.layout.title, plan.layout.show, page, Scale(100.0, "1\" = 1000'"), box(0, 0, 1, 1)
    )
    tall = max(-column.y for column in _columns(trial, "page 10 of 10", 0.0, 0.0))
    return box(left, bottom, right, bottom + tall + 2 * PAD_MM)


def _kind(part: BoardPlan, boards: Sequence[SawnBoard], setting: _Setting) -> _Kind:
    left, _, right, _ = setting.field
    per_m = 1000.0 / (setting.scale.denominator * setting.page.enlarged)
    times = times_drawn(part.board, boards, per_m)
    drafting = Drafting(
        left + GUTTER_MM, right, per_m, part.board.thickness_m, times, setting.show
    )
    rows = tuple(board_row(board, drafting) for board in boards)
    return _Kind(kind_words(part.board, len(boards), drafting), drafting, rows)


def _paged(kinds: Sequence[_Kind], setting: _Setting) -> Iterator[list[_Block]]:
    """Yield the boards of each page; a kind that runs on has its heading again."""
    _, bottom, _, top = setting.field
    page: list[_Block] = []
    room = top - bottom
    for kind in kinds:
        waiting, heading = list(kind.rows), kind.heading
        while waiting:
            count = _fitting(waiting, room - HEADING_MM)
            if not count and page:
                yield page
                page, room = [], top - bottom
                continue
            taken, waiting = waiting[: max(1, count)], waiting[max(1, count) :]
            page.append((heading, kind.drafting, tuple(taken)))
            room -= HEADING_MM + sum(row.height_mm for row in taken)
            heading = f"{kind.heading}, continued"
    if page:
        yield page


def _fitting(rows: Sequence[Row], room: float) -> int:
    """Return how many of the first rows fit."""
    count = 0
    for row in rows:
        room -= row.height_mm
        if room < 0.0:
            break
        count += 1
    return count


def _scene(setting: _Setting, blocks: Sequence[_Block], number: int, of: int) -> Scene:
    marks, labels = _boards(blocks, setting)
    left, _, _, top = setting.foot.bounds
    which = f"page {number} of {of}" if of > 1 else ""
    for column in _columns(setting, which, left + PAD_MM, top - PAD_MM):
        marks += column.marks
    marks += [Shapes("border", (setting.page.border, setting.foot), None, BORDER)]
    return setting.page.printed(f"{setting.title}, cut sheet", marks, labels, setting.scale)


def _boards(blocks: Sequence[_Block], setting: _Setting) -> tuple[list[Mark], list[Placed]]:
    left, _, _, top = setting.field
    marks: list[Mark] = []
    labels: list[Placed] = []
    for heading, drafting, rows in blocks:
        down = top - ASCENT_EM * HEADING.size_pt * POINT_MM
        style = HEADING
        marks.append(
            Text("lettering", heading, (left, down), style.size_pt, "left", 0.0, True, INK)
        )
        top -= HEADING_MM
        for row in rows:
            drawn, named = set_row(row, drafting, top)
            marks += drawn
            labels += named
            top -= row.height_mm
    return marks, labels


def _columns(setting: _Setting, which: str, left: float, top: float) -> list[Column]:
    step = COLUMN_MM + PAD_MM
    first = Column(left, top)
    title_rows(first, setting.title, "Cut sheet" + (f", {which}" if which else ""))
    sheet_rows(first, setting.scale, setting.page)
    second = Column(left + step, top)
    second.line("HOW TO SAW", HEADING)
    second.gap(0.6)
    for words in HOW:
        second.paragraph(words, SMALL)
        second.gap(0.5)
    third = Column(left + 2 * step, top)
    third.line("LEGEND", HEADING)
    third.gap(0.6)
    for said, swatch in _LEGEND:
        legend_row(third, said, swatch)
    fourth = Column(left + 3 * step, top)
    per_m = 1000.0 / (setting.scale.denominator * setting.page.enlarged)
    scale_bars(fourth, setting.show, per_m)
    fourth.gap(1.5)
    check_square(fourth, setting.show, setting.page.enlarged, _NOTE)
    return [first, second, third, fourth]


def _piece_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    lean = top - bottom - 1.0
    shape = Polygon(
        [(left, bottom + 0.5), (right, bottom + 0.5), (right - lean, top - 0.5), (left, top - 0.5)]
    )
    return [
        Shapes("panel", (shape,), BED_FILL, EDGE),
        Strokes("panel", (((right, bottom + 0.5), (right - lean, top - 0.5)),), SLANT),
        Strokes("panel", (((left, bottom + 0.5), (right, bottom + 0.5)),), FACE),
    ]


def _kerf_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = (left + right) / 2
    return [
        Shapes("panel", (box(left, bottom + 1.2, right, top),), BED_FILL, EDGE),
        Shapes("panel", (box(middle, bottom + 1.2, middle + 0.4, top),), INK),
        Strokes("panel", (((middle, bottom + 1.2), (middle, bottom)),), EDGE),
    ]


def _offcut_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    inner = box(left, bottom + 0.5, right, top - 0.5)
    return [
        Shapes("panel", (inner,), WHITE),
        *offcut_hatch("panel", inner, kept=True),
        Shapes("panel", (inner,), None, EDGE),
    ]


def _scrap_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = (left + right) / 2
    scrap = box(left, bottom + 0.5, middle - 0.4, top - 0.5)
    trim = box(middle + 0.4, bottom + 0.5, right, top - 0.5)
    return [
        Shapes("panel", (scrap,), WHITE),
        *offcut_hatch("panel", scrap, kept=False),
        Shapes("panel", (scrap,), None, EDGE),
        Shapes("panel", (trim,), PATH_MARK, HAIR),
    ]


_LEGEND: Final[tuple[tuple[str, Callable[[Polygon], list[Mark]]], ...]] = (
    ("piece with label and long point; slant at its true angle", _piece_swatch),
    ("square cut, kerf beyond its mark", _kerf_swatch),
    ("offcut worth keeping, by name", _offcut_swatch),
    ("scrap (crossed), end trim (dark)", _scrap_swatch),
)
