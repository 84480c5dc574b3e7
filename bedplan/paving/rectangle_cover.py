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

from bedplan.paving.rectangle_sizes import IntArray, Spot, Unit, normal_sizes, raster

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


class Move(NamedTuple):
    """One place as the search sees it: its points as bits from its corner on, and its cost."""

    bits: int
    cost: int
    place: int


class Front(NamedTuple):
    """What the search has settled: all points before `point`, and the bits set after it."""

    point: int
    bits: int
    slack: int
    laid: tuple[int, Front] | None


Outcome = tuple[Literal["found", "none", "unknown"], list[Spot]]


def cover_model(length: int, width: int, unit: Unit) -> CoverModel | None:
    """Return the places and points of a rectangle; None where they are too many.

    Two units overlap only if they share the point at the greater of their left edges and the
    greater of their lower edges, so points at the starts of places are enough.
    """
    ways = list(dict.fromkeys([(unit.long, unit.short), (unit.short, unit.long)]))
    ways = [way for way in ways if way[0] <= length and way[1] <= width]
    starts = [(starts_along(length, way[0], unit), starts_along(width, way[1], unit))
              for way in ways]
    columns = np.unique(np.concatenate([x for x, _ in starts]))
    rows = np.unique(np.concatenate([y for _, y in starts]))
    spots = [(int(x), int(y), *way) for way, (xs, ys) in zip(ways, starts, strict=True)
             for x in xs for y in ys]
    share = unit.area / (length * width)
    if len(spots) * len(columns) * len(rows) * share > COVERED_AT_MOST:
        return None
    cells = tuple(points_under(spot, columns, rows) for spot in spots)
    return CoverModel(tuple(spots), cells, len(columns) * len(rows))


def starts_along(side: int, extent: int, unit: Unit) -> IntArray:
    """Return where units with one extent may start along a side."""
    return raster(side, extent, normal_sizes(side, unit))


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

    Points are settled in order: the next one is covered by a place whose corner it is, or
    left open at the cost of its weight. Of two ways to the same front only one with more
    slack is followed.
    """
    moves = moves_at(model, weights, target)
    costs = weights.of_point.tolist()
    seen: list[dict[int, int]] = [{} for _ in costs]
    fronts = [Front(0, 0, weights.slack(target), None)]
    visited = 0
    while fronts:
        front = fronts.pop()
        if front.point >= model.points:
            return "found", laid_spots(model, front)
        known = seen[front.point]
        if known.get(front.bits, -1) >= front.slack:
            continue
        known[front.bits] = front.slack
        visited += 1
        if visited >= FRONTS_AT_MOST or (visited % 4096 == 0 and perf_counter() > deadline):
            return "unknown", []
        fronts += next_fronts(front, costs[front.point], moves[front.point])
    return "none", []


def moves_at(model: CoverModel, weights: Weights, target: int) -> list[list[Move]]:
    """Return, for each point, the places with their corner there that the slack allows."""
    moves: list[list[Move]] = [[] for _ in range(model.points)]
    slack = weights.slack(target)
    for place, cells in enumerate(model.cells):
        cost, corner = int(weights.of_place[place]) - weights.worth, int(cells[0])
        if cost <= slack:
            bits = sum(1 << (cell - corner) for cell in cells.tolist())
            moves[corner].append(Move(bits, cost, place))
    for choices in moves:
        choices.sort(key=lambda move: move.cost)
    return moves


def next_fronts(front: Front, open_cost: int, moves: list[Move]) -> list[Front]:
    """Return the fronts one step on, the one to try first last."""
    point, bits, slack, laid = front
    steps = []
    if open_cost <= slack:
        steps.append(advance(point, bits | 1, slack - open_cost, laid))
    for mask, cost, place in moves:
        if not mask & bits and cost <= slack:
            steps.append(advance(point, bits | mask, slack - cost, (place, front)))
    return steps


def advance(point: int, bits: int, slack: int, laid: tuple[int, Front] | None) -> Front:
    """Return the front moved past all points that are settled."""
    settled = (~bits & (bits + 1)).bit_length() - 1
    return Front(point + settled, bits >> settled, slack, laid)


def laid_spots(model: CoverModel, front: Front) -> list[Spot]:
    """Return the places taken on the way to a front."""
    spots = []
    while front.laid is not None:
        place, front = front.laid
        spots.append(model.spots[place])
    return spots
