"""Finds a place for every label so that none covers another or leaves its field.

Terms. A *candidate* is one way to write a label: what it says, where, at which angle, with or
without a *leader* to its subject. A *feature* is something on the drawing that text should
rather not cover, with a weight per square millimetre. A candidate's cost is its own (a second
choice of place, smaller type, a leader) plus what it covers.

Method. Labels are placed in turn, the most important first, each at its cheapest candidate
that touches no label already placed. One that finds no room may push a placed label to
another of that label's candidates. Then every label is offered its cheapest free place again
until none moves, which is the discrete gradient descent of the reference. Optional labels
without room are left out; the others may stand further off with a leader.

References
----------
J. Christensen, J. Marks and S. Shieber, "An empirical study of algorithms for point-feature
label placement", ACM Transactions on Graphics, 1995.

Layer: outputs. Public entry point: `place`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.outputs.scene import Mark, Placed, Point, Shapes, Strokes
from bedplan.outputs.scene_lettering import Line, block, block_size_mm, rectangle
from bedplan.outputs.scene_palette import LEADER, RULE, WHITE

GAP_MM: Final = 0.5
"""Labels stay this far apart, each way [mm]."""

ROUNDS: Final = 4
"""The descent is cut off after this many rounds; it settles in one or two."""


@dataclass(frozen=True)
class Feature:
    """Something text should not cover, and what each covered square millimetre costs."""

    shape: BaseGeometry
    weight: float


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
        Line from the block to the subject; empty for none [mm].
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
        return shapely.union_all([*lines, self.lead])

    @cached_property
    def whole(self) -> BaseGeometry:
        """All that must lie within the field."""
        return shapely.union_all([self.clear, self.drawn])

    def clashes(self, other: Candidate) -> bool:
        """Tell whether words would cover words or lines, or two leaders cross.

        Lines that come with labels may cross each other, as dimension lines do.
        """
        return bool(self.clear.intersects(other.clear) or self.clear.intersects(other.drawn)
                    or self.drawn.intersects(other.clear) or self.lead.intersects(other.lead))

    def marks(self) -> list[Mark]:
        """Return the label as marks on the sheet."""
        found: list[Mark] = [*self.strokes, *block(self.lines, self.center, self.angle_deg)]
        if self.leader:
            found.append(Strokes("leaders", (self.leader,), LEADER))
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
        Gives further candidates when none of the first is free.
    """

    subject: str
    candidates: tuple[Candidate, ...]
    rank: int = 0
    needed: bool = True
    more: Callable[[], tuple[Candidate, ...]] = field(default=tuple)


def place(labels: Sequence[Label], features: Sequence[Feature],
          room: Polygon) -> list[tuple[Label, Candidate]]:
    """Return the labels that found a place, each with the candidate taken.

    Parameters
    ----------
    labels
        What is to be written.
    features
        What is better left uncovered.
    room
        The field no label leaves [mm].

    Returns
    -------
    placed
        No two clash (`Candidate.clashes`) and each lies in the room. An optional label without room is
        missing; so is a needed one whose every candidate is taken.
    """
    desk = _Desk(features, room)
    order = sorted(range(len(labels)), key=lambda number: (labels[number].rank, number))
    for number in order:
        desk.settle(number, labels[number])
    for _ in range(ROUNDS):
        if not any([desk.improve(number) for number in order]):
            break
    return [(labels[number], desk.taken[number]) for number in sorted(desk.taken)]


class _Desk:
    """The sheet while labels are being placed."""

    def __init__(self, features: Sequence[Feature], room: Polygon) -> None:
        self.shapes = np.array([feature.shape for feature in features], dtype=object)
        self.weights = np.array([feature.weight for feature in features])
        self.tree = shapely.STRtree(self.shapes)
        self.room = room
        shapely.prepare(room)
        self.choices: dict[int, list[tuple[float, Candidate]]] = {}
        self.taken: dict[int, Candidate] = {}

    def settle(self, number: int, label: Label) -> None:
        """Give a label its cheapest free place, making room where it must."""
        for supply in (lambda: label.candidates, label.more if label.needed else tuple):
            self.choices[number] = self._ranked(supply())
            if self._take_free(number) or (label.needed and self._make_room(number)):
                return

    def improve(self, number: int) -> bool:
        """Move a placed label to a cheaper free place; tell whether it moved."""
        before = self.taken.pop(number, None)
        self._take_free(number)
        after = self.taken.get(number)
        if after is None and before is not None:
            self.taken[number] = before
        return after is not before and after is not None

    def _ranked(self, candidates: Sequence[Candidate]) -> list[tuple[float, Candidate]]:
        """Return the candidates inside the room with their whole costs, cheapest first."""
        inside = [candidate for candidate in candidates if self.room.covers(candidate.whole)]
        costs = np.array([candidate.cost for candidate in inside])
        if inside and len(self.shapes):
            boxes = np.array([candidate.box for candidate in inside], dtype=object)
            which, what = self.tree.query(boxes, predicate="intersects")
            covered = shapely.area(shapely.intersection(boxes[which], self.shapes[what]))
            np.add.at(costs, which, covered * self.weights[what])
        return sorted(zip(costs.tolist(), inside, strict=True), key=lambda choice: choice[0])

    def _clashes(self, candidate: Candidate) -> list[int]:
        return [number for number, other in self.taken.items()
                if candidate.clashes(other)]

    def _free(self, number: int) -> Iterator[Candidate]:
        return (candidate for _, candidate in self.choices[number]
                if not self._clashes(candidate))

    def _take_free(self, number: int) -> bool:
        candidate = next(self._free(number), None)
        if candidate is not None:
            self.taken[number] = candidate
        return candidate is not None

    def _make_room(self, number: int) -> bool:
        """Push one placed label aside if it has another place to go."""
        for _, candidate in self.choices[number]:
            clashes = self._clashes(candidate)
            if len(clashes) == 1 and self._push(clashes[0], number, candidate):
                return True
        return False

    def _push(self, other: int, number: int, candidate: Candidate) -> bool:
        before = self.taken.pop(other)
        self.taken[number] = candidate
        if self._take_free(other):
            return True
        del self.taken[number]
        self.taken[other] = before
        return False


def as_placed(label: Label, candidate: Candidate) -> Placed:
    """Return a label's place as the scene keeps it."""
    words = " ".join(words for words, _ in candidate.lines)
    return Placed(label.subject, words, candidate.box, candidate.leader)
