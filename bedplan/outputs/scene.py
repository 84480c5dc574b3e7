"""A drawing as a list of marks on paper, apart from the way it is drawn (layer: outputs).

Terms. A *mark* is one kind of ink: filled shapes, strokes, dots or a line of text. Every
coordinate is millimetres on the sheet, x from its left edge and y from its bottom edge, so
what a mark measures here it measures on paper. A *layer* says what a mark stands for and when
it is painted; a *scene* is one sheet full of marks.

No drawing library is imported here. `bedplan.outputs.site_plan.site_plan` makes a scene of a
plan; `bedplan.outputs.draw_mpl.render` turns a scene into a file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

import shapely
from shapely.geometry import Polygon

Point = tuple[float, float]
Anchor = Literal["left", "middle", "right"]

LAYERS: Final = (
    "paper",
    "spare",
    "path",
    "path texture",
    "units",
    "bed",
    "bed texture",
    "plate",
    "boards",
    "bed edge",
    "pipes",
    "fence",
    "posts",
    "gates",
    "plants",
    "heights",
    "dimensions",
    "leaders",
    "lettering",
    "panel",
    "panel lettering",
    "border",
)
"""Layers in the order they are painted, lowest first."""

POINT_MM: Final = 25.4 / 72.0
"""One point of type or line weight [mm]."""


@dataclass(frozen=True)
class Pen:
    """A line: width [mm], colour as ``#rrggbb``, and dash and gap lengths [mm], if any."""

    width_mm: float
    colour: str
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Shapes:
    """Shapes of one kind, all painted alike.

    Parameters
    ----------
    polygons
        Outlines, holes allowed [mm].
    fill
        Colour inside; None leaves what is below in sight.
    pen
        The line round each; None for no line.
    opacity
        Of the fill, 0 to 1.
    """

    layer: str
    polygons: tuple[Polygon, ...]
    fill: str | None = None
    pen: Pen | None = None
    opacity: float = 1.0


@dataclass(frozen=True)
class Strokes:
    """Open lines of one kind, each through two or more points [mm]."""

    layer: str
    lines: tuple[tuple[Point, ...], ...]
    pen: Pen


@dataclass(frozen=True)
class Dots:
    """Round dots of one kind [mm]."""

    layer: str
    points: tuple[Point, ...]
    radius_mm: float
    colour: str


@dataclass(frozen=True)
class Text:
    """One line of text.

    Parameters
    ----------
    at
        Where its anchor stands on the baseline [mm].
    size_pt
        Type size [pt].
    anchor
        Which end of the line stands at `at`.
    angle_deg
        Turn about `at`, counter-clockwise [deg].
    """

    layer: str
    text: str
    at: Point
    size_pt: float
    anchor: Anchor = "left"
    angle_deg: float = 0.0
    bold: bool = False
    colour: str = "#1b1f23"


Mark = Shapes | Strokes | Dots | Text


@dataclass(frozen=True)
class Placed:
    """A label that found its place: whose it is, all it says, and the ground it covers [mm]."""

    subject: str
    words: str
    box: Polygon
    leader: tuple[Point, ...] = ()

    def enlarged(self, factor: float) -> Placed:
        """Return the same with every coordinate times a factor."""
        return Placed(
            self.subject,
            self.words,
            enlarged_shape(self.box, factor),
            _spread(self.leader, factor),
        )


def enlarged(mark: Mark, factor: float) -> Mark:
    """Return a mark with every coordinate, width and type size times a factor."""
    match mark:
        case Shapes():
            pen = mark.pen and _wider(mark.pen, factor)
            shapes = tuple(enlarged_shape(polygon, factor) for polygon in mark.polygons)
            return replace(mark, polygons=shapes, pen=pen)
        case Strokes():
            lines = tuple(_spread(line, factor) for line in mark.lines)
            return replace(mark, lines=lines, pen=_wider(mark.pen, factor))
        case Dots():
            return replace(
                mark, points=_spread(mark.points, factor), radius_mm=mark.radius_mm * factor
            )
        case Text():
            (at,) = _spread((mark.at,), factor)
            return replace(mark, at=at, size_pt=mark.size_pt * factor)


def enlarged_shape(polygon: Polygon, factor: float) -> Polygon:
    """Return a polygon with every coordinate times a factor."""
    larger: Polygon = shapely.transform(polygon, lambda xy: xy * factor)
    return larger


def _spread(points: tuple[Point, ...], factor: float) -> tuple[Point, ...]:
    return tuple((x * factor, y * factor) for x, y in points)


def _wider(pen: Pen, factor: float) -> Pen:
    return Pen(pen.width_mm * factor, pen.colour, tuple(mm * factor for mm in pen.dash_mm))


@dataclass(frozen=True)
class Scene:
    """One sheet, ready to draw.

    Parameters
    ----------
    title
        Title of the layout.
    width_mm, height_mm
        Size of the sheet [mm].
    denominator
        So many millimetres of ground to one of paper.
    scale
        The same as builders say it, such as ``1/4" = 1'-0"``.
    marks
        All the ink, in no order; `painted` gives the order.
    labels
        Every label placed on the drawing.
    """

    title: str
    width_mm: float
    height_mm: float
    denominator: float
    scale: str
    marks: tuple[Mark, ...]
    labels: tuple[Placed, ...] = ()

    def painted(self) -> Iterator[Mark]:
        """Return the marks from the lowest layer to the highest."""
        return iter(sorted(self.marks, key=lambda mark: LAYERS.index(mark.layer)))

    def on(self, layer: str) -> tuple[Mark, ...]:
        """Return the marks of one layer."""
        return tuple(mark for mark in self.marks if mark.layer == layer)

    def texts(self) -> tuple[Text, ...]:
        """Return every line of text on the sheet."""
        return tuple(mark for mark in self.marks if isinstance(mark, Text))
