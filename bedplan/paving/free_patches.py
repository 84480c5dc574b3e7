"""A patch of units lifted and its ground laid anew in courses of its own (layer: paving engine).

Courses of a patch may run in any direction, so units of several directions come to lie in one
region, as along two sides that are not square to each other.

Public entry point: `relaid`.

References
----------
P. Shaw, Using constraint programming and local search methods to solve vehicle routing
problems, CP98, LNCS 1520, 1998: large neighbourhood search, lift a part and solve it again.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import minus, parts
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.courses import best_courses
from bedplan.paving.free_ground import Ground
from bedplan.paving.laying import Placement

_PATCH_UNITS: Final = (1.5, 4.5)
"""Radius of a patch, in diagonals of the unit: a handful of units to a few dozen."""

_ANY_ANGLE: Final = 0.2
"""How often a direction by mere chance is tried as well."""


def relaid(ground: Ground, units: list[Placement], chance: random.Random) -> list[Placement]:
    """Return units with one patch laid anew; as they were if that would lose one.

    Parameters
    ----------
    ground
        What is laid.
    units
        Units laid, at least one.
    chance
        Of the patch and the directions.
    """
    reach_m = chance.uniform(*_PATCH_UNITS) * ground.diagonal_m
    middle = _open_spot(ground, units, chance)
    centres = np.array([unit[:2] for unit in units])
    away = np.hypot(*(centres - middle).T)
    lifted = away <= reach_m
    near = (away > reach_m) & (away <= reach_m + 2.0 * ground.diagonal_m)
    patch = shapely.intersection(
        ground.region, Point(middle).buffer(reach_m + ground.diagonal_m, quad_segs=4)
    )
    around = ground.outlines([units[i] for i in np.flatnonzero(near)])
    free = minus(patch, *around) if around else patch
    laid = _most_courses(ground, free, _tried(ground, units, lifted, chance))
    if len(laid) < int(lifted.sum()):
        return units
    return [unit for unit, up in zip(units, lifted, strict=True) if not up] + laid


def _open_spot(
    ground: Ground, units: Sequence[Placement], chance: random.Random
) -> tuple[float, float]:
    """Return a spot beside a random unit, so that patches go where units are."""
    unit = units[chance.randrange(len(units))]
    turn, out = chance.uniform(0.0, 2.0 * math.pi), chance.uniform(0.0, 2.0) * ground.diagonal_m
    return unit.x_m + out * math.cos(turn), unit.y_m + out * math.sin(turn)


def _tried(
    ground: Ground, units: Sequence[Placement], lifted: Sequence[bool], chance: random.Random
) -> list[tuple[float, bool]]:
    """Return directions to try: those of the lifted units, a side's, and one at random."""
    lying = {round(unit.turn_deg, 6) for unit, up in zip(units, lifted, strict=True) if up}
    angles = {*lying, chance.choice(ground.angles), chance.choice(ground.angles) + 90.0}
    if chance.random() < _ANY_ANGLE:
        angles.add(chance.uniform(0.0, 180.0))
    ways = (False,) if ground.square else (False, True)
    return [(angle, turned) for angle in sorted(angles) for turned in ways]


def _most_courses(
    ground: Ground, free: BaseGeometry, ways: Sequence[tuple[float, bool]]
) -> list[Placement]:
    """Return the best courses of each separate spot of open ground, over several directions.

    Spots may lie nearer to each other than a joint, on both sides of a thin board or where two
    units meet corner to corner: each leaves the ground alone that units of earlier spots take.
    """
    laid: list[Placement] = []
    for part in parts(free):
        taken = [outline for outline in ground.outlines(laid) if outline.intersects(part)]
        spot = minus(part, *taken) if taken else part
        if spot.area < (ground.length_m - 2.0 * FIT_M) * (ground.width_m - 2.0 * FIT_M):
            continue
        best: tuple[Placement, ...] = ()
        for angle, turned in ways:
            units = _courses(ground, spot, angle, turned)
            best = units if len(units) > len(best) else best
        laid += best
    return laid


def _courses(
    ground: Ground, spot: BaseGeometry, angle: float, turned: bool
) -> tuple[Placement, ...]:
    """Return courses along a direction, the units' lengths along it or across."""
    size = (ground.width_m, ground.length_m) if turned else ground.face_m
    units = best_courses(spot, *size, ground.joint_m, angle).units
    return tuple(unit._replace(turn_deg=(unit.turn_deg + 90.0 * turned) % 180.0) for unit in units)
