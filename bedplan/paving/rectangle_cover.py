"""The last word on a packing: weights by linear programme, then search (layer: paving).

Every unit must start at a raster place and covers some raster points; no point is covered
twice. The dual of the linear programme gives each point a *weight* so that every place covers
at least one unit's worth. All the weight there is, divided by that worth and rounded down,
bounds the count; weights are whole numbers here, so the bound is exact whatever the solver's
rounding. For a count to reach a target, little weight may stay uncovered or be covered beyond
need: that *slack* drives a search that fills points in order and remembers every front it
has seen, and so either finds the packing or proves there is none.

Public entry points: `cover_model`, `weigh`, `search`.

References
----------
J. E. Beasley, Operations Research 33, 1985 (places and points);
H. Isermann, OR Spektrum 9, 1987, and A. N. Letchford and A. Amaral, European Journal of
Operational Research 132, 2001 (linear bounds of this problem);
R. Alvarez-Valdes, F. Parreno and J. M. Tamarit, Journal of the Operational Research
Society 56, 2005 (branch and cut on the same model). The search over fronts: first principles.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import Literal, NamedTuple

import numpy as np

from bedplan.paving.rectangle_sizes import IntArray, Spot, Unit, all_normal_sizes, raster

COVERED_AT_MOST = 400_000
"""Entries of the largest linear programme that is set up at all."""

FRONTS_AT_MOST = 2_000_000
"""Fronts remembered in one search, about 200 bytes each."""

WEIGHT_SCALE = 10_000_000
"""Whole-number weight of one unit."""


@dataclass(frozen=True)
class CoverModel:
    """Raster places of the unit and the points each covers.

    Parameters
    ----------
    spots
        The places, in no special order.
    cells
        For each place the points it covers, rising; point numbers run up each column of the
        raster in turn, so that the first is the place's own lower left corner.
    points
        How many points there are.
    """

    spots: tuple[Spot, ...]
    cells: tuple[IntArray, ...]
    points: int


class Weights(NamedTuple):
    """A dual solution in whole numbers: the weight of each point, and the worth of a unit."""

    of_point: IntArray
    of_place: IntArray
    worth: int

    @property
    def bound(self) -> int:
        """The most units the weights allow."""
        return int(self.of_point.sum()) // self.worth

    def slack(self, target: int) -> int:
        """Return the weight that may go to waste if `target` units are to be placed."""
        return int(self.of_point.sum()) - target * self.worth


Move = tuple[int, int, int]
"""One place as the search sees it: its points as bits from its corner on, its cost, its index."""

Trail = tuple[int, "Trail"] | None
"""The places taken on the way to a front, the last one first."""

Outcome = tuple[Literal["found", "none", "unknown"], list[Spot]]


def cover_model(length: int, width: int, unit: Unit) -> CoverModel | None:
    """Return the places and points of a rectangle; None where they are too many.

    Two units overlap only if they share the point at the greater of their left edges and the
    greater of their lower edges, so points at the starts of places are enough.
    """
    along, across = all_normal_sizes(length, unit), all_normal_sizes(width, unit)
    if along is None or across is None:
        return None
    ways = [(unit.long, unit.short), (unit.short, unit.long)][: 1 + (unit.long > unit.short)]
    ways = [way for way in ways if way[0] <= length and way[1] <= width]
    starts = [(raster(length, way[0], along), raster(width, way[1], across)) for way in ways]
    columns = np.unique(np.concatenate([x for x, _ in starts]))
    rows = np.unique(np.concatenate([y for _, y in starts]))
    places = sum(len(x) * len(y) for x, y in starts)
    if places * len(columns) * len(rows) * unit.area > COVERED_AT_MOST * length * width:
        return None
    spots = [
        (int(x), int(y), *way)
        for way, (xs, ys) in zip(ways, starts, strict=True)
        for x in xs
        for y in ys
    ]
    cells = tuple(points_under(spot, columns, rows) for spot in spots)
    return CoverModel(tuple(spots), cells, len(columns) * len(rows))


def points_under(spot: Spot, columns: IntArray, rows: IntArray) -> IntArray:
    """Return the numbers of the points a unit covers, rising."""
    x, y, along, across = spot
    i = np.arange(*np.searchsorted(columns, [x, x + along]))
    j = np.arange(*np.searchsorted(rows, [y, y + across]))
    cells: IntArray = (i[:, None] * len(rows) + j).ravel()
    return cells


def weigh(model: CoverModel, seconds: float) -> Weights | None:
    """Return whole weights from the dual of the linear programme; None where it gave none.

    Any weights bound the count; the solver only makes them good. An interior solution is
    taken as it comes, without a corner being sought: it weighs every point that any best
    solution weighs, which leaves the search the least freedom.
    """
    from bedplan.paving.rectangle_prices import (  # noqa: PLC0415 - loads the solver, 76 ms
        dual_prices,
    )

    prices = dual_prices(model.cells, model.points, seconds)
    of_point = np.rint(np.clip(prices, 0.0, 1.0) * WEIGHT_SCALE).astype(np.int64)
    of_place = np.array([int(of_point[cells].sum()) for cells in model.cells])
    worth = int(of_place.min())
    return Weights(of_point, of_place, worth) if worth > WEIGHT_SCALE // 2 else None


def search(model: CoverModel, weights: Weights, target: int, deadline: float) -> Outcome:
    """Return whether `target` units fit, and where: found, none (proven), or unknown (late).

    A *front* is a point, and bits for the points from there on that are covered already; all
    points before it are settled. The next point is covered by a place whose corner it is, or
    left open at the cost of its weight. Of two ways to the same front only one with more
    slack is followed. The loop is written out because it runs a million times.
    """
    moves = moves_at(model, weights, target)
    seen: list[dict[int, int]] = [{} for _ in moves]
    fronts: list[tuple[int, int, int, Trail]] = [(0, 0, weights.slack(target), None)]
    visited = 0
    while fronts:
        point, bits, slack, trail = fronts.pop()
        if point >= model.points:
            return "found", laid_spots(model, trail)
        known = seen[point]
        if known.get(bits, -1) >= slack:
            continue
        known[bits] = slack
        visited += 1
        if visited >= FRONTS_AT_MOST or (visited % 4096 == 0 and perf_counter() > deadline):
            return "unknown", []
        for mask, cost, place in moves[point]:
            if not mask & bits and cost <= slack:
                covered = mask | bits
                settled = (~covered & (covered + 1)).bit_length() - 1
                fronts.append(
                    (
                        point + settled,
                        covered >> settled,
                        slack - cost,
                        trail if place < 0 else (place, trail),
                    )
                )
    return "none", []


def moves_at(model: CoverModel, weights: Weights, target: int) -> list[list[Move]]:
    """Return, for each point, what the slack allows there, the cheapest last: it is tried first.

    Leaving the point open is the first move of each, with place -1.
    """
    slack = weights.slack(target)
    moves: list[list[Move]] = [[] for _ in range(model.points)]
    for place, cells in enumerate(model.cells):
        cost, corner = int(weights.of_place[place]) - weights.worth, int(cells[0])
        if cost <= slack:
            bits = sum(1 << (cell - corner) for cell in cells.tolist())
            moves[corner].append((bits, cost, place))
    for choices, cost in zip(moves, weights.of_point.tolist(), strict=True):
        choices.sort(key=lambda move: -move[1])
        if cost <= slack:
            choices.insert(0, (1, cost, -1))
    return moves


def laid_spots(model: CoverModel, trail: Trail) -> list[Spot]:
    """Return the places on a trail."""
    spots = []
    while trail is not None:
        place, trail = trail
        spots.append(model.spots[place])
    return spots
