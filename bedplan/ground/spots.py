"""Spot heights that cannot be used, and those that look mistyped (layer: engines).

Public entry points: `spot_faults`, `doubtful_spots`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from bedplan.errors import Fault
from bedplan.geometry.tolerance import SNAP_M
from bedplan.ground.triangles import delaunay
from bedplan.units import tell_length

Array = npt.NDArray[np.float64]
PlacedSpot = tuple[float, float, float]
"""A spot height on the ground: x, y and height [m]."""

BEYOND_M = 1.0
"""How far outside the fence a spot may stand [m]: at a gate, or beyond the posts."""
STEEP = 1.0
"""Ground steeper than this to every neighbour is a slip of the pen [-]: 45°."""
ODD = 6.0
"""A spot this many spreads off the plane of all others is odd."""
ODD_M = 0.15
"""A spot nearer than this to the plane of all others is never odd [m]."""


@dataclass(frozen=True)
class DoubtfulSpot:
    """A spot that looks mistyped: its number, its height and what its neighbours suggest [m]."""

    number: int
    height_m: float
    expected_m: float
    reason: str


def spot_faults(spots: Sequence[PlacedSpot], fence: Polygon) -> tuple[Fault, ...]:
    """Return every fault of spot heights; each is named by its place in the list.

    Parameters
    ----------
    spots
        Places and heights [m].
    fence
        Ground inside the fence. A spot may stand `BEYOND_M` outside.
    """
    return (*_unreadable(spots), *_outside(spots, fence), *_clashing(spots))


def _unreadable(spots: Sequence[PlacedSpot]) -> Iterator[Fault]:
    for number, spot in enumerate(spots):
        if not all(map(math.isfinite, spot)):
            yield Fault(
                ("ground", "spots", number),
                f"the spot {spot} is not all numbers",
                "x, y and height",
                "measure the spot again, or take it out",
            )


def _outside(spots: Sequence[PlacedSpot], fence: Polygon) -> Iterator[Fault]:
    for number, (x, y, _) in enumerate(spots):
        away = fence.distance(shapely.Point(x, y)) if math.isfinite(x + y) else 0.0
        if away > BEYOND_M:
            yield Fault(
                ("ground", "spots", number),
                f"the spot stands {tell_length(away)} outside the fence",
                f"a spot inside the fence, or at most {tell_length(BEYOND_M)} outside",
                "check the spot's x and y and their unit",
            )


def _clashing(spots: Sequence[PlacedSpot]) -> Iterator[Fault]:
    order = [number for number in range(len(spots)) if all(map(math.isfinite, spots[number]))]
    tree = shapely.STRtree([shapely.Point(spots[number][:2]) for number in order])
    pairs = tree.query(tree.geometries, predicate="dwithin", distance=SNAP_M)
    for one, other in sorted((order[i], order[j]) for i, j in pairs.T.tolist() if i < j):
        step = abs(spots[one][2] - spots[other][2])
        if step > SNAP_M:
            yield Fault(
                ("ground", "spots", other),
                f"the spot stands where spot {one + 1} does, {tell_length(step)} higher or lower",
                "one height at one place",
                "take one of the two out; at a step, set them an inch apart",
            )


def merged(spots: Sequence[PlacedSpot]) -> list[PlacedSpot]:
    """Return spots with those at one place taken once."""
    tree = shapely.STRtree([shapely.Point(spot[:2]) for spot in spots])
    pairs = tree.query(tree.geometries, predicate="dwithin", distance=SNAP_M)
    later = {max(pair) for pair in pairs.T.tolist() if pair[0] != pair[1]}
    kept = (spot for number, spot in enumerate(spots) if number not in later)
    return [(float(x), float(y), float(z)) for x, y, z in kept]


def doubtful_spots(spots: Sequence[PlacedSpot]) -> tuple[DoubtfulSpot, ...]:
    """Return spots that look mistyped, by number; none of them is certain to be wrong.

    A spot is doubted if the ground to every neighbour is steeper than `STEEP`, or if it lies
    off the plane fitted to all *other* spots by more than `ODD` times the spread of such
    distances over all spots, and by more than `ODD_M`.

    Parameters
    ----------
    spots
        Faultless spots: places and heights [m].

    References
    ----------
    Distances from a fit that leaves the spot out: R. D. Cook, 1977, Technometrics 19; spread as
    the median distance over 0.6745: F. R. Hampel, 1974, J. Am. Stat. Assoc. 69 (both from
    memory). With fewer than six spots such distances say nothing, and only slopes are read.
    """
    found = {spot.number: spot for spot in (*_steep(spots), *_odd(spots))}
    return tuple(found[number] for number in sorted(found))


def _odd(spots: Sequence[PlacedSpot]) -> Iterator[DoubtfulSpot]:
    if len(spots) < 6:
        return
    table = np.asarray(spots, dtype=float)
    design = np.column_stack((np.ones(len(table)), table[:, :2] - table[:, :2].mean(axis=0)))
    inverse = np.linalg.pinv(design)
    own_share = np.einsum("ij,ji->i", design, inverse)
    misfit = table[:, 2] - design @ (inverse @ table[:, 2])
    off = misfit / np.maximum(1.0 - own_share, 1e-6)
    spread = float(np.median(np.abs(off))) / 0.6745
    for number in np.flatnonzero(np.abs(off) > max(ODD * spread, ODD_M)).tolist():
        height = float(table[number, 2])
        reason = f"{tell_length(abs(float(off[number])))} off the plane of all other spots"
        yield DoubtfulSpot(number, height, height - float(off[number]), reason)


def _steep(spots: Sequence[PlacedSpot]) -> Iterator[DoubtfulSpot]:
    for number, others in enumerate(_neighbours(spots)):
        x, y, z = spots[number]
        slopes = [abs(spots[i][2] - z) / math.dist((x, y), spots[i][:2]) for i in others]
        if slopes and min(slopes) > STEEP:
            expected = float(np.median([spots[i][2] for i in others]))
            yield DoubtfulSpot(number, z, expected, "steeper than 45° to every neighbour")


def _neighbours(spots: Sequence[PlacedSpot]) -> list[set[int]]:
    """Return the spots each spot shares an edge with."""
    triangles, ring = delaunay([(x, y) for x, y, _ in spots])
    beside: list[set[int]] = [set() for _ in spots]
    for corners in (*triangles, ring):
        for a, b in pairwise((*corners, *corners[:1])):
            beside[a].add(b)
            beside[b].add(a)
    return [others - {number} for number, others in enumerate(beside)]
