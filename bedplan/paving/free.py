"""The most whole units with no pattern at all, in any region (layer: paving engine).

*Free* laying starts from the best bond or the best courses and can only gain: a patch of units
is lifted, its ground is laid anew in courses of its own, in whatever direction holds most, and
the result is kept when it holds no fewer. Patches are taken where ground lies open, so that
scattered open spots wander together until a unit fits in.

A search of this kind proves nothing by itself; the answer stands beside `upper_bound`.

Public entry point: `lay_free`.

References
----------
P. Shaw, Using constraint programming and local search methods to solve vehicle routing
problems, CP98, LNCS 1520, 1998: large neighbourhood search, lift a part and solve it again.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from time import monotonic
from typing import Final

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import minus, parts
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.bonds import stack
from bedplan.paving.courses import best_courses
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.sides import directions

NAME: Final = "free"
"""Name of the bond of a free laying."""

_PATCH_UNITS: Final = (1.5, 4.5)
"""Radius of a patch, in diagonals of the unit: a handful of units to a few dozen."""

Progress = Callable[[float, int], None]
"""Told the share of the time budget used and the count so far."""


@dataclass(frozen=True)
class _Ground:
    """What is laid: the region, the unit and its joint, and the directions worth trying."""

    region: BaseGeometry
    length_m: float
    width_m: float
    joint_m: float
    angles: tuple[float, ...]

    @property
    def diagonal_m(self) -> float:
        """Diagonal of a unit with its joint [m]."""
        return math.hypot(self.length_m + self.joint_m, self.width_m + self.joint_m)

    def outlines(self, units: Sequence[Placement]) -> list[BaseGeometry]:
        """Return the ground each unit takes, joint included."""
        bond = stack(self.length_m + 2 * self.joint_m, self.width_m + 2 * self.joint_m)
        return list(
            Laying(
                bond, 0.0, 0.0, (0.0, 0.0), tuple(units), (0,) * len(units), proven=False
            ).outlines()
        )


def lay_free(
    region: BaseGeometry,
    start: Laying,
    *,
    time_limit_s: float = 10.0,
    enough: int = 0,
    progress: Progress | None = None,
    seed: int = 1,
) -> Laying:
    """Return a laying of no fewer units than a given one, found without any pattern.

    Parameters
    ----------
    region
        Where units may lie [m].
    start
        The best bond or courses, of one kind of unit; its joint is kept as the least.
    time_limit_s
        When to stop [s]. Ctrl-C stops earlier and keeps the best so far.
    enough
        A count that cannot be beaten, such as `upper_bound`; reaching it ends the search.
    progress
        Told now and then how far the search is.
    seed
        Of the random choice of patches. The clock decides how many are tried, so two runs may
        differ all the same.

    Returns
    -------
    laying
        Its bond is named ``free`` where it gained a unit, else `start` itself. `proven` is True
        if it reached `enough`.

    Notes
    -----
    Units of a patch keep `joint_m` from each other along or across their courses, and from the
    units left lying by the joint on all sides.
    """
    if not start.units or start.count >= enough > 0 or len(start.bond.faces) > 1:
        return start
    length_m, width_m = start.bond.faces[0]
    angles = tuple(dict.fromkeys((start.direction_deg % 90.0, *directions(region))))
    ground = _Ground(region, length_m, width_m, start.joint_m, angles)
    units = _improved(
        ground,
        list(start.units),
        monotonic() + time_limit_s,
        (enough, progress or (lambda _share, _count: None), random.Random(seed)),
    )
    if len(units) <= start.count:
        return start
    return replace(
        start,
        bond=replace(stack(length_m, width_m), name=NAME),
        shift_m=units[0][:2],
        units=tuple(units),
        faces=(0,) * len(units),
        proven=len(units) >= enough > 0,
    )


def _improved(
    ground: _Ground,
    units: list[Placement],
    deadline: float,
    search: tuple[int, Progress, random.Random],
) -> list[Placement]:
    enough, progress, chance = search
    begun = monotonic()
    try:
        while (now := monotonic()) < deadline and not len(units) >= enough > 0:
            progress((now - begun) / (deadline - begun), len(units))
            units = _relaid(ground, units, chance)
    except KeyboardInterrupt:
        pass  # the best so far is whole: a patch is exchanged in one step
    return units


def _relaid(ground: _Ground, units: list[Placement], chance: random.Random) -> list[Placement]:
    """Lift one patch and lay it anew; the units as they were if that would lose one."""
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
    ground: _Ground, units: Sequence[Placement], chance: random.Random
) -> tuple[float, float]:
    """Return a spot beside a random unit, so that patches go where units are."""
    unit = units[chance.randrange(len(units))]
    turn, out = chance.uniform(0.0, 2.0 * math.pi), chance.uniform(0.0, 2.0) * ground.diagonal_m
    return unit.x_m + out * math.cos(turn), unit.y_m + out * math.sin(turn)


def _tried(
    ground: _Ground, units: Sequence[Placement], lifted: Sequence[bool], chance: random.Random
) -> list[tuple[float, bool]]:
    """Return directions to try: those of the lifted units, a side's, and one at random."""
    lying = {round(unit.turn_deg, 6) for unit, up in zip(units, lifted, strict=True) if up}
    angles = {*lying, chance.choice(ground.angles), chance.choice(ground.angles) + 90.0}
    if chance.random() < 0.2:
        angles.add(chance.uniform(0.0, 180.0))
    return [(angle, turned) for angle in sorted(angles) for turned in (False, True)]


def _most_courses(
    ground: _Ground, free: BaseGeometry, ways: Sequence[tuple[float, bool]]
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
    ground: _Ground, spot: BaseGeometry, angle: float, turned: bool
) -> tuple[Placement, ...]:
    """Return courses along a direction, the units' lengths along it or across."""
    size = (ground.width_m, ground.length_m) if turned else (ground.length_m, ground.width_m)
    units = best_courses(spot, *size, ground.joint_m, angle).units
    return tuple(unit._replace(turn_deg=(unit.turn_deg + 90.0 * turned) % 180.0) for unit in units)
