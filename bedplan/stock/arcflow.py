"""The whole-number problem as a flow along the board (layer: engines, stock).

A pattern is a path: each piece an arc from where it begins to where it ends, longest piece
first; a last arc leaves the path for a kind of board. Arcs that lie on no path cheap enough for
a better plan are left out. Where patterns are too many to list, arcs are still few.

References
----------
J. M. Valério de Carvalho, Annals of Operations Research 86, 1999. V. L. de Lima, M. Iori &
F. K. Miyazawa, Mathematical Programming 197, 2023 (leaving out arcs by reduced cost).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

import highspy  # noqa: TID253 - loaded only when it is needed, see solver.py
import numpy as np

from bedplan.solver import INFINITY, quiet_model, run_interruptibly
from bedplan.stock.columns import Duals
from bedplan.stock.integer import LEEWAY, Selection, proven_bound
from bedplan.stock.knapsack import Grid, Values
from bedplan.stock.problem import Board, Problem, served

NEVER = -(1 << 60)
"""Worth of a place that cannot be reached."""
MOST_ARCS = 30_000
"""Arcs beyond which the model would not be solved in any time a gardener waits."""
UNHELPFUL = ("rins", "rens", "root_reduced_cost", "feasibility_jump")
"""Searches of the solver for good plans; dives have found those already."""


@dataclass(frozen=True)
class Network:
    """Arcs of pieces ``(tail, head, size index)`` and ends of boards ``(place, kind)``."""

    arcs: list[tuple[int, int, int]]
    ends: list[tuple[int, int]]


def network(problem: Problem, grid: Grid, duals: Duals, upper: int) -> Network:
    """Return the arcs and ends that a plan cheaper than ``upper`` could use.

    Two sets of prices judge: the duals on whole paths, and lengths on the room left at the end.
    Each arc kept lies on a path of kept arcs.
    """
    slack = int((upper - 1 - duals.bound) * duals.scale)
    due = [c * duals.scale + r for c, r in zip(problem.cost, duals.rent, strict=True)]
    ends = [
        (u, k)
        for k in problem.kinds
        for u in range(_least_load(problem, k, upper), problem.capacity[k] + 1)
    ]
    last = np.full(grid.longest + 1, NEVER, dtype=np.int64)
    for u, k in ends:
        last[u] = max(last[u], -due[k])
    reach = np.full(grid.longest + 1, NEVER, dtype=np.int64)
    reach[0] = 0
    arcs: list[tuple[int, int, int]] = []
    for i, onward in enumerate(_onward(problem, grid, duals, last)):
        size, value = problem.sizes[i], duals.values[i]
        kept = np.zeros(len(reach) - size, dtype=bool)
        for after in reversed(onward):
            kept |= reach[: len(kept)] + value + after[size:] >= -slack
            reach = _longer(reach, size, value)
        arcs += [(u, u + size, i) for u in np.flatnonzero(kept).tolist()]
    return Network(arcs, [(u, k) for u, k in ends if reach[u] - due[k] >= -slack])


def _longer(table: Values, size: int, value: int) -> Values:
    """Return the best worth of reaching each place when one more piece may be used."""
    longer = table.copy()
    np.maximum(longer[size:], table[: len(table) - size] + value, out=longer[size:])
    return longer


def _onward(problem: Problem, grid: Grid, duals: Duals, last: Values) -> list[list[Values]]:
    """Return, per size, the best worth of going on from each place.

    The n-th table of a size allows n more pieces of it and any number of shorter ones.
    """
    onward = []
    for i in range(len(problem.sizes) - 1, -1, -1):
        size, tables = problem.sizes[i], [last]
        for _ in range(grid.copies[i]):
            tables.append(_longer(tables[-1][::-1], size, duals.values[i])[::-1])
        last = tables.pop()
        onward.append(tables)
    return onward[::-1]


def _least_load(problem: Problem, kind: int, upper: int) -> int:
    """Return how much a board of a kind must hold if a plan is to cost less than ``upper``.

    Lengths serve as prices: what a board costs beyond the length it holds is lost.
    """
    kinds = [k for k in problem.kinds if not problem.limited(k)]
    rate = min(Fraction(problem.cost[k], problem.capacity[k]) for k in kinds)
    worth = [rate * c for c in problem.capacity]
    rent = [max(Fraction(0), w - c) for w, c in zip(worth, problem.cost, strict=True)]
    paid = sum(rent[k] * problem.limit[k] for k in problem.kinds if problem.limited(k))
    gap = upper - 1 - (rate * problem.total - paid)
    least = (problem.cost[kind] + rent[kind] - gap) / rate
    return max(1, -(-least.numerator // least.denominator))


def flow(
    problem: Problem, grid: Grid, duals: Duals, upper: int, seconds: float
) -> Selection | None:
    """Return a plan that costs less than ``upper`` or the proof there is none.

    Parameters
    ----------
    problem, grid
        The problem and its grid.
    duals
        Feasible prices.
    upper
        Cost of the best plan known.
    seconds
        Time allowed [s].

    Returns
    -------
    selection
        ``None`` if the model would be too large, or the grid is too coarse for it.
    """
    if not grid.exact:
        return None
    net = network(problem, grid, duals, upper)
    if len(net.arcs) > MOST_ARCS:
        return None
    if len({i for _, _, i in net.arcs}) < len(problem.sizes):
        return Selection(None, upper)
    model = quiet_model()
    for name in UNHELPFUL:
        model.setOptionValue(f"mip_heuristic_run_{name}", False)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.passModel(_written_out(problem, net, upper))
    run_interruptibly(model, seconds)
    bound, used = proven_bound(upper, problem.unit, model)
    if used is None:
        return Selection(None, bound)
    plan = served(problem, _boards(net, used))
    return Selection(plan, None if plan is None else bound)


def _written_out(problem: Problem, net: Network, upper: int) -> highspy.HighsLp:
    """Return the model: rows are places (in as out), sizes, kinds, and the cost."""
    places = {u: row for row, u in enumerate(sorted({head for _, head, _ in net.arcs}))}
    sizes, kinds, unit = len(places), len(places) + len(problem.sizes), problem.unit
    cost_row = kinds + len(problem.capacity)
    columns = [
        {places[head]: 1.0, sizes + i: 1.0} | ({places[tail]: -1.0} if tail else {})
        for tail, head, i in net.arcs
    ]
    columns += [
        {places[u]: -1.0, kinds + k: 1.0, cost_row: problem.cost[k] / unit} for u, k in net.ends
    ]
    ends = [k for _, k in net.ends]
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(columns), cost_row + 1
    lp.col_cost_ = np.array([0.0] * len(net.arcs) + [problem.cost[k] / unit for k in ends])
    lp.col_lower_ = np.zeros(len(columns))
    most = [problem.demand[i] for _, _, i in net.arcs] + [problem.limit[k] for k in ends]
    lp.col_upper_ = np.array(most, dtype=float)
    low = [0.0] * len(places) + list(problem.demand) + [-INFINITY] * (len(problem.capacity) + 1)
    lp.row_lower_ = np.array(low)
    high = [*problem.demand, *problem.limit, (upper - 1 + LEEWAY) / unit]
    lp.row_upper_ = np.array([0.0] * len(places) + high)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.cumsum([0, *map(len, columns)]).astype(np.int32)
    lp.a_matrix_.index_ = np.array([row for c in columns for row in c], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([a for c in columns for a in c.values()])
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
    return lp


def _boards(net: Network, used: list[int]) -> list[Board]:
    """Return the boards whose paths make up a flow."""
    leaving: dict[int, list[tuple[int, int]]] = defaultdict(list)
    ending: dict[int, list[int]] = defaultdict(list)
    for (tail, head, i), n in zip(net.arcs, used, strict=False):
        leaving[tail] += [(head, i)] * n
    for (u, k), n in zip(net.ends, used[len(net.arcs) :], strict=True):
        ending[u] += [k] * n
    boards: list[Board] = []
    while leaving[0]:
        place, pattern = 0, []
        while leaving[place]:
            place, i = leaving[place].pop()
            pattern.append(i)
        boards.append((ending[place].pop(), tuple(sorted(pattern))))
    return boards
