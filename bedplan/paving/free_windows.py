"""Units of a window changed for others along and across one direction (layer: paving engine).

Within a window the spots where pushed-together units may lie are listed, those laid among them,
and as many as can be are taken of which no two clash. Units round the window stay, as do those
in it that lie askew to the direction.

Public entry point: `exchanged`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
import shapely
from shapely import affinity

from bedplan.geometry.polygons import minus
from bedplan.paving.free_frame import (
    Array,
    BoolArray,
    Frame,
    IntArray,
    Spots,
    frame_of,
    lies_along,
)
from bedplan.paving.free_ground import Ground
from bedplan.paving.free_spots import Window, spots_among
from bedplan.paving.free_swaps import swapped
from bedplan.paving.laying import Placement

_TRIES: Final = (200, 25)
"""How often a spot is put in by chance: at least, and more for each unit of the window."""

_SPOTS_AT_MOST: Final = 12_000
"""Spots in one search; each may clash with some hundred others."""

_CLASHES_AT_MOST: Final = 3
"""Spots that clash with more units laid are left out: they hardly ever lead to a gain."""

_OTHER_ANGLE: Final = 0.03
"""How often a direction other than that of the unit in the middle is taken."""


def exchanged(
    ground: Ground,
    units: list[Placement],
    reach: float,
    chance: random.Random,
    late: Callable[[], bool],
) -> list[Placement]:
    """Return no fewer units, those of one window exchanged.

    Parameters
    ----------
    ground
        What is laid.
    units
        Units laid; may be none.
    reach
        Half the width of the window, in sides of a square as large as a module.
    chance
        Of the window and its search.
    late
        Tells when to end.
    """
    angle, middle_m = _middle(ground, units, chance)
    frame = ground.frame(angle)
    reach_m = reach * math.sqrt(float(np.prod(frame.modules[0])))
    seen = frame.seen([Placement(*middle_m, 0.0), *units]).at
    away = np.abs(seen[1:] - seen[0]).max(axis=1, initial=0.0)
    along = np.array([lies_along(unit, frame.direction_deg) for unit in units], dtype=bool)
    near = away <= reach_m + 2.0 * ground.diagonal_m
    askew = [units[i] for i in np.flatnonzero(near & ~along)]
    if askew:
        local = _without(ground, frame, askew, (seen[0], reach_m))
        if local is None:
            return units
        frame, seen = local, local.seen([Placement(*middle_m, 0.0), *units]).at
    near &= along
    inner = near & (away <= reach_m)
    window = (*(seen[0, 0] + (-reach_m, reach_m)), *(seen[0, 1] + (-reach_m, reach_m)))
    new = _searched(
        frame,
        frame.seen([units[i] for i in np.flatnonzero(near)]),
        (inner[near], window),
        chance,
        late,
    )
    if len(new.kind) < int(inner.sum()):
        return units
    return [units[i] for i in np.flatnonzero(~inner)] + frame.placed(new)


def _middle(
    ground: Ground, units: Sequence[Placement], chance: random.Random
) -> tuple[float, tuple[float, float]]:
    """Return a direction and the middle of a window: a unit's, or any where none lies."""
    other = chance.choice(ground.angles)
    if not units:
        west, south, east, north = ground.region.bounds
        return other, (chance.uniform(west, east), chance.uniform(south, north))
    unit = units[chance.randrange(len(units))]
    return (other if chance.random() < _OTHER_ANGLE else unit.turn_deg), unit[:2]


def _without(
    ground: Ground, frame: Frame, askew: Sequence[Placement], window: tuple[Array, float]
) -> Frame | None:
    """Return the frame of a window's ground, less what units lying askew take."""
    middle, reach_m = window
    (x, y, _), *_ = frame.placed(Spots(middle[None], np.zeros(1, dtype=np.int64)))
    wide = reach_m + ground.diagonal_m
    box = affinity.rotate(shapely.box(x - wide, y - wide, x + wide, y + wide), frame.direction_deg)
    region = minus(shapely.intersection(ground.region, box), *ground.outlines(askew))
    if region.is_empty:
        return None
    return frame_of(region, ground.face_m, ground.joint_m, frame.direction_deg)


def _some(numbers: IntArray, chance: random.Random) -> IntArray:
    """Return numbers, at most `_SPOTS_AT_MOST` of them, drawn by chance if there are more."""
    if len(numbers) <= _SPOTS_AT_MOST:
        return numbers
    return np.array(chance.sample(numbers.tolist(), _SPOTS_AT_MOST))


def _searched(
    frame: Frame,
    laid: Spots,
    where: tuple[BoolArray, Window],
    chance: random.Random,
    late: Callable[[], bool],
) -> Spots:
    """Return the units of a window after a search, those beyond it kept clear of."""
    inner, window = where
    own, fixed = laid.only(inner), laid.only(~inner)
    spots = spots_among(frame, laid, window, chance)
    fits = ~np.any(frame.clashes(spots, fixed), axis=1)
    fits &= frame.clashes(spots, own).sum(axis=1) <= _CLASHES_AT_MOST
    spots = spots.only(_some(np.flatnonzero(fits), chance))
    every = Spots(np.vstack([own.at, spots.at]), np.append(own.kind, spots.kind))
    chosen = np.arange(len(every.kind)) < len(own.kind)
    tries = _TRIES[0] + _TRIES[1] * len(own.kind)
    return every.only(swapped(frame, every, chosen, tries, chance, late))
