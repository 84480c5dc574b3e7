"""Textures that tell materials apart without colour (layer: outputs).

Every texture is made of small marks on a jittered grid fixed to the sheet, drawn only where
they fall wholly inside the ground they stand for. The jitter comes from the additive
recurrence of the plastic number, so that two runs give the same marks.

References
----------
H. Weyl, "Über die Gleichverteilung von Zahlen mod. Eins", 1916, for additive recurrences; the
pair of multipliers (1/g, 1/g² with g³ = g + 1) from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import parts
from bedplan.outputs.scene import Dots, Mark, Pen, Point, Shapes, Strokes

Grid = NDArray[np.float64]

_G: Final = 1.324717957244746
_BARE_MM: Final = 0.35
"""Marks keep this far from the edge of their ground [mm]."""


def _jittered(ground: BaseGeometry, pitch: float) -> tuple[Grid, Grid]:
    """Return ``(n, 2)`` places on the jittered grid over a shape, and two random parts of each."""
    left, bottom, right, top = ground.bounds
    columns = np.arange(math.floor(left / pitch), math.ceil(right / pitch) + 1)
    rows = np.arange(math.floor(bottom / pitch), math.ceil(top / pitch) + 1)
    cell = np.array([(x, y) for x in columns for y in rows], dtype=float)
    index = cell[:, 0] * 7919.0 + cell[:, 1] * 104729.0
    turns = np.column_stack([(index / _G**power) % 1.0 for power in (1, 2, 3, 4)])
    return (cell + 0.75 * turns[:, :2]) * pitch, turns[:, 2:]


def _strokes(places: Grid, turns: Grid, length: float) -> Grid:
    angle = turns[:, 0] * np.pi
    half = (
        length
        * (0.35 + 0.25 * turns[:, 1])[:, None]
        * np.column_stack([np.cos(angle), np.sin(angle)])
    )
    return np.stack([places - half, places + half], axis=1)


def _stones(places: Grid, turns: Grid, size: float) -> Grid:
    corners = np.array([0.0, 0.31, 0.68]) * 2 * np.pi
    angle = turns[:, :1] * 2 * np.pi + corners
    reach = size * (0.38 + 0.24 * turns[:, 1:])
    ring = places[:, None, :] + reach[:, :, None] * np.stack(
        [np.cos(angle), np.sin(angle)], axis=2
    )
    return np.concatenate([ring, ring[:, :1]], axis=1)


def _inside(ground: BaseGeometry, lines: Grid) -> tuple[tuple[Point, ...], ...]:
    bare = ground.buffer(-_BARE_MM)
    shapely.prepare(bare)
    kept = lines[shapely.covers(bare, shapely.linestrings(lines))] if len(lines) else lines
    return tuple(tuple((float(x), float(y)) for x, y in line) for line in kept)


def flecks(layer: str, ground: BaseGeometry, colour: str) -> list[Mark]:
    """Return short strokes every way: bark and other mulch."""
    places, turns = _jittered(ground, 2.3)
    return [Strokes(layer, _inside(ground, _strokes(places, turns, 1.5)), Pen(0.2, colour))]


def stones(layer: str, ground: BaseGeometry, colour: str) -> list[Mark]:
    """Return small three-cornered stones: crushed rock and gravel."""
    places, turns = _jittered(ground, 2.5)
    return [Strokes(layer, _inside(ground, _stones(places, turns, 1.0)), Pen(0.15, colour))]


def stipple(layer: str, ground: BaseGeometry, colour: str, pitch: float = 2.0) -> list[Mark]:
    """Return fine dots: bare soil, sand."""
    places, _ = _jittered(ground, pitch)
    bare = ground.buffer(-_BARE_MM)
    shapely.prepare(bare)
    kept = places[shapely.contains_xy(bare, places)]
    return [Dots(layer, tuple((float(x), float(y)) for x, y in kept), 0.16, colour)]


def hatch(
    layer: str, ground: BaseGeometry, pen: Pen, pitch: float, angle_deg: float = 45.0
) -> list[Mark]:
    """Return parallel lines cut to a shape.

    Parameters
    ----------
    pitch
        From line to line [mm].
    angle_deg
        Direction of the lines [deg].
    """
    along = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    across = np.array([-along[1], along[0]])
    ring = shapely.get_coordinates(shapely.box(*ground.bounds))
    low, high = (ring @ across).min(), (ring @ across).max()
    start, end = (ring @ along).min(), (ring @ along).max()
    levels = np.arange(math.floor(low / pitch), math.ceil(high / pitch) + 1) * pitch
    lines = np.stack(
        [levels[:, None] * across + start * along, levels[:, None] * across + end * along], axis=1
    )
    cut = shapely.get_parts(shapely.intersection(shapely.linestrings(lines), ground))
    kept = tuple(
        tuple((float(x), float(y)) for x, y in line.coords)
        for line in shapely.get_parts(cut)
        if line.geom_type == "LineString" and line.length > 0.05
    )
    return [Strokes(layer, kept, pen)]


def cross(layer: str, ground: BaseGeometry, colour: str) -> list[Mark]:
    """Return a wide diagonal lattice, for a third or fourth material."""
    pen = Pen(0.12, colour)
    return [*hatch(layer, ground, pen, 3.2, 45.0), *hatch(layer, ground, pen, 3.2, 135.0)]


def slant(layer: str, ground: BaseGeometry, colour: str) -> list[Mark]:
    """Return diagonal lines, for a second or third material."""
    return hatch(layer, ground, Pen(0.12, colour), 2.2, 135.0)


Texture = Callable[[str, BaseGeometry, str], list[Mark]]

BED_TEXTURES: Final[tuple[Texture, ...]] = (flecks, slant, cross, stones)
PATH_TEXTURES: Final[tuple[Texture, ...]] = (stones, stipple, slant, cross)


def painted(layer: str, ground: BaseGeometry, fill: str) -> list[Mark]:
    """Return a shape filled and without a line; nothing where the shape is empty."""
    polygons = tuple(parts(ground))
    return [Shapes(layer, polygons, fill)] if polygons else []
