"""A label, and the ways it can be written (layer: outputs); `labels` finds a place for each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.outputs.scene import Dots, Mark, Placed, Point, Shapes, Strokes
from bedplan.outputs.scene_lettering import Line, block, block_size_mm, rectangle
from bedplan.outputs.scene_palette import LEADER, RULE, WHITE

GAP_MM: Final = 0.5
"""Labels stay this far apart, each way [mm]."""


@dataclass(frozen=True)
class Feature:
    """Something text should not cover, and what each covered square millimetre costs.

    With `led_only` it costs only labels with a leader, those that stand off their subject.
    """

    shape: BaseGeometry
    weight: float
    led_only: bool = False


@dataclass(frozen=True)
class Candidate:
    """One way to write a label.

    Parameters
    ----------
    lines
        What it says, line by line, each with its style.
    center
        Middle of the block [mm].
    cost
        Its own cost, before what it covers.
    leader
        Line from the subject to the block; empty for none [mm].
    strokes
        Marks that come with the label, such as the line of a dimension.
    plate
        Colour to paint under the text, so that texture does not run through it.
    ring_mm
        Radius of a ring drawn round the words; 0 for none [mm].
    """

    lines: tuple[Line, ...]
    center: Point
    angle_deg: float = 0.0
    cost: float = 0.0
    leader: tuple[Point, ...] = ()
    strokes: tuple[Strokes, ...] = ()
    plate: str | None = None
    ring_mm: float = 0.0

    @cached_property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the words, and of the ring if there is one."""
        wide, tall = block_size_mm(self.lines)
        return max(wide, 2 * self.ring_mm), max(tall, 2 * self.ring_mm)

    @cached_property
    def box(self) -> Polygon:
        """The rectangle the words cover."""
        return rectangle(self.center, *self.size_mm, self.angle_deg)

    @cached_property
    def clear(self) -> Polygon:
        """The words with the gap other labels keep from them."""
        wide, tall = self.size_mm
        return rectangle(self.center, wide + GAP_MM, tall + GAP_MM, self.angle_deg)

    @cached_property
    def lead(self) -> BaseGeometry:
        """The leader as a line; empty for none."""
        return LineString(self.leader)

    @cached_property
    def drawn(self) -> BaseGeometry:
        """Every line that comes with the words."""
        lines = [LineString(line) for stroke in self.strokes for line in stroke.lines]
        return shapely.MultiLineString([*lines, *([self.lead] if self.leader else [])])

    def clashes(self, other: Candidate) -> bool:
        """Tell whether words would cover words or lines, or two leaders cross.

        Lines that come with labels may cross each other, as dimension lines do.
        """
        return bool(
            self.clear.intersects(other.clear)
            or self.clear.intersects(other.drawn)
            or self.drawn.intersects(other.clear)
            or self.lead.intersects(other.lead)
        )

    def marks(self) -> list[Mark]:
        """Return the label as marks on the sheet."""
        found: list[Mark] = [*self.strokes, *block(self.lines, self.center, self.angle_deg)]
        if self.leader:
            found.append(Strokes("leaders", (self.leader,), LEADER))
            found.append(Dots("leaders", self.leader[:1], 0.5, LEADER.colour))
        if self.plate is not None:
            found.append(Shapes("plate", (self.box,), self.plate))
        if self.ring_mm > 0.0:
            ring = ShapelyPoint(self.center).buffer(self.ring_mm, quad_segs=16)
            found.append(Shapes("leaders", (ring,), WHITE, RULE))
        return found


@dataclass(frozen=True)
class Label:
    """A label wanted.

    Parameters
    ----------
    subject
        Whose label it is.
    candidates
        Ways to write it.
    rank
        Placed in this order, lowest first.
    needed
        Whether it must be on the sheet.
    more
        Gives further candidates when the first are taken or too dear.
    """

    subject: str
    candidates: tuple[Candidate, ...]
    rank: int = 0
    needed: bool = True
    more: Callable[[], tuple[Candidate, ...]] = field(default=tuple)


def as_placed(label: Label, candidate: Candidate) -> Placed:
    """Return a label's place as the scene keeps it."""
    words = " ".join(words for words, _ in candidate.lines)
    return Placed(label.subject, words, candidate.box, candidate.leader)
