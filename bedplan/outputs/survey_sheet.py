"""The survey sheet: every tie with its residual, every mark with its error (layer: outputs).

Residuals and error ellipses are far too small to be seen to scale, so both are drawn longer by a
factor that the legend states. Public entry point: `survey_sheet`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final

import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as ShapelyPoint

from bedplan.geometry.lines import through
from bedplan.model.layout import Layout
from bedplan.model.site import Site
from bedplan.outputs.label import Feature, Label
from bedplan.outputs.panel_sheet import Words, panel_sheet, set_sheet
from bedplan.outputs.scene import Dots, Mark, Pen, Point, Scene, Shapes, Strokes
from bedplan.outputs.scene_callouts import corner_labels
from bedplan.outputs.scene_fence import fence_band, fence_marks
from bedplan.outputs.scene_lettering import Line, clean, rectangle
from bedplan.outputs.scene_palette import INK, NAME, PATH_FILL, SLATE, SPARE_FILL, WHITE, Style
from bedplan.outputs.scene_tape import along_line, beside_point, nice
from bedplan.outputs.sheet import Frame
from bedplan.outputs.tables_survey import signed, survey_words
from bedplan.survey import Mark as PlacedMark
from bedplan.survey import Survey, TieCheck

TIE: Final = Pen(0.15, SLATE)
SUSPECT: Final = Pen(0.55, INK, (3.0, 1.2))
BAR: Final = Pen(0.20, INK)
ELLIPSE: Final = Pen(0.20, INK)
WORDS: Final = Style(6.5)
WRONG: Final = Style(7.0, bold=True)

BAR_MM: Final = 16.0
"""The longest residual is drawn no longer than this [mm]."""

BAR_WIDE_MM: Final = 1.3
ELLIPSE_MM: Final = 6.0
"""The longest half axis is drawn no longer than this [mm]."""

HELD_MM: Final = 2.8
"""Side of the square at a mark that is held [mm]."""

ASIDE_MM: Final = 1.7
"""Bars of sides stand this far inside the fence line [mm]."""

_SHARES: Final = (0.5, 0.42, 0.58, 0.35, 0.65, 0.28, 0.72, 0.2, 0.8)
_NOTE: Final = "The fence and the ties are to this scale; bars and ellipses are not."


@dataclass(frozen=True)
class _Picture:
    """A survey on its sheet, with the factors that residuals and ellipses are drawn by."""

    survey: Survey
    site: Site
    frame: Frame
    bar_factor: float
    ellipse_factor: float

    def at(self, name: str) -> Point:
        """Return where a mark falls on the sheet [mm]."""
        return self.frame.point(self.survey.places[name])

    def line(self, check: TieCheck) -> tuple[Point, Point]:
        """Return a tie on the sheet; one along a side, a little inside the fence line."""
        first, second = check.tie.first, check.tie.second
        start, end = self.at(first), self.at(second)
        side = self.site.enclosure.side(first + second)
        if side is None or {side.first, side.second} != {first, second}:
            return start, end
        inner = through(start, end).shifted(side.inward * ASIDE_MM)
        return inner.point(0.0), inner.point(math.dist(start, end))

    def wrong(self, check: TieCheck) -> bool:
        """Tell whether a tie is the suspect, or one of several that may be wrong."""
        suspect = self.survey.suspect
        return suspect is not None and check.tie in (suspect.tie, *suspect.alike)


def survey_sheet(layout: Layout, site: Site, survey: Survey, sheet: str = "letter") -> Scene:
    """Return the sheet that shows how well the ties of a fence agree.

    Parameters
    ----------
    layout, site, survey
        What is drawn.
    sheet
        ``letter``, ``tabloid``, ``a4`` or ``a3``.

    Raises
    ------
    OutputError
        If there is no such sheet, or the ground does not fit on it.
    """
    setting = set_sheet(site, layout.show, sheet, list(survey.places.values()))
    picture = _picture(survey, site, setting.frame)
    ring = layout.enclosure.ties
    words = Words(
        layout.title,
        "Survey",
        layout.show,
        list(_legend(picture)),
        _NOTE,
        ("THE TIES", list(survey_words(ring, survey, layout.show)) if ring else []),
    )
    return panel_sheet(
        setting,
        words,
        _ground(picture),
        list(_labels(picture, layout)),
        list(_covered(picture)),
    )


def _picture(survey: Survey, site: Site, frame: Frame) -> _Picture:
    """Return the survey with factors that let its largest bar and ellipse fill their room."""
    residual = max((abs(check.residual_m) for check in survey.ties), default=0.0)
    error = max((mark.error.semi_major_m for mark in survey.marks if mark.error), default=0.0)
    return _Picture(
        survey,
        site,
        frame,
        nice(BAR_MM / (residual * frame.mm_per_m)) if residual > 1e-9 else 1.0,
        nice(ELLIPSE_MM / (error * frame.mm_per_m)) if error > 1e-9 else 1.0,
    )


def _ground(picture: _Picture) -> list[Mark]:
    frame, site, checks = picture.frame, picture.site, picture.survey.ties
    plain = tuple(picture.line(check) for check in checks if not picture.wrong(check))
    wrong = tuple(picture.line(check) for check in checks if picture.wrong(check))
    marks: list[Mark] = [
        Shapes("spare", (frame.shape(site.enclosure.polygon),), SPARE_FILL),
        *fence_marks(site, frame),
        Strokes("gates", plain, TIE),
    ]
    if wrong:
        marks.append(Strokes("gates", wrong, SUSPECT))
    ellipses = tuple(shape for _, shape in _ellipses(picture))
    held = tuple(
        rectangle(frame.point(mark.at), HELD_MM, HELD_MM)
        for mark in picture.survey.marks
        if mark.error is None
    )
    spots = tuple(frame.point(mark.at) for mark in picture.survey.marks)
    return [
        *marks,
        Shapes("plants", ellipses, PATH_FILL, ELLIPSE),
        *_bars(picture),
        Shapes("dimensions", held, WHITE, BAR),
        Dots("dimensions", spots, 0.55, INK),
    ]


def _ellipses(picture: _Picture) -> Iterator[tuple[PlacedMark, Polygon]]:
    """Yield the error ellipse of every mark that has one, drawn larger."""
    for mark in picture.survey.marks:
        if mark.error is None:
            continue
        per_m = picture.frame.mm_per_m * picture.ellipse_factor
        circle = ShapelyPoint(0.0, 0.0).buffer(1.0, quad_segs=16)
        # an ellipse with no width still shows as a stroke
        shape = shapely.affinity.scale(
            circle,
            max(mark.error.semi_major_m * per_m, 0.1),
            max(mark.error.semi_minor_m * per_m, 0.1),
            origin=(0.0, 0.0),
        )
        turned = shapely.affinity.rotate(shape, mark.error.direction_deg, origin=(0.0, 0.0))
        yield mark, shapely.affinity.translate(turned, *picture.frame.point(mark.at))


def _bars(picture: _Picture) -> list[Mark]:
    bars = list(_bar_shapes(picture))
    long = tuple(shape for check, shape in bars if check.residual_m > 0.0)
    short = tuple(shape for check, shape in bars if check.residual_m <= 0.0)
    return [
        Shapes("dimensions", shapes, fill, BAR)
        for shapes, fill in ((long, INK), (short, WHITE))
        if shapes
    ]


def _bar_shapes(picture: _Picture) -> list[tuple[TieCheck, Polygon]]:
    """Return a bar on every tie, as long as its residual by the factor.

    Each stands near the middle of its tie, where it covers no other bar and as few other ties
    as may be.
    """
    lines = [LineString(picture.line(check)) for check in picture.survey.ties]
    placed: list[tuple[TieCheck, Polygon]] = []
    for number, check in enumerate(picture.survey.ties):
        others = [line for i, line in enumerate(lines) if i != number]
        bars = [bar for _, bar in placed]

        def cost(
            bar: Polygon, bars: list[Polygon] = bars, others: list[LineString] = others
        ) -> int:
            near = bar.buffer(0.6)
            return sum(10 for each in bars if near.intersects(each)) + sum(
                1 for each in others if near.intersects(each)
            )

        placed.append((check, min((_bar(picture, check, share) for share in _SHARES), key=cost)))
    return placed


def _bar(picture: _Picture, check: TieCheck, share: float) -> Polygon:
    start, end = picture.line(check)
    tall = abs(check.residual_m) * picture.frame.mm_per_m * picture.bar_factor
    half = min(max(tall, 0.25), 0.9 * math.dist(start, end)) / 2
    line, at = through(start, end), share * math.dist(start, end)
    return LineString([line.point(at - half), line.point(at + half)]).buffer(
        BAR_WIDE_MM / 2, cap_style="flat"
    )


def _labels(picture: _Picture, layout: Layout) -> Iterator[Label]:
    yield from corner_labels(picture.site, picture.frame)
    corners = {name for name, _ in picture.site.enclosure.corners}
    radii = {mark.name: _radius(shape) for mark, shape in _ellipses(picture)}
    for mark in picture.survey.marks:
        if mark.name not in corners:
            lines: tuple[Line, ...] = ((clean(mark.name), NAME),)
            at = picture.frame.point(mark.at)
            yield beside_point(f"mark {mark.name}", lines, at, radii.get(mark.name, 1.0), 2)
    suspect = picture.survey.suspect
    doubt = "SUSPECT" if suspect is None or suspect.certain else "SUSPECT?"
    for number, check in enumerate(picture.survey.ties):
        wrong = picture.wrong(check)
        said = f"{clean(check.tie.name)} {signed(check.residual_m, layout.show)}"
        words: Line = (f"{said} {doubt}", WRONG) if wrong else (said, WORDS)
        yield along_line(
            f"tie {number} {check.tie.name}", (words,), picture.line(check), 3, BAR_WIDE_MM / 2
        )


def _radius(shape: Polygon) -> float:
    left, bottom, right, top = shape.bounds
    return float(max(right - left, top - bottom) / 2)


def _covered(picture: _Picture) -> Iterator[Feature]:
    yield Feature(fence_band(picture.site, picture.frame), 6.0)
    for check in picture.survey.ties:
        yield Feature(LineString(picture.line(check)).buffer(0.35), 8.0)
    for _, shape in _bar_shapes(picture):
        yield Feature(shape.buffer(0.3), 10.0)
    for _, shape in _ellipses(picture):
        yield Feature(shape.buffer(0.2), 5.0)


def _legend(picture: _Picture) -> Iterator[tuple[str, Callable[[Polygon], list[Mark]]]]:
    times = f"{picture.bar_factor:g} times"
    yield "tie, with its residual: taped less computed", partial(_line_swatch, pen=TIE)
    yield f"residual, {times} too large: taped too long", partial(_bar_swatch, fill=INK)
    yield f"residual, {times} too large: taped too short", partial(_bar_swatch, fill=WHITE)
    suspect = picture.survey.suspect
    if suspect is not None:
        said = "the tie that looks wrong" if suspect.certain else "one of these ties is wrong"
        yield said, partial(_line_swatch, pen=SUSPECT)
    yield (
        f"standard error of a mark, {picture.ellipse_factor:g} times too large",
        _ellipse_swatch,
    )
    yield "mark the survey holds still", _held_swatch


def _line_swatch(at: Polygon, pen: Pen) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level = (bottom + top) / 2
    return [Strokes("panel", (((left, level), (right, level)),), pen)]


def _bar_swatch(at: Polygon, fill: str) -> list[Mark]:
    left, bottom, right, top = at.bounds
    level = (bottom + top) / 2
    bar = box(left + 2.5, level - BAR_WIDE_MM / 2, right - 2.5, level + BAR_WIDE_MM / 2)
    return [*_line_swatch(at, TIE), Shapes("panel", (bar,), fill, BAR)]


def _ellipse_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    circle = ShapelyPoint(middle).buffer(1.0, quad_segs=16)
    shape = shapely.affinity.scale(circle, 3.2, 1.7)
    return [Shapes("panel", (shape,), PATH_FILL, ELLIPSE), Dots("panel", (middle,), 0.55, INK)]


def _held_swatch(at: Polygon) -> list[Mark]:
    left, bottom, right, top = at.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    square = rectangle(middle, HELD_MM, HELD_MM)
    return [Shapes("panel", (square,), WHITE, BAR), Dots("panel", (middle,), 0.55, INK)]
