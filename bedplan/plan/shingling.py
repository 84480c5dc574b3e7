"""In what order strips of weed barrier are laid on a slope, and which lies on top (layer: plan).

Like shingles: of two strips that share a lap the upper lies on top, so laying begins at the low
side and water runs over every lap, not under it; of two lengths that share an *end lap* the upper
lies on top too. Laps that run down the fall take water from neither side. First principles. What
a strip lies on is the formation where a path is dug, the ground as measured elsewhere.

Public entry point: `laid_areas`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Final, Literal

from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import Point
from bedplan.geometry.polygons import common, overlap_m2, parts
from bedplan.geometry.tolerance import AREA_M2
from bedplan.ground.grading import best_fit
from bedplan.ground.patch import patch_of
from bedplan.ground.plane import Plane, level
from bedplan.plan.filled import base_grounds
from bedplan.plan.sawn import BarrierPlan
from bedplan.takeoff.barrier import Strip, StripLaying

if TYPE_CHECKING:
    from bedplan.plan.make import Plan

LEVEL: Final = 1e-3
"""A drop per distance that sends no water anywhere [-]: a tape tells no less over a garden."""

DOWN: Final = 0.1
"""Laps whose cross fall is at most this share of the slope run down it [-]: within 6°."""

OWN_M2: Final = 1e-3
"""A lap smaller than this has no slope of its own, but that of its area [m^2]."""

MOST: Final = 0.9
"""Fabric lies on the formation that holds this share of it [-]; over several, on the ground."""

Way = Literal["as numbered", "shingled", "down the slope"]
Lie = Callable[[BaseGeometry], Plane]


@dataclass(frozen=True)
class LaidStrip:
    """One strip in its place in the order of laying.

    Parameters
    ----------
    order
        From 1, over the strips of one area.
    strip
        Where it lies.
    over
        Numbers of the neighbours it lies on top of.
    begin
        Its lower end, where its first length is laid [m].
    pieces_m
        Its lengths from there on, each on top of the one before [m].
    """

    order: int
    strip: Strip
    over: tuple[int, ...]
    begin: Point
    pieces_m: tuple[float, ...]


@dataclass(frozen=True)
class LaidArea:
    """All strips of one area in the order they are laid.

    Parameters
    ----------
    area
        Its number, from 1.
    laying
        The strips by number.
    way
        ``as numbered`` where nothing falls or no ground is told; ``shingled`` where water crosses
        a lap; ``down the slope`` where the laps run along the fall.
    slope, fall_deg
        Drop per distance of the plane nearest to what the strips lie on [-], and the way water
        runs on it [deg]; None where it is level, as over a ditch.
    strips
        In order of laying.
    """

    area: int
    laying: StripLaying
    way: Way
    slope: float
    fall_deg: float | None
    strips: tuple[LaidStrip, ...]


def laid_areas(plan: Plan, part: BarrierPlan) -> Iterator[LaidArea]:
    """Yield the areas of one fabric, each with its strips in the order they are laid.

    Notes
    -----
    Each lap goes by the slope under it, so that strips on both sides of a ditch are laid from the
    ditch up. Where laps round a hole ask for one another in a ring, which no order gives, the
    strip that the slope of the whole area puts first is laid first.
    """
    lie = _lie_of(plan)
    for number, laying in enumerate(part.layings, start=1):
        yield _laid(number, laying, lie)


def _lie_of(plan: Plan) -> Lie:
    """Return what tells the plane that fabric over a piece of ground lies on."""
    works = plan.works
    if works is None:
        return lambda _: level(0.0)
    dug = {path.path: path.digs for path in works.paths}
    formations = [
        (ground, dig.formation)
        for walk, base in zip(plan.walks, base_grounds(plan.site, plan.walks), strict=True)
        if walk.path.spec.name in dug
        for ground, dig in zip(parts(base), dug[walk.path.spec.name], strict=True)
    ]

    def lie(shape: BaseGeometry) -> Plane:
        for ground, formation in formations:
            if overlap_m2(ground, shape) > MOST * shape.area:
                return formation
        return best_fit(patch_of(works.surface, shape))

    return lie


def _laid(number: int, laying: StripLaying, lie: Lie) -> LaidArea:
    whole = lie(laying.area) if laying.strips else level(0.0)
    across = whole.fall_toward(laying.direction_deg + 90.0)
    falls = whole.slope > LEVEL
    drops = {pair: _drop(lap, laying, lie) for pair, lap in _laps(laying).items()}
    wanted: dict[int, set[int]] = {strip.number: set() for strip in laying.strips}
    for (one, other), drop in drops.items():
        upper, lower = (one, other) if (drop or across) > LEVEL else (other, one)
        wanted[upper].add(lower)
    numbers = list(wanted)[::-1] if across > LEVEL else list(wanted)
    order = _from_below(numbers, wanted)
    crossed = any(drops.values()) or (falls and abs(across) > DOWN * whole.slope)
    along: Way = "down the slope" if falls else "as numbered"
    return LaidArea(
        number,
        laying,
        "shingled" if crossed else along,
        whole.slope,
        whole.fall_deg if falls else None,
        tuple(_strips(order, drops, laying, lie)),
    )


def _laps(laying: StripLaying) -> Mapping[tuple[int, int], BaseGeometry]:
    """Return the ground two strips share, by their numbers; the second lies across the first."""
    shared = {
        (one.number, other.number): common(common(one.outline, other.outline), laying.area)
        for one, other in combinations(laying.strips, 2)
        if one.outline.intersects(other.outline)
    }
    return {pair: lap for pair, lap in shared.items() if lap.area > AREA_M2}


def _drop(lap: BaseGeometry, laying: StripLaying, lie: Lie) -> float:
    """Return the drop per distance across a lap towards the higher number [-]; 0 for none."""
    if lap.area < OWN_M2:
        return 0.0
    own = lie(lap)
    drop = own.fall_toward(laying.direction_deg + 90.0)
    return drop if abs(drop) > max(LEVEL, DOWN * own.slope) else 0.0


def _from_below(numbers: Sequence[int], wanted: Mapping[int, AbstractSet[int]]) -> list[int]:
    """Return numbers so that each comes after all it is to lie on, else in the order given."""
    left, order = list(numbers), []
    while left:
        free = (each for each in left if wanted[each].isdisjoint(left))
        order.append(next(free, left[0]))
        left.remove(order[-1])
    return order


def _strips(
    order: Sequence[int],
    laps: Iterable[tuple[int, int]],
    laying: StripLaying,
    lie: Lie,
) -> Iterator[LaidStrip]:
    pairs = tuple(laps)
    place = {number: at for at, number in enumerate(order, start=1)}
    by_number = {strip.number: strip for strip in laying.strips}
    for number, at in place.items():
        strip = by_number[number]
        beside = (sum(pair) - number for pair in pairs if number in pair)
        over = tuple(sorted(each for each in beside if place[each] < at))
        ground = common(strip.outline, laying.area)
        own = lie(ground if ground.area > OWN_M2 else laying.area)
        if own.fall_toward(laying.direction_deg) > LEVEL:
            yield LaidStrip(at, strip, over, strip.end, strip.pieces_m[::-1])
        else:
            yield LaidStrip(at, strip, over, strip.start, strip.pieces_m)
