"""The middle of the shifts that lay the very same units (layer: paving engine).

A `Field` is a bond over its ground: it counts the units of any shift. Once the best shift is
known, the pattern can mostly be moved a little with every unit staying inside the region.
Sharing that slack out evenly, along the rows and across them by turns, makes margins look even.

Public entry points: `Field`, `centred`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.rows import Edges, Rows, Runs, edges_of, rows_across, rows_along, runs_at

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

_ROUNDS = 4
"""Moves along and across until both are even; one of each is enough in a rectangle."""


class Way(NamedTuple):
    """A lattice as rows one way, and the edges of the ground in their measure."""

    rows: Rows
    edges: Edges

    def runs(self, shift_m: Array) -> Runs:
        """Return the ground along every row at one shift [m]."""
        return runs_at(self.edges, self.rows.measure(shift_m[None])[0], self.rows.slide)

    def slack_m(self, shift_m: Array) -> tuple[float, float]:
        """Return how far the whole pattern may go back and on along the rows [m]."""
        behind, ahead = self.runs(shift_m).slack()
        return behind * self.rows.pitch_m, ahead * self.rows.pitch_m


@dataclass(frozen=True)
class Field:
    """A bond's lattice over the places where its units may be.

    Parameters
    ----------
    places
        Where centres may be, for each unit of the motif [m].
    offsets
        ``(len(places), 2)`` place of each unit in the motif [m].
    lattice
        ``(2, 2)`` steps of the pattern as rows [m].
    along
        The lattice as the rows it is counted by.
    """

    places: Sequence[BaseGeometry]
    offsets: Array
    lattice: Array
    along: Way

    @cached_property
    def across(self) -> Way:
        """The lattice as rows across those it is counted by."""
        return self._way(rows_across(self.lattice, self.along.rows))

    def way(self, towards: Point) -> Way | None:
        """Return the lattice as rows along a unit direction, if it has points that way."""
        rows = rows_along(self.lattice, np.array(towards))
        if rows is None:
            return None
        known = (self.along, *(() if "across" not in self.__dict__ else (self.across,)))
        return next((way for way in known if way.rows == rows), None) or self._way(rows)

    def _way(self, rows: Rows) -> Way:
        return Way(rows, edges_of(self.places, self.offsets, rows))


def centred(field: Field, shift_m: Array) -> Array:
    """Return a shift that lays the same units with the slack shared out evenly.

    Parameters
    ----------
    field
        The bond over its ground.
    shift_m
        ``(2,)`` the shift to start from [m].

    Returns
    -------
    shift_m
        ``(2,)`` [m]. The slack is the farthest the whole pattern can be moved either way before
        a first unit leaves the region; each move goes to the middle of it, so no unit is lost.
        In a rectangle along the rows, margins come out equal on opposite sides.
    """
    shift = shift_m.copy()
    for move in range(2 * _ROUNDS):
        way = field.across if move % 2 else field.along
        behind, ahead = way.slack_m(shift)
        by_m = 0.5 * (ahead - behind)
        shift += by_m * np.array(way.rows.along)
        if move and abs(by_m) < FIT_M:
            break
    return shift
