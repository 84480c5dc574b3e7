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

from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.edging import Piece
from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.site import PlacedBed
from bedplan.outputs.label import Candidate, Feature, Label
from bedplan.outputs.panel_sheet import Words, panel_sheet, set_sheet
from bedplan.outputs.scene import Mark, Point, Scene, Shapes, Strokes
from bedplan.outputs.scene_callouts import corner_labels
from bedplan.outputs.scene_dimensions import led
from bedplan.outputs.scene_fence import fence_band, fence_marks
from bedplan.outputs.scene_ground import board_fills, board_marks
from bedplan.outputs.scene_lettering import Line, block_size_mm, clean, upright
from bedplan.outputs.scene_names import ground_label
from bedplan.outputs.scene_palette import (
    BED_EDGE,
    BED_FILL,
    BOARD_FILLS,
    PATH_EDGE,
    SPARE_FILL,
    TICK,
    WHITE,
    Style,
)
from bedplan.outputs.scene_pipes import stake_marks, stake_swatch
from bedplan.outputs.scene_texture import painted
from bedplan.outputs.sheet import Frame, Sheet

if TYPE_CHECKING:
    from bedplan.plan import Plan

PIECE: Final = Style(7.0, bold=True)

SPLICE_MM: Final = 1.5
"""Half the length of the stroke across a board that marks a splice [mm]."""

STAKES: Final = ("posts", 1.1)
"""Stakes are drawn over the boards and no smaller than this [mm]."""

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
    setting = set_sheet(plan.site, plan.layout.show, sheet)
    words = Words(plan.layout.title, "Edging plan", plan.layout.show, list(_legend(plan)), _NOTE)
    frame = setting.frame
    return panel_sheet(
        setting, words, _ground(plan, frame), _labels(plan, frame), _covered(plan, frame)
    )


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
    marks += stake_marks(plan, frame, *STAKES)
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


def _labels(plan: Plan, frame: Frame) -> list[Label]:
    """Return every piece's label, every bed's name and the corners' letters."""
    pieces = [piece for edging in plan.edging for piece in edging.pieces]
    ground = {bed.spec.name: frame.shape(bed.outline) for bed in plan.site.beds}
    return [
        *corner_labels(plan.site, frame),
        *(_piece_label(group, frame, ground[group[0].bed]) for group in _stacked(pieces)),
        *(
            ground_label(
                f"bed {bed.spec.name}", (clean(bed.spec.name),), frame.shape(planted), BED_FILL
            )
            for bed, planted in _planted(plan)
        ),
    ]


def _covered(plan: Plan, frame: Frame) -> list[Feature]:
    """Return what labels had better not cover: fence, boards, stakes and splices."""
    boards = [frame.shape(each.outline) for edging in plan.edging for each in edging.pieces]
    inked = (
        shape
        for mark in (*stake_marks(plan, frame, *STAKES), *_splices(plan, frame))
        for shape in _inked(mark)
    )
    return [
        Feature(fence_band(plan.site, frame), 6.0),
        *(Feature(board.buffer(0.4), 6.0) for board in boards),
        *(Feature(shape.buffer(0.3), 6.0) for shape in inked),
    ]


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


def _legend(plan: Plan) -> Iterator[tuple[str, Callable[[Polygon], list[Mark]]]]:
    for name, fill in board_fills(plan).items():
        yield f"{clean(name)}, with the label of the piece", partial(_board_swatch, fill=fill)
    if any(edging.splices for edging in plan.edging):
        yield "splice", partial(_board_swatch, fill=BOARD_FILLS[0], spliced=True)
    if any(edging.blocks for edging in plan.edging):
        yield "backing block: 2.3a block is behind the splice where 2.3a ends", _block_swatch
    if any(edging.stakes for edging in plan.edging):
        yield "stake", stake_swatch


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
