"""Sheets, scales, and the way from the ground to the paper (layer: outputs).

Terms. The *panel* holds title, legend and scale bars; the *field* is what is left for the
drawing. A *frame* maps metres on the ground to millimetres on the sheet. `choose` is the
entry point: the largest standard scale at which the ground and its dimensions fit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final, TypeVar

import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from bedplan.errors import OutputError
from bedplan.model.layout import System
from bedplan.outputs.scene import Mark, Placed, Point, Scene, enlarged

Shape = TypeVar("Shape", bound=BaseGeometry)

SIZES_MM: Final = {
    "letter": (215.9, 279.4),
    "tabloid": (279.4, 431.8),
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
}
"""Short and long edge [mm]: ANSI/ASME Y14.1 A and B, ISO 216 A4 and A3 (from memory)."""

ENLARGED: Final = {"letter": 1.0, "a4": 1.0, "tabloid": 1.2, "a3": 1.2}
"""Large sheets hang on a wall and are read from further off: type, pens, textures and panel are
laid out on a page smaller by this factor, and the finished scene is enlarged by it."""

MARGIN_MM: Final = 8.0
"""From the edge of the sheet to the border line: desk printers leave up to 6 mm bare [mm]."""

PAD_MM: Final = 3.0
"""Inside the border line, and between columns of the panel [mm]."""

COLUMN_MM: Final = 60.0
"""Width of one column of the panel [mm]."""

_INCH_SCALES: Final = (
    ("3", 4),
    ("1-1/2", 8),
    ("1", 12),
    ("3/4", 16),
    ("1/2", 24),
    ("3/8", 32),
    ("1/4", 48),
    ("3/16", 64),
    ("1/8", 96),
    ("3/32", 128),
    ("1/16", 192),
)
_FEET_PER_INCH: Final = (20, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400, 500, 1000)
_METRIC: Final = (5, 10, 20, 25, 50, 75, 100, 125, 200, 250, 500, 1000, 2000, 2500, 5000, 10000)


@dataclass(frozen=True)
class Scale:
    """So many units of ground to one of paper, and how it is said."""

    denominator: float
    words: str


NO_SCALE: Final = Scale(1.0, "")
"""Of a page with words or a chart on it, and no ground."""


def scales(show: System) -> tuple[Scale, ...]:
    """Return the scales of an architect's and engineer's rule, or of a metric one, largest first.

    Examples
    --------
    >>> [scale.words for scale in scales("metric")][:3]
    ['1:5', '1:10', '1:20']
    """
    if show == "metric":
        return tuple(Scale(float(n), f"1:{n}") for n in _METRIC)
    rule = tuple(Scale(float(n), f'{inches}" = 1\'-0"') for inches, n in _INCH_SCALES)
    return rule + tuple(Scale(12.0 * feet, f"1\" = {feet}'") for feet in _FEET_PER_INCH)


@dataclass(frozen=True)
class Frame:
    """The way from metres on the ground to millimetres on the sheet."""

    mm_per_m: float
    x_mm: float = 0.0
    y_mm: float = 0.0

    def point(self, ground: Point) -> Point:
        """Return where a point of the ground falls on the sheet [mm]."""
        return (self.x_mm + ground[0] * self.mm_per_m, self.y_mm + ground[1] * self.mm_per_m)

    def shape(self, ground: Shape) -> Shape:
        """Return a shape of the ground as it falls on the sheet [mm]."""
        moved: Shape = shapely.transform(
            ground, lambda xy: xy * self.mm_per_m + (self.x_mm, self.y_mm)
        )
        return moved


@dataclass(frozen=True)
class Page:
    """A sheet turned one way, with its border, before it is enlarged [mm]."""

    name: str
    width_mm: float
    height_mm: float
    enlarged: float = 1.0

    @property
    def landscape(self) -> bool:
        """Whether the long edge lies level."""
        return self.width_mm > self.height_mm

    @property
    def border(self) -> Polygon:
        """The rectangle inside the margins."""
        return box(MARGIN_MM, MARGIN_MM, self.width_mm - MARGIN_MM, self.height_mm - MARGIN_MM)

    @property
    def columns(self) -> int:
        """How many columns the panel has: one beside the drawing, or several below it."""
        inside = self.width_mm - 2 * MARGIN_MM - PAD_MM
        return 1 if self.landscape else int(inside // (COLUMN_MM + PAD_MM))

    def panel(self, height_mm: float) -> Polygon:
        """Return the panel: the right of a landscape sheet, the foot of an upright one."""
        left, bottom, right, top = self.border.bounds
        if self.landscape:
            return box(right - COLUMN_MM - 2 * PAD_MM, bottom, right, top)
        return box(left, bottom, right, bottom + height_mm + 2 * PAD_MM)

    def printed(
        self, title: str, marks: Iterable[Mark], labels: Iterable[Placed], scale: Scale = NO_SCALE
    ) -> Scene:
        """Return the scene of what is laid out on the page, at the size it is printed."""
        return Scene(
            title,
            self.width_mm * self.enlarged,
            self.height_mm * self.enlarged,
            scale.denominator,
            scale.words,
            tuple(enlarged(mark, self.enlarged) for mark in marks),
            tuple(label.enlarged(self.enlarged) for label in labels),
        )

    def field(self, panel: Polygon) -> Polygon:
        """Return the room for the drawing."""
        left, bottom, right, top = self.border.bounds
        if self.landscape:
            return box(left, bottom, panel.bounds[0], top)
        return box(left, panel.bounds[3], right, top)


@dataclass(frozen=True)
class Sheet:
    """A paper size; turned the way that gives the larger drawing unless the way is said.

    Raises
    ------
    OutputError
        If there is no such size.
    """

    name: str = "letter"
    landscape: bool | None = None

    def __post_init__(self) -> None:
        if self.name not in SIZES_MM:
            message = f"there is no sheet {self.name!r}; take one of {', '.join(SIZES_MM)}"
            raise OutputError(message)

    def pages(self) -> Iterator[Page]:
        """Return the ways the sheet may be turned, landscape first."""
        factor = ENLARGED[self.name]
        short, long = (edge / factor for edge in SIZES_MM[self.name])
        if self.landscape is not False:
            yield Page(self.name, long, short, factor)
        if not self.landscape:
            yield Page(self.name, short, long, factor)


@dataclass(frozen=True)
class Setting:
    """A page, its panel and field, the scale taken, and the frame that centres the drawing.

    The scale is the finished sheet's; all else is before the page is enlarged.
    """

    page: Page
    panel: Polygon
    field: Polygon
    scale: Scale
    frame: Frame


def choose(
    sheet: Sheet,
    show: System,
    panel_height: Callable[[Page], float],
    extent: Callable[[float], Polygon],
) -> Setting:
    """Return the setting with the largest standard scale; of equals, the landscape one.

    Parameters
    ----------
    sheet
        The paper.
    show
        Which series of scales.
    panel_height
        Height the panel needs on a page [mm].
    extent
        The box of all that must fit, dimensions included, in millimetres from the ground's
        origin, for so many millimetres of paper to a metre of ground.

    Raises
    ------
    OutputError
        If the ground does not fit at the smallest scale.
    """
    settings = [
        fitting
        for page in sheet.pages()
        if (fitting := _fit(page, show, panel_height(page), extent)) is not None
    ]
    if not settings:
        message = f"the ground is too large for sheet {sheet.name} at any standard scale"
        raise OutputError(message)
    return min(settings, key=lambda setting: setting.scale.denominator)


def _fit(
    page: Page, show: System, panel_mm: float, extent: Callable[[float], Polygon]
) -> Setting | None:
    panel = page.panel(panel_mm)
    field = page.field(panel).buffer(-PAD_MM, join_style="mitre")
    left, bottom, right, top = field.bounds
    for scale in scales(show):
        per_m = 1000.0 / (scale.denominator * page.enlarged)
        west, south, east, north = extent(per_m).bounds
        if east - west <= right - left and north - south <= top - bottom:
            frame = Frame(
                per_m, (left + right - west - east) / 2, (bottom + top - south - north) / 2
            )
            return Setting(page, panel, field, scale, frame)
    return None
