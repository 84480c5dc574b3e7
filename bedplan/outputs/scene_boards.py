"""Boards with their cuts as bars, drawn to scale along their length (layer: outputs).

A bar is a board seen on its top edge, as it will stand: its first end at the left, its outer face
the heavy line below. Lengths are to scale; the thickness is drawn a whole number of times larger,
and every slanted cut runs from its true long point at its true angle, so its short point is not to
scale. Public entry points: `Drafting`, `board_row`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from shapely.geometry import Polygon, box

from bedplan.edging import Piece
from bedplan.model.layout import System
from bedplan.model.materials import Board
from bedplan.outputs.lanes import Lanes, SetTag, Tag, in_lanes
from bedplan.outputs.scene import Mark, Pen, Placed, Point, Shapes, Strokes
from bedplan.outputs.scene_legend import size_words
from bedplan.outputs.scene_lettering import Line, block, block_size_mm, clean, rectangle
from bedplan.outputs.scene_palette import (
    BED_FILL,
    FIGURE,
    HAIR,
    INK,
    INNER_DIMENSION,
    LEADER,
    NAME,
    PATH_MARK,
    SMALL,
    WHITE,
)
from bedplan.outputs.scene_texture import hatch
from bedplan.outputs.tables_cuts import NM, SQUARE_DEG, kerf_words, saw_words, tape
from bedplan.plan.reuse import cut_from, faces_of
from bedplan.plan.sawing import SawnBoard, SawnPiece

GUTTER_MM: Final = 21.0
"""Left of the bars: tick box, number, length [mm]."""

BAR_MM: Final = 5.4
"""No bar is drawn thicker [mm]."""

TICK_BOX_MM: Final = 3.6
"""Side of the box a builder ticks [mm]."""

ROW_GAP_MM: Final = 2.6
"""Between one board and the next [mm]."""

LEAST_KERF_MM: Final = 0.3
"""A kerf is drawn at least so wide, or it could not be seen [mm]."""

ASIDE_MM: Final = 9.0
"""An angle farther from its cut than this is told with its piece's name instead [mm]."""

_TIMES: Final = (16, 12, 10, 8, 6, 5, 4, 3, 2)

EDGE: Final = Pen(0.18, INK)
FACE: Final = Pen(0.55, INK)
SLANT: Final = Pen(0.40, INK)


@dataclass(frozen=True)
class Drafting:
    """How bars of one kind of board are drawn.

    Parameters
    ----------
    left, right
        Where bars begin, and where no words may pass [mm].
    mm_per_m
        Paper for a metre of board [mm].
    thickness_m
        Of the board [m].
    times
        How many times its thickness is drawn.
    """

    left: float
    right: float
    mm_per_m: float
    thickness_m: float
    times: int
    show: System

    @property
    def tall_mm(self) -> float:
        """Thickness of a bar [mm]."""
        return self.thickness_m * self.times * self.mm_per_m

    def x(self, at_nm: float) -> float:
        """Return where a place of a board lies on the paper [mm]."""
        return self.left + at_nm * NM * self.mm_per_m

    def faces(self, sawn: SawnPiece) -> tuple[Point, Point]:
        """Return from where to where the outer and the inner face of a piece run [mm]."""
        start = self.x(sawn.start)
        outer, inner = faces_of(cut_from(sawn.piece), self.thickness_m * self.times)
        return (
            (start + outer[0] * self.mm_per_m, start + outer[1] * self.mm_per_m),
            (start + inner[0] * self.mm_per_m, start + inner[1] * self.mm_per_m),
        )


def times_drawn(board: Board, boards: Iterable[SawnBoard], mm_per_m: float) -> int:
    """Return how many times a thickness can be drawn so that no two slants cross."""
    pieces = [cut_from(sawn.piece) for board in boards for sawn in board.pieces]
    for times in _TIMES:
        thick = board.thickness_m * times
        spans = (span for piece in pieces for span in faces_of(piece, thick))
        if thick * mm_per_m <= BAR_MM and all(end > start for start, end in spans):
            return times
    return 1


@dataclass(frozen=True)
class Row:
    """A board ready to be set: its words above and below, and its height [mm]."""

    board: SawnBoard
    above: Lanes
    below: Lanes
    height_mm: float


def board_row(board: SawnBoard, drafting: Drafting) -> Row:
    """Return a board with its words laid out, wherever on the sheet it will stand.

    Angles stand next to their cuts; on a board so full that they would stand far from them, they
    are told with the names of their pieces.
    """
    marks = list(_marks(board, drafting))
    angles = list(_angles(board, drafting))
    below = in_lanes([*angles, *marks], drafting.left, drafting.right)
    near = all(
        abs(each.middle - each.tag.wish) <= ASIDE_MM for each in below.tags if not each.tag.group
    )
    if not near:
        below = in_lanes(marks, drafting.left, drafting.right)
    names = list(_names(board, drafting, angles=not near))
    above = in_lanes(names, drafting.left, drafting.right)
    tall = max(above.reach_mm + drafting.tall_mm + below.reach_mm, _gutter_mm(board, drafting))
    return Row(board, above, below, tall + ROW_GAP_MM)


def _names(board: SawnBoard, drafting: Drafting, *, angles: bool) -> Iterator[Tag]:
    """Yield label and long point of every piece, and what is left."""
    for sawn in board.pieces:
        middle = drafting.x((sawn.start + sawn.end) / 2)
        told = [*_angle_lines(sawn.piece)] if angles else []
        length = tape(sawn.length, drafting.show)
        yield Tag(((clean(sawn.piece.label), NAME), (length, FIGURE), *told), middle, middle)
    if board.offcut:
        middle = drafting.x((board.offcut.start + board.offcut.end) / 2)
        length = tape(board.offcut.length, drafting.show)
        name = clean(board.offcut.name) or "scrap"
        yield Tag(((name, FIGURE), (length, FIGURE)), middle, middle)


def _angle_lines(piece: Piece) -> Iterator[Line]:
    """Yield the angles of a piece's slanted ends in words, both at once where they are alike."""
    first, last = (saw_words(end) for end in piece.ends)
    if first and first == last:
        yield (f"both {first}", FIGURE)
        return
    for which, words in (("first", first), ("last", last)):
        if words:
            yield (f"{which} {words}", FIGURE)


def _angles(board: SawnBoard, drafting: Drafting) -> Iterator[Tag]:
    """Yield the angle of every slanted end, beside its cut on the piece's side."""
    for sawn in board.pieces:
        for which, end in enumerate(sawn.piece.ends):
            if angle := saw_words(end):
                words = ((angle, FIGURE),)
                at = drafting.x(sawn.end if which else sawn.start)
                inward = block_size_mm(words)[0] / 2 + 0.6
                yield Tag(words, at, at - inward if which else at + inward)


def _marks(board: SawnBoard, drafting: Drafting) -> Iterator[Tag]:
    """Yield the mark of the first trim and of every square cut."""
    if board.trim:
        yield _mark(board.trim, drafting)
    for sawn in board.pieces:
        yield _mark(sawn.end, drafting)


def _mark(at_nm: int, drafting: Drafting) -> Tag:
    at = drafting.x(at_nm)
    return Tag(((tape(at_nm, drafting.show), INNER_DIMENSION),), at, at, 1, ticked=True)


def _gutter_block(board: SawnBoard, show: System) -> tuple[Line, ...]:
    source = "on hand" if board.on_hand else "buy"
    return ((str(board.number), NAME), (tape(board.length, show), FIGURE), (source, SMALL))


def _gutter_mm(board: SawnBoard, drafting: Drafting) -> float:
    return block_size_mm(_gutter_block(board, drafting.show))[1]


def set_row(row: Row, drafting: Drafting, top: float) -> tuple[list[Mark], list[Placed]]:
    """Return a board drawn below a height on the page, and the labels on it."""
    bar_top = top - row.above.reach_mm
    bottom = bar_top - drafting.tall_mm
    marks = [*_bar(row.board, drafting, bottom, bar_top), *_gutter(row, drafting, top)]
    labels = []
    for tags, edge, way in ((row.above.tags, bar_top, 1.0), (row.below.tags, bottom, -1.0)):
        for tag in tags:
            marks += _words(tag, edge, way)
            labels.append(_placed(row.board, tag, edge, way))
    return marks, labels


def _words(tag: SetTag, edge: float, way: float) -> Iterator[Mark]:
    yield from block(tag.tag.lines, (tag.middle, edge + way * tag.level))
    if tag.leader:
        yield Strokes("leaders", (_led(tag, edge, way),), LEADER)


def _led(tag: SetTag, edge: float, way: float) -> tuple[Point, ...]:
    return tuple((along, edge + way * away) for along, away in tag.leader)


def _placed(board: SawnBoard, tag: SetTag, edge: float, way: float) -> Placed:
    words = " ".join(words for words, _ in tag.tag.lines)
    spot = rectangle((tag.middle, edge + way * tag.level), *block_size_mm(tag.tag.lines))
    return Placed(f"{board.kind} {board.number}", words, spot, _led(tag, edge, way))


def _gutter(row: Row, drafting: Drafting, top: float) -> Iterator[Mark]:
    """Yield the box to tick, the board's number, its length and where it comes from."""
    lines = _gutter_block(row.board, drafting.show)
    wide, tall = block_size_mm(lines)
    left = drafting.left - GUTTER_MM
    tick = box(left, top - TICK_BOX_MM - 0.4, left + TICK_BOX_MM, top - 0.4)
    yield Shapes("dimensions", (tick,), None, EDGE)
    yield from block(lines, (left + TICK_BOX_MM + 1.4 + wide / 2, top - tall / 2))


def _bar(board: SawnBoard, drafting: Drafting, bottom: float, top: float) -> Iterator[Mark]:
    def part(start: float, end: float) -> Polygon:
        return box(drafting.x(start), bottom, drafting.x(end), top)

    whole = part(0, board.length)
    yield Shapes("boards", (whole,), WHITE)
    if board.trim:
        ends = ((0, board.trim), (board.length - board.trim, board.length))
        yield Shapes("boards", tuple(part(*span) for span in ends), PATH_MARK, HAIR)
    if board.offcut:
        left = part(board.offcut.start, board.offcut.end)
        yield from offcut_hatch("boards", left, kept=bool(board.offcut.name))
    for sawn in board.pieces:
        yield from _piece(sawn, drafting, bottom, top)
    for start, end in board.kerfs:
        wide = max(LEAST_KERF_MM, drafting.x(end) - drafting.x(start))
        kerf = box(drafting.x(start), bottom, drafting.x(start) + wide, top)
        yield Shapes("boards", (kerf,), INK)
    yield Shapes("boards", (whole,), None, EDGE)
    yield Strokes("boards", (((drafting.x(0), bottom), (drafting.x(board.length), bottom)),), FACE)


def offcut_hatch(layer: str, shape: Polygon, *, kept: bool) -> list[Mark]:
    """Return the hatch of an offcut: one way where it is kept, both ways where it is scrap."""
    marks = hatch(layer, shape, HAIR, 1.6)
    return marks if kept else [*marks, *hatch(layer, shape, HAIR, 1.6, 135.0)]


def _piece(sawn: SawnPiece, drafting: Drafting, bottom: float, top: float) -> Iterator[Mark]:
    (outer_a, outer_b), (inner_a, inner_b) = drafting.faces(sawn)
    shape = Polygon([(outer_a, bottom), (outer_b, bottom), (inner_b, top), (inner_a, top)])
    yield Shapes("boards", (shape,), BED_FILL, EDGE)
    cuts = (((outer_a, bottom), (inner_a, top)), ((outer_b, bottom), (inner_b, top)))
    slanted = tuple(
        cut for cut, end in zip(cuts, sawn.piece.ends, strict=True) if end.saw_deg >= SQUARE_DEG
    )
    if slanted:
        yield Strokes("boards", slanted, SLANT)
    for notch in sawn.piece.notches:
        deep = notch.depth_m * drafting.times * drafting.mm_per_m
        low, high = (bottom, bottom + deep) if notch.face == "outer" else (top - deep, top)
        start = drafting.x(sawn.start)
        left, right = (start + at * drafting.mm_per_m for at in (notch.start_m, notch.end_m))
        yield Shapes("boards", (box(left, low, right, high),), WHITE, SLANT)


def kind_words(board: Board, count: int, drafting: Drafting) -> str:
    """Return the heading over the boards of one kind."""
    sizes = f"{size_words(board.thickness_m, drafting.show)} × "
    sizes += size_words(board.height_m, drafting.show)
    kerf = kerf_words(board.kerf_m, drafting.show)
    trim = f" · end trim {size_words(board.end_trim_m, drafting.show)}" if board.end_trim_m else ""
    lengths = f"{count} boards" if count > 1 else "1 board"
    thick = (
        f"thickness drawn {drafting.times} times" if drafting.times > 1 else "thickness to scale"
    )
    return f"{clean(board.name).upper()}  {sizes} · {lengths} · kerf {kerf}{trim} · {thick}"
