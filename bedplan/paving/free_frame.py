"""Ground seen along one direction, for units lying along it or across (layer: paving engine).

A *frame* is turned so that its x axis runs along the direction. In it units are upright
rectangles of one or two *kinds*: length along x, or length along y. A *module* is a unit's face
and one joint; two units keep the joint when their modules, each round its own unit's centre,
do not overlap. A *spot* is a place for one unit: where its centre is, and its kind.

Public entry points: `Frame`, `frame_of`, `Spots`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import ANGLE_DEG, FIT_M, GRID_M
from bedplan.paving.laying import Placement
from bedplan.paving.shift import unit_places
from bedplan.paving.slabs import Slabs, slabs_of

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


TOUCH_M: Final = 10.0 * GRID_M
"""Units may be nearer than a joint by this much, which is what rounding comes to [m]."""


class Spots(NamedTuple):
    """Places for units in a frame: centres ``(n, 2)`` [m] and kinds ``(n,)``."""

    at: Array
    kind: IntArray

    def only(self, which: BoolArray | IntArray) -> Spots:
        """Return some of the spots."""
        return Spots(self.at[which], self.kind[which])


@dataclass(frozen=True)
class Frame:
    """Where the centres of units may be, along a direction.

    Parameters
    ----------
    direction_deg
        Direction of the frame's x axis [deg].
    origin
        Its origin [m].
    modules
        ``(k, 2)`` module of each kind along x and y [m].
    places
        Where the centre of each kind may be, pressing up to twice `FIT_M` into the edge.
    rows, columns
        The same, pressing up to `FIT_M`, cut into level slabs and, x and y exchanged, into
        upright ones.
    """

    direction_deg: float
    origin: tuple[float, float]
    modules: Array
    places: tuple[BaseGeometry, ...]
    rows: tuple[Slabs, ...]
    columns: tuple[Slabs, ...]

    def within(self, spots: Spots) -> BoolArray:
        """Tell of each spot whether a unit there lies in the region."""
        inside = np.zeros(len(spots.kind), dtype=bool)
        for kind, places in enumerate(self.places):
            these = np.flatnonzero(spots.kind == kind)
            inside[these] = shapely.intersects_xy(places, *spots.at[these].T)
        return inside

    def clashes(self, spots: Spots, others: Spots) -> BoolArray:
        """Tell which spots are too near to which others, ``(n, m)``."""
        clash = np.ones((len(spots.kind), len(others.kind)), dtype=bool)
        for axis in (0, 1):
            reach = 0.5 * self.modules[:, axis]
            least = reach[spots.kind][:, None] + reach[others.kind][None] - TOUCH_M
            clash &= np.abs(spots.at[:, None, axis] - others.at[None, :, axis]) < least
        return clash

    def seen(self, units: Sequence[Placement]) -> Spots:
        """Return units, all along the frame or across, as spots."""
        table = np.array(units, dtype=np.float64).reshape(-1, 3)
        at = self.turned(table[:, :2])
        across = np.abs((table[:, 2] - self.direction_deg) % 180.0 - 90.0) < 45.0
        return Spots(at, np.where(across & (len(self.modules) > 1), 1, 0))

    def turned(self, points: Array) -> Array:
        """Return points of the region, ``(n, 2)``, as seen in the frame [m]."""
        cos, sin = _turn(self.direction_deg)
        seen: Array = (points - self.origin) @ np.array([[cos, -sin], [sin, cos]])
        return seen

    def placed(self, spots: Spots) -> list[Placement]:
        """Return spots as units of the region."""
        cos, sin = _turn(self.direction_deg)
        world = spots.at @ np.array([[cos, sin], [-sin, cos]]) + self.origin
        turns = (self.direction_deg + 90.0 * spots.kind) % 180.0
        return list(map(Placement, *world.T.tolist(), turns.tolist()))


def frame_of(
    region: BaseGeometry, face_m: tuple[float, float], joint_m: float, direction_deg: float
) -> Frame:
    """Return the frame of a region along a direction.

    Parameters
    ----------
    region
        Where units may lie [m]; not empty.
    face_m
        Length and width of the unit [m].
    joint_m
        Least gap [m].
    direction_deg
        Direction of the frame [deg].
    """
    west, south, east, north = region.bounds
    origin = (0.5 * (west + east), 0.5 * (south + north))
    square = abs(face_m[0] - face_m[1]) < FIT_M
    faces = [face_m] if square else [face_m, face_m[::-1]]
    flush = [unit_places(region, origin, direction_deg, *face, FIT_M) for face in faces]
    return Frame(
        direction_deg,
        origin,
        np.array(faces) + joint_m,
        tuple(unit_places(region, origin, direction_deg, *face, 2.0 * FIT_M) for face in faces),
        tuple(slabs_of(places) for places in flush),
        tuple(
            slabs_of(shapely.transform(places, lambda points: points[:, ::-1])) for places in flush
        ),
    )


def lies_along(unit: Placement, direction_deg: float) -> bool:
    """Tell whether a unit lies along a direction or square to it."""
    return abs((unit.turn_deg - direction_deg + 45.0) % 90.0 - 45.0) < ANGLE_DEG


def _turn(angle_deg: float) -> tuple[float, float]:
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
