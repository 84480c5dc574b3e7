"""The marks of a chart, told apart by shape alone (layer: outputs).

Public entry points: `dot`, `ring`, `square`, `cross`.
"""

from __future__ import annotations

from typing import Final

from shapely.geometry import Point as ShapelyPoint

from bedplan.outputs.scene import Dots, Mark, Pen, Point, Shapes, Strokes
from bedplan.outputs.scene_lettering import rectangle
from bedplan.outputs.scene_palette import INK, WHITE

DOT_MM: Final = 1.0
RING_MM: Final = 2.2
"""Radius of a dot, and of the ring round one [mm]."""
ARM_MM: Final = 1.3
"""Half the height of a cross and of a square [mm]."""
PEN: Final = Pen(0.45, INK)


def dot(at: Point) -> Mark:
    """Return a figure."""
    return Dots("dimensions", (at,), DOT_MM, INK)


def ring(at: Point) -> Mark:
    """Return what marks the file as it is."""
    circle = ShapelyPoint(at).buffer(RING_MM, quad_segs=12)
    return Shapes("dimensions", (circle,), WHITE, PEN)


def square(at: Point) -> Mark:
    """Return a cost that lacks some prices."""
    side = 2 * ARM_MM
    return Shapes("dimensions", (rectangle(at, side, side),), WHITE, PEN)


def cross(at: Point) -> Mark:
    """Return a variant that has a fault."""
    x, y = at
    arm = ARM_MM
    strokes = (((x - arm, y - arm), (x + arm, y + arm)), ((x - arm, y + arm), (x + arm, y - arm)))
    return Strokes("dimensions", strokes, PEN)
