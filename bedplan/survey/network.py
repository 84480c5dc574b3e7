"""Marks and ties as arrays, and the datum they are placed in (layer: survey engine).

The *datum* holds the figure still: known marks do not move; where fewer than two are known, one
mark stands still and the direction from the first corner to the second is that of the x axis.
Every place then is a linear function of the free coordinates: ``place = start + basis @ free``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from bedplan.model.layout import Point
from bedplan.model.ties import Tape, Tie

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Network:
    """Marks by number (corners first, in order), ties as pairs of numbers.

    Parameters
    ----------
    names
        Every mark: corners in order, then other marks.
    corner_count
        How many of them are corners.
    known
        Places given [m].
    ties
        In the order given.
    sigma_m
        ``(t,)`` standard deviation of each tie [m].
    """

    names: tuple[str, ...]
    corner_count: int
    known: Mapping[str, Point]
    ties: tuple[Tie, ...]
    sigma_m: Array

    @cached_property
    def number(self) -> dict[str, int]:
        """The number of each mark."""
        return {name: i for i, name in enumerate(self.names)}

    @cached_property
    def first(self) -> Index:
        """``(t,)`` number of each tie's first mark."""
        return np.array([self.number[tie.first] for tie in self.ties], dtype=np.intp)

    @cached_property
    def second(self) -> Index:
        """``(t,)`` number of each tie's second mark."""
        return np.array([self.number[tie.second] for tie in self.ties], dtype=np.intp)

    @cached_property
    def length_m(self) -> Array:
        """``(t,)`` taped lengths [m]."""
        return np.array([tie.length_m for tie in self.ties], dtype=float)

    @cached_property
    def fixed(self) -> tuple[int, ...]:
        """The marks that do not move: the known ones, or else the first corner."""
        return tuple(sorted(self.number[name] for name in self.known)) or (0,)

    @cached_property
    def basis(self) -> Array:
        """``(2m, u)``: how each free coordinate moves the places ``x0, y0, x1, y1, …``."""
        columns = np.eye(2 * len(self.names))
        drop = {2 * mark + axis for mark in self.fixed for axis in (0, 1)}
        if len(self.fixed) == 1:
            # the first two corners keep one height, which takes the last turn out of the figure
            columns[3, 1] = columns[1, 3] = 1.0
            drop.update((1, 3) if self.fixed[0] in (0, 1) else (3,))
        return columns[:, [i for i in range(2 * len(self.names)) if i not in drop]]

    @property
    def is_free(self) -> bool:
        """Whether fewer than two marks are known, so that the figure may be mirrored."""
        return len(self.fixed) < 2

    @property
    def redundancy(self) -> int:
        """How many ties there are beyond those that just fix every mark."""
        return len(self.ties) - int(self.basis.shape[1])

    def distances(self, places: Array) -> Array:
        """Return ``(…, t)`` distances of the tied marks [m]; places are ``(…, m, 2)``."""
        gap = places[..., self.second, :] - places[..., self.first, :]
        return np.hypot(gap[..., 0], gap[..., 1])

    def misfit(self, places: Array) -> Array:
        """Return ``(…, t)`` taped less computed distance, in standard deviations."""
        return (self.length_m - self.distances(places)) / self.sigma_m

    def design(self, places: Array) -> Array:
        """Return ``(…, t, u)``: how the free coordinates change the distances, weighted.

        Two marks at one place have no direction; any will do to part them.
        """
        gap = places[..., self.second, :] - places[..., self.first, :]
        far = np.hypot(gap[..., 0], gap[..., 1])
        along = (
            np.where(far[..., None] > 0.0, gap, (1.0, 0.0))
            / np.where(far > 0.0, far, 1.0)[..., None]
        )
        along = along / self.sigma_m[:, None]
        full = np.zeros((*far.shape, 2 * len(self.names)))
        row = np.arange(len(self.ties))
        for axis in (0, 1):
            full[..., row, 2 * self.second + axis] = along[..., axis]
            full[..., row, 2 * self.first + axis] = -along[..., axis]
        return np.asarray(full @ self.basis, dtype=float)

    def without(self, tie: int) -> Network:
        """Return the same marks with one tie left out."""
        return Network(
            self.names,
            self.corner_count,
            self.known,
            self.ties[:tie] + self.ties[tie + 1 :],
            np.delete(self.sigma_m, tie),
        )

    def to_datum(self, places: Array) -> Array:
        """Return a figure moved, and turned, to where the datum holds it still.

        Only for fewer than two known marks: with more, places already stand where they belong.
        """
        if not self.is_free:
            return places
        (still,) = self.fixed
        ahead = places[1] - places[0]
        far = float(np.hypot(*ahead))
        cos, sin = ahead / far if far > 0.0 else (1.0, 0.0)
        turned = (places - places[still]) @ np.array(((cos, -sin), (sin, cos)))
        turned[1, 1] = turned[0, 1]
        moved = turned + np.array(self.known.get(self.names[still], (0.0, 0.0)))
        return np.asarray(moved, dtype=float)


def build_network(
    corners: Sequence[str],
    others: Sequence[str],
    known: Mapping[str, Point],
    ties: Sequence[Tie],
    tape: Tape,
) -> Network:
    """Return the network of named marks; names are taken to be sound (see `survey.faults`)."""
    more = [name for name in (*known, *others) if name not in corners]
    sigma = [tape.sigma_m(tie.length_m) if tie.sigma_m is None else tie.sigma_m for tie in ties]
    names = tuple(dict.fromkeys((*corners, *more)))
    return Network(names, len(corners), known, tuple(ties), np.array(sigma, dtype=float))
