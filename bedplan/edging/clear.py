"""Places for stakes that keep clear of footings, pipes and stems (layer: engines).

A stake is counted as the disc round its square; what is in the ground is widened by the disc's
radius, and a stake's middle must stay out of that. Public entry point: `InGround`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.site import Site

ARC_STEPS: Final = 16
ROUND_OUT: Final = 1.0 / math.cos(math.pi / (4 * ARC_STEPS))
"""A buffer's arc is drawn by chords; so much wider, the chords lie outside the true arc."""


@dataclass(frozen=True)
class Buried:
    """Something in the ground: its name, its figure, and how far stakes keep from it [m]."""

    name: str
    shape: BaseGeometry
    clear_m: float


@dataclass(frozen=True)
class TooNear:
    """What stands in the way of a stake: its name, the ground between, and what is asked [m]."""

    name: str
    free_m: float
    clear_m: float


class InGround:
    """What stakes keep clear of; a search tree finds the little that is near."""

    def __init__(self, site: Site) -> None:
        self._buried = _buried(site)
        self._tree = shapely.STRtree([each.shape for each in self._buried])
        self._widest_m = max((each.clear_m for each in self._buried), default=0.0)

    def too_near(self, at: tuple[float, float], reach_m: float) -> TooNear | None:
        """Return what is too near to a place, or None where it is clear.

        Parameters
        ----------
        at
            Middle of a stake.
        reach_m
            Radius of the stake [m].
        """
        spot = shapely.Point(at)
        for each in self._near(spot, reach_m):
            free_m = each.shape.distance(spot) - reach_m
            if free_m < each.clear_m - SNAP_M:
                return TooNear(each.name, max(0.0, free_m), each.clear_m)
        return None

    def nearest(
        self, way: LineString, wanted_m: float, most_m: float, reach_m: float
    ) -> float | None:
        """Return the clear place on a line that is nearest to a station [m], or None.

        Parameters
        ----------
        way
            The line stakes stand on.
        wanted_m, most_m
            Where the stake should stand along it, and how far it may be moved [m].
        reach_m
            Radius of the stake [m].
        """
        near = self._near(way, reach_m)
        low, high = max(0.0, wanted_m - most_m), min(float(way.length), wanted_m + most_m)
        if not near:
            return min(max(wanted_m, low), high)
        taken = [
            each.shape.buffer((reach_m + each.clear_m) * ROUND_OUT, quad_segs=ARC_STEPS)
            for each in near
        ]
        free = [
            (max(a, low), min(b, high))
            for a, b in _spans(way, shapely.difference(way, shapely.union_all(taken)))
            if min(b, high) >= max(a, low)
        ]
        found = [min(max(wanted_m, a), b) for a, b in free]
        return min(found, key=lambda at: abs(at - wanted_m), default=None)

    def _near(self, shape: BaseGeometry, reach_m: float) -> Sequence[Buried]:
        if not self._buried:
            return []
        within = self._widest_m + reach_m * ROUND_OUT + SNAP_M
        found = self._tree.query(shape, predicate="dwithin", distance=within * ROUND_OUT)
        return [self._buried[index] for index in sorted(found.tolist())]


def _spans(way: LineString, rest: BaseGeometry) -> list[tuple[float, float]]:
    """Return the stations where each part of a line that is left begins and ends [m]."""
    spans = []
    for part in shapely.get_parts(rest):
        if part.geom_type == "LineString" and not part.is_empty:
            ends = [way.project(shapely.Point(at)) for at in (part.coords[0], part.coords[-1])]
            begin, end = ends
            # the end of a closed line is its beginning as well
            spans.append((float(begin), float(end if end > begin else begin + part.length)))
    return spans


def _buried(site: Site) -> list[Buried]:
    footings = [
        Buried(f"footing of post {post.name}", post.footing, 0.0)
        for post in site.posts
        if not post.footing.is_empty
    ]
    posts = [
        Buried(f"post {post.name}", post.outline, 0.0)
        for post in site.posts
        if post.footing.is_empty
    ]
    pipes = [
        Buried(pipe.pipe.name, LineString(pipe.line), pipe.pipe.clear_m) for pipe in site.pipes
    ]
    stems = [
        Buried(plant.plant.name, shapely.Point(plant.at), plant.plant.ring_m)
        for plant in site.plants
        if plant.plant.ring_m > 0.0
    ]
    return [*footings, *posts, *pipes, *stems]
