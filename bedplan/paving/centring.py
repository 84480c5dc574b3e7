"""The middle of the shifts that lay the very same units (layer: paving engine).

Once the best shift is known, the pattern can mostly be moved a little with every unit staying
inside the region. Sharing that slack out evenly, along the rows and across them by turns, makes
margins look even.

Public entry point: `centred`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.rows import Edges, Rows, edges_of, rows_across, runs_at

Array = npt.NDArray[np.float64]

_ROUNDS = 4
"""Moves along and across until both are even; one of each is enough in a rectangle."""


def centred(
    places: Sequence[BaseGeometry],
    offsets: Array,
    lattice: Array,
    rows: Rows,
    edges: Edges,
    shift_m: Array,
) -> Array:
    """Return a shift that lays the same units with the slack shared out evenly.

    Parameters
    ----------
    places
        Where centres may be, for each unit of the motif [m].
    offsets
        ``(len(places), 2)`` place of each unit in the motif [m].
    lattice
        ``(2, 2)`` steps of the pattern as rows [m].
    rows, edges
        The lattice as rows, and the edges of the places in their measure.
    shift_m
        ``(2,)`` the shift to start from [m].

    Returns
    -------
    shift_m
        ``(2,)`` [m]. The slack is the farthest the whole pattern can be moved either way before
        a first unit leaves the region; each move goes to the middle of it, so no unit is lost.
        In a rectangle along the rows, margins come out equal on opposite sides.
    """
    across = rows_across(lattice, rows)
    ways = ((rows, edges), (across, edges_of(places, offsets, across)))
    shift = shift_m.copy()
    for _ in range(_ROUNDS):
        before = shift.copy()
        for way, sides in ways:
            slack = runs_at(sides, way.measure(shift[None])[0], way.slide).middle()
            shift += slack * way.pitch_m * np.array(way.along)
        if np.abs(shift - before).max() < FIT_M:
            break
    return shift
