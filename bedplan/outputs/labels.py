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

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from bedplan.outputs.label import GAP_MM, Candidate, Feature, Label

Floats = NDArray[np.float64]

PATIENCE: Final = 20.0
"""A needed label whose free places all cost more also looks at places with a leader."""

PUSHES: Final = 60
"""So many of its best places are tried when a label must push another aside."""

HOPELESS: Final = 6
"""Once so many needed labels found no place the sheet is too small, and no more are searched
for at length: it would take minutes and still leave names off."""

ROUNDS: Final = 4
"""The descent is cut off after this many rounds; it settles in one or two."""


def place(
    labels: Sequence[Label], features: Sequence[Feature], room: Polygon
) -> list[tuple[Label, Candidate]]:
    """Return the labels that found a place, each with the candidate taken.

    Parameters
    ----------
    labels
        What is to be written.
    features
        What is better left uncovered.
    room
        The field no label leaves, a rectangle [mm].

    Returns
    -------
    placed
        No two clash (`Candidate.clashes`) and each lies in the room. An optional label without
        room is missing; so is a needed one whose every candidate is taken.
    """
    desk = _Desk(features, room)
    order = sorted(range(len(labels)), key=lambda number: (labels[number].rank, number))
    for number in order:
        desk.settle(number, labels[number])
    for _ in range(ROUNDS):
        moved = [number for number in order if desk.improve(number)]
        if not moved:
            break
    return [(labels[number], desk.taken[number]) for number in sorted(desk.taken)]


class _Desk:
    """The sheet while labels are being placed."""

    def __init__(self, features: Sequence[Feature], room: Polygon) -> None:
        self.shapes = np.array([feature.shape for feature in features], dtype=object)
        self.weights = np.array([feature.weight for feature in features])
        self.led_only = np.array([feature.led_only for feature in features], dtype=bool)
        self.tree = shapely.STRtree(self.shapes)
        self.room = room.bounds
        self.choices: dict[int, _Choices] = {}
        self.taken: dict[int, Candidate] = {}
        self.left_off = 0

    def settle(self, number: int, label: Label) -> None:
        """Give a label its cheapest free place, making room where it must."""
        self.choices[number] = first = self._ranked(label.candidates)
        place = self._cheapest_free(first)
        if place is not None and first.costs[place] <= PATIENCE:
            self.taken[number] = first.candidates[place]
        elif label.needed and self.left_off < HOPELESS:
            self.choices[number] = self._ranked([*first.candidates, *label.more()])
            if not self._take_free(number) and not self._make_room(number):
                self.left_off += 1
        elif label.needed:
            self._take_free(number)

    def improve(self, number: int) -> bool:
        """Move a placed label to a cheaper free place; tell whether it moved."""
        before = self.taken.pop(number, None)
        if before is None:
            return False
        self._take_free(number)
        return self.taken.setdefault(number, before) is not before

    def _ranked(self, candidates: Sequence[Candidate]) -> _Choices:
        """Return the candidates inside the room with their whole costs, cheapest first."""
        bounds = _bounds(candidates)
        left, bottom, right, top = self.room
        within = np.flatnonzero(
            (bounds >= (left, bottom, left, bottom)).all(axis=1)
            & (bounds <= (right, top, right, top)).all(axis=1)
        )
        inside = [candidates[int(place)] for place in within]
        costs = np.array([candidate.cost for candidate in inside])
        if inside and len(self.shapes):
            boxes = shapely.polygons(_corners(inside, 0.0))
            which, what = self.tree.query(boxes, predicate="intersects")
            led = np.array([bool(candidate.leader) for candidate in inside])
            counts = led[which] | ~self.led_only[what]
            which, what = which[counts], what[counts]
            covered = shapely.area(shapely.intersection(boxes[which], self.shapes[what]))
            np.add.at(costs, which, covered * self.weights[what])
        order = np.argsort(costs, kind="stable")
        return _Choices([inside[place] for place in order], costs[order], bounds[within[order]])

    def _conflicts(self, choices: _Choices) -> Iterator[list[int]]:
        """Return, for each candidate in turn, the placed labels it clashes with."""
        numbers = list(self.taken)
        near = choices.near(_bounds([self.taken[number] for number in numbers]))
        for candidate, row in zip(choices.candidates, near, strict=True):
            yield [
                numbers[column]
                for column in np.flatnonzero(row)
                if candidate.clashes(self.taken[numbers[column]])
            ]

    def _cheapest_free(self, choices: _Choices) -> int | None:
        """Return the place in the list of the first candidate that clashes with no label."""
        return next(
            (place for place, clashing in enumerate(self._conflicts(choices)) if not clashing),
            None,
        )

    def _take_free(self, number: int) -> bool:
        place = self._cheapest_free(self.choices[number])
        if place is not None:
            self.taken[number] = self.choices[number].candidates[place]
        return place is not None

    def _make_room(self, number: int) -> bool:
        """Push one placed label aside if it has another place to go; tell whether one had."""
        choices = self.choices[number]
        conflicts = [*islice(self._conflicts(choices), PUSHES)]
        for candidate, clashing in zip(choices.candidates, conflicts, strict=False):
            if len(clashing) == 1 and self._push(clashing[0], number, candidate):
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


@dataclass(frozen=True)
class _Choices:
    """A label's candidates, cheapest first, with their whole costs and ``(n, 4)`` bounds."""

    candidates: list[Candidate]
    costs: Floats
    bounds: Floats

    def near(self, others: Floats) -> NDArray[np.bool_]:
        """Return ``(n, m)``: which candidates' bounds meet which of the other bounds."""
        mine, theirs = self.bounds[:, None, :], others[None, :, :]
        apart = (mine[..., :2] > theirs[..., 2:]) | (mine[..., 2:] < theirs[..., :2])
        met: NDArray[np.bool_] = np.logical_not(np.any(apart, axis=2))
        return met


def _corners(candidates: Sequence[Candidate], gap_mm: float) -> Floats:
    """Return ``(n, 4, 2)`` corners of the words' rectangles, widened by a gap [mm]."""
    half = (np.array([candidate.size_mm for candidate in candidates]).reshape(-1, 2) + gap_mm) / 2
    center = np.array([candidate.center for candidate in candidates]).reshape(-1, 1, 2)
    turn = np.radians([candidate.angle_deg for candidate in candidates])
    cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
    x = half[:, :1] * np.array([-1.0, 1.0, 1.0, -1.0])
    y = half[:, 1:] * np.array([-1.0, -1.0, 1.0, 1.0])
    corners: Floats = center + np.stack([x * cos - y * sin, x * sin + y * cos], axis=2)
    return corners


def _bounds(candidates: Sequence[Candidate]) -> Floats:
    """Return ``(n, 4)``: least x and y, greatest x and y of words and lines."""
    corners = _corners(candidates, GAP_MM)
    bounds = np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1)
    for row, candidate in zip(bounds, candidates, strict=True):
        if candidate.leader or candidate.strokes:
            ends = np.array(
                [
                    *candidate.leader,
                    *(
                        point
                        for stroke in candidate.strokes
                        for line in stroke.lines
                        for point in line
                    ),
                ]
            )
            row[:2] = np.minimum(row[:2], ends.min(axis=0))
            row[2:] = np.maximum(row[2:], ends.max(axis=0))
    return bounds
