"""A laying: where every whole unit of a bond lies (layer: paving engine).

A *laying* is the answer of the shift engine: the bond, its joint and direction, how far the
pattern is shifted, and each unit's centre and turn. Units are listed *course* by course, a
course being units whose centres lie in one line along the bond's direction.

Public entry points: `Laying`, `Placement`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from bedplan.paving.bonds import Bond

Array = npt.NDArray[np.float64]


class Placement(NamedTuple):
    """Where one unit lies: its centre [m] and which way its length runs, 0 ≤ turn < 180 [deg]."""

    x_m: float
    y_m: float
    turn_deg: float


@dataclass(frozen=True)
class Laying:
    """Whole units laid in a bond.

    Parameters
    ----------
    bond
        The pattern.
    joint_m
        Least gap between units [m].
    direction_deg
        Direction of the bond's x axis, along which courses run [deg].
    shift_m
        A point of the pattern's lattice: every centre is this point, a whole number of the
        bond's two steps and a motif unit's own place away [m].
    units
        Centre and turn of every unit, by course and then along it.
    faces
        Which of the bond's faces each unit has, in the order of `units`.
    proven
        True if no other shift of this bond in this direction lays more units, even if each
        might press `tolerance.FIT_M` into the edge of the region.
    """

    bond: Bond
    joint_m: float
    direction_deg: float
    shift_m: tuple[float, float]
    units: tuple[Placement, ...]
    faces: tuple[int, ...]
    proven: bool

    @property
    def count(self) -> int:
        """How many whole units lie in the region."""
        return len(self.units)

    @property
    def paved_area_m2(self) -> float:
        """Area the units cover, joints left out [m^2]."""
        areas = np.prod(np.array(self.bond.faces), axis=1)
        return float(np.sum(areas[list(self.faces)])) if self.faces else 0.0

    def outlines(self) -> npt.NDArray[np.object_]:
        """Return the outline of every unit, an array of shapely polygons in the order of units."""
        if not self.units:
            return np.empty(0, dtype=object)
        table = np.array(self.units)
        half = 0.5 * np.array(self.bond.faces)[list(self.faces)]
        turn = np.radians(table[:, 2])
        along = np.column_stack((np.cos(turn), np.sin(turn))) * half[:, :1]
        across = np.column_stack((-np.sin(turn), np.cos(turn))) * half[:, 1:]
        corners = np.stack([-along - across, along - across, along + across, across - along], 1)
        outlines: npt.NDArray[np.object_] = shapely.polygons(table[:, None, :2] + corners)
        return outlines
