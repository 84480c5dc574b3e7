"""The edging plan: where every piece belongs, by the labels of the cut sheet (layer: outputs).

One landscape sheet with the fence, the beds, every board at its true thickness, splices and
stakes. Pieces of several tiers that stand on one another have one label, the lowest tier first.
Public entry point: `edging_plan`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Final

from shapely.geometry import LineString, MultiPoint, Polygon, box
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.edging import Piece
from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.site import PlacedBed
from bedplan.outputs.label import Candidate, Feature, Label, as_placed
from bedplan.outputs.labels import place
from bedplan.outputs.scene import Mark, Point, Scene, Shapes, Strokes, enlarged
from bedplan.outputs.scene_callouts import corner_labels
from bedplan.outputs.scene_column import (
    Column,
    across,
    check_square,
    legend_row,
    scale_bars,
    sheet_rows,
    title_rows,
)
from bedplan.outputs.scene_dimensions import led
from bedplan.outputs.scene_fence import fence_band, fence_marks
from bedplan.outputs.scene_ground import board_fills, board_marks
from bedplan.outputs.scene_lettering import Line, block_size_mm, clean, rectangle, upright
from bedplan.outputs.scene_names import ground_label
from bedplan.outputs.scene_palette import (
    BED_EDGE,
    BED_FILL,
    BOARD_FILLS,
    BORDER,
    HEADING,
    PATH_EDGE,
    SPARE_FILL,
    TICK,
    WHITE,
    Style,
)
from bedplan.outputs.scene_texture import painted
from bedplan.outputs.sheet import PAD_MM, Frame, Setting, Sheet, choose

if TYPE_CHECKING:
    from bedplan.plan import Plan

PIECE: Final = Style(7.0, bold=True)

SPLICE_MM: Final = 1.5
"""Half the length of the stroke across a board that marks a splice [mm]."""

STAKE_MM: Final = 1.1
"""A stake is drawn no smaller than this [mm]."""

AROUND_MM: Final = 9.0
"""Room outside the fence for the corners' letters [mm]."""

BARE_MM: Final = 0.9
"""From the middle of a board to the words beside it [mm]."""

STACKED_M: Final = 0.02
"""Pieces whose middles are nearer than about this stand on one another [m]."""

BENT_SHARE: Final = 0.4
"""A piece that fills less of the rectangle round it is bent [-]."""

_SHARES: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
_REACHES: Final = (5.0, 7.0, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0, 45.0)
_NOTE: Final = (
    "Labels are those of the cut sheet. The first end of a piece is at the left for someone who "
    "looks at its outer face."
)


def edging_plan(plan: Plan, sheet: Sheet | str = "letter") -> Scene:
    """Return the sheet that shows where every piece of edging belongs.

    Parameters
    ----------
    plan
        What is drawn.
    sheet
        A sheet, or the name of one: ``letter``, ``tabloid``, ``a4``, ``a3``.

    Raises
    ------
    OutputError
        If there is no such sheet, or the ground does not fit on it.
    """
    paper = Sheet(sheet if isinstance(sheet, str) else sheet.name, landscape=True)
    setting = choose(paper, plan.layout.show, lambda _: 0.0, lambda per_m: _extent(plan, per_m))
    placed, left_off = _lettered(plan, setting)
    marks = [
        *_ground(plan, setting.frame),
        *(mark for _, candidate in placed for mark in candidate.marks()),
        *_panel(plan, setting, left_off),
        Shapes("border", (setting.page.border, setting.panel), None, BORDER),
    ]
    page, factor = setting.page, setting.page.enlarged
    return Scene(
        f"{plan.layout.title}, edging plan",
        page.width_mm * factor,
        page.height_mm * factor,
        setting.scale.denominator,
        setting.scale.words,
        tuple(enlarged(mark, factor) for mark in marks),
        tuple(as_placed(label, candidate).enlarged(factor) for label, candidate in placed),
    )


def _extent(plan: Plan, per_m: float) -> Polygon:
    band = fence_band(plan.site, Frame(per_m))
    return MultiPoint(band.exterior.coords).envelope.buffer(AROUND_MM, join_style="mitre")


def _ground(plan: Plan, frame: Frame) -> list[Mark]:
    marks: list[Mark] = [
        Shapes("spare", (frame.shape(plan.site.enclosure.polygon),), SPARE_FILL),
        *fence_marks(plan.site, frame),
        *board_marks(plan, frame),
    ]
    for bed in plan.site.beds:
        outline = frame.shape(bed.outline)
        marks += painted("bed", outline, BED_FILL)
        if bed.spec.edging is None:
            marks.append(Shapes("bed edge", (outline,), None, BED_EDGE))
    blocks = tuple(frame.shape(each.outline) for bed in plan.edging for each in bed.blocks)
    if blocks:
        marks.append(Shapes("boards", blocks, WHITE, PATH_EDGE))
    marks += _splices(plan, frame)
    marks += _stakes(plan, frame)
    return marks


def _splices(plan: Plan, frame: Frame) -> Iterator[Mark]:
    """Yield a stroke across the boards at every splice."""
    strokes = []
    for bed, edging in zip(plan.site.beds, plan.edging, strict=True):
        heart = bed.outline.centroid
        for splice in edging.splices:
            run = edging.runs[splice.run - 1]
            straight = math.dist(run.start, run.end) > SNAP_M
            start = run.start if straight else (heart.x, heart.y)
            toward = direction_deg(start, run.end if straight else splice.at)
            x, y = unit_vector(toward + 90.0 if straight else toward)
            at = frame.point(splice.at)
            strokes.append(
                tuple((at[0] + way * x, at[1] + way * y) for way in (-SPLICE_MM, SPLICE_MM))
            )
    if strokes:
        yield Strokes("dimensions", tuple(strokes), TICK)


def _stakes(plan: Plan, frame: Frame) -> Iterator[Mark]:
    """Yield every stake, no smaller than can be seen."""
    squares = tuple(
        rectangle(frame.point(stake.at), side, side, stake.direction_deg)
        for edging in plan.edging
        for stake in edging.stakes
        for side in (max(STAKE_MM, stake.size_m * frame.mm_per_m),)
    )
    if squares:
        yield Shapes("posts", squares, WHITE, PATH_EDGE)


def _lettered(plan: Plan, setting: Setting) -> tuple[list[tuple[Label, Candidate]], int]:
    """Return every label placed, and how many found no place."""
    frame = setting.frame
    pieces = [piece for edging in plan.edging for piece in edging.pieces]
    ground = {bed.spec.name: frame.shape(bed.outline) for bed in plan.site.beds}
    labels = [
        *corner_labels(plan.site, frame),
        *(_piece_label(group, frame, ground[group[0].bed]) for group in _stacked(pieces)),
        *(
            ground_label(
                f"bed {bed.spec.name}", (clean(bed.spec.name),), frame.shape(planted), BED_FILL
            )
            for bed, planted in _planted(plan)
        ),
    ]
    features = [Feature(fence_band(plan.site, frame), 6.0)]
    features += [Feature(frame.shape(piece.outline).buffer(0.4), 6.0) for piece in pieces]
    features += [
        Feature(shape.buffer(0.3), 6.0)
        for mark in (*_stakes(plan, frame), *_splices(plan, frame))
        for shape in _inked(mark)
    ]
    placed = place(labels, features, setting.field)
    return placed, len(labels) - len(placed)


def _inked(mark: Mark) -> tuple[BaseGeometry, ...]:
    """Return the shapes of stakes and the strokes of splices."""
    if isinstance(mark, Shapes):
        return mark.polygons
    return tuple(LineString(line) for line in mark.lines) if isinstance(mark, Strokes) else ()


def _planted(plan: Plan) -> Iterator[tuple[PlacedBed, BaseGeometry]]:
    for bed, edging in zip(plan.site.beds, plan.edging, strict=True):
        yield bed, bed.outline if edging.planting.is_empty else edging.planting


def _stacked(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Return pieces that stand on one another together, the lowest first."""
    groups: dict[tuple[str, int, int, int], list[Piece]] = defaultdict(list)
    for piece in sorted(pieces, key=lambda piece: piece.tier):
        middle = piece.outline.centroid
        where = (round(middle.x / STACKED_M), round(middle.y / STACKED_M))
        groups[(piece.bed, piece.run, *where)].append(piece)
    return list(groups.values())


def _piece_label(group: Sequence[Piece], frame: Frame, bed: Polygon) -> Label:
    """Return the labels of pieces in one place: inside their bed, outside it, or led to it."""
    lines: tuple[Line, ...] = tuple((clean(piece.label), PIECE) for piece in group)
    start, end = _axis(group[0], frame)
    spots = tuple(_beside(lines, start, end, bed))
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return Label(
        f"piece {group[0].label}",
        spots,
        1,
        more=lambda: tuple(
            led(lines, middle, reach, angle) for reach in _REACHES for angle in range(0, 360, 15)
        ),
    )


def _axis(piece: Piece, frame: Frame) -> tuple[Point, Point]:
    """Return the middle line of a piece on the sheet; of a bent one, a short line on it."""
    outline = frame.shape(piece.outline)
    if outline.area > BENT_SHARE * outline.minimum_rotated_rectangle.area:
        a, b, c, d = list(outline.minimum_rotated_rectangle.exterior.coords)[:4]
        if math.dist(a, b) < math.dist(b, c):
            a, b, c, d = b, c, d, a
        return ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2), ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2)
    ring = outline.exterior
    at, on = ring.interpolate(0.2, normalized=True), ring.interpolate(0.201, normalized=True)
    return (at.x, at.y), (on.x, on.y)


def _beside(
    lines: tuple[Line, ...], start: Point, end: Point, bed: Polygon
) -> Iterator[Candidate]:
    """Yield places along both faces of a board: words along it, then level; best in its bed."""
    toward = direction_deg(start, end)
    x, y = unit_vector(toward + 90.0)
    wide, tall = block_size_mm(lines)
    for angle, turned in ((upright(toward), 0.0), (0.0, 1.5)):
        lean = math.radians(angle - toward)
        reach = (abs(wide * math.sin(lean)) + abs(tall * math.cos(lean))) / 2 + BARE_MM
        for share in _SHARES:
            at = (
                start[0] + share * (end[0] - start[0]),
                start[1] + share * (end[1] - start[1]),
            )
            for way in (1.0, -1.0):
                center = (at[0] + way * reach * x, at[1] + way * reach * y)
                outside = 0.0 if bed.contains(ShapelyPoint(center)) else 2.5
                yield Candidate(lines, center, angle, turned + outside + 4.0 * abs(share - 0.5))


def _panel(plan: Plan, setting: Setting, left_off: int) -> list[Mark]:
    left, bottom, _, top = setting.panel.bounds
    upper = Column(left + PAD_MM, top - PAD_MM)
    upper.line("LEGEND", HEADING)
    upper.gap(0.8)
    for words, swatch in _legend(plan):
        legend_row(upper, words, swatch)
    upper.rule()
    scale_bars(upper, plan.layout.show, setting.frame.mm_per_m)
    upper.gap(3.0)
    check_square(upper, plan.layout.show, setting.page.enlarged, _NOTE)
    tall = -_title(plan, setting, left_off, left, 0.0).y
    lowest = _title(plan, setting, left_off, left, bottom + PAD_MM + tall)
    lowest.marks.append(across(left + PAD_MM, bottom + tall + 2 * PAD_MM))
    return [*upper.marks, *lowest.marks]


def _title(plan: Plan, setting: Setting, left_off: int, left: float, top: float) -> Column:
    column = Column(left + PAD_MM, top)
    title_rows(column, plan.layout.title, "Edging plan")
    sheet_rows(column, setting.scale, setting.page)
    if left_off:
        column.pair("Labels without room on this sheet", str(left_off))
    return column


def _legend(plan: Plan) -> Iterator[tuple[str, Callable[[Polygon], list[Mark]]]]:
    for name, fill in board_fills(plan).items():
        yield f"{clean(name)}, with the label of the piece", partial(_board_swatch, fill=fill)
    if any(edging.splices for edging in plan.edging):
        yield "splice", partial(_board_swatch, fill=BOARD_FILLS[0], spliced=True)
    if any(edging.blocks for edging in plan.edging):
        yield "backing block: 2.3a block is behind the splice where 2.3a ends", _block_swatch
    if any(edging.stakes for edging in plan.edging):
        yield "stake", _stake_swatch


def _board_swatch(at: Polygon, fill: str, spliced: bool = False) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level, middle = (bottom + top) / 2, (left + right) / 2
    marks: list[Mark] = [Shapes("panel", (box(left, level - 0.4, right, level + 0.4),), fill)]
    stroke = ((middle, level - SPLICE_MM), (middle, level + SPLICE_MM))
    return [*marks, Strokes("panel", (stroke,), TICK)] if spliced else marks


def _block_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level = (bottom + top) / 2
    return [
        Shapes(
            "panel", (box(left + 2.0, level - 0.4, right - 2.0, level + 0.4),), WHITE, PATH_EDGE
        )
    ]


def _stake_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    return [Shapes("panel", (rectangle(middle, STAKE_MM, STAKE_MM),), WHITE, PATH_EDGE)]
