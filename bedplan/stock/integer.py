"""The whole-number master problem over a list of patterns (layer: engines, stock).

The model is always written out afresh: a model that grew column by column and was then asked
for whole numbers has reported an optimum its own answer did not have. The answer is rounded,
recomputed in whole numbers, and its bound believed only if both agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite

import highspy  # noqa: TID253 - loaded only when it is needed, see solver.py
import numpy as np

from bedplan.stock.problem import Board, Problem, without_excess
from bedplan.stock.solver import INFINITY, QuietModel, quiet_model, run_interruptibly

LEEWAY = 0.1
"""How far into the next whole cost the row that limits the cost reaches."""
PLAIN = 10**7
"""Greatest cost that is handed to the solver as it is."""


@dataclass(frozen=True)
class Selection:
    """Boards chosen from a list, and what is known of the best choice.

    Parameters
    ----------
    boards
        The chosen boards, excess pieces taken out; ``None`` if none was found.
    bound
        No choice from the list costs less than this, or than the plan known before; ``None`` if
        the solver's claim does not hold up.
    """

    boards: list[Board] | None
    bound: int | None


def choose(
    problem: Problem, boards: Sequence[Board], upper: int, seconds: float
) -> Selection:
    """Return the cheapest choice of boards that covers every size and beats a known plan.

    The known plan enters as a row, not as the solver's start: given a start, presolve has
    returned that start under the cost of a better plan (version 1.16).

    Parameters
    ----------
    problem
        The problem.
    boards
        Different boards to choose from, each any number of times.
    upper
        Cost of the best plan known.
    seconds
        Time allowed [s].
    """
    model = quiet_model()
    model.setOptionValue("time_limit", float(seconds))
    model.setOptionValue("mip_rel_gap", 0.0)
    model.passModel(_written_out(problem, boards, upper))
    run_interruptibly(model)
    return _read(problem, boards, upper, model)


def _written_out(problem: Problem, boards: Sequence[Board], upper: int) -> highspy.HighsLp:
    """Return the model: columns are boards, rows the sizes, the limited kinds and the cost."""
    limited = [k for k in problem.kinds if problem.limited(k)]
    sizes, unit = len(problem.sizes), _unit(problem)
    index, value, starts = [], [], [0]
    for kind, pattern in boards:
        rows = list(dict.fromkeys(pattern))
        index += rows
        value += [float(pattern.count(i)) for i in rows]
        if kind in limited:
            index.append(sizes + limited.index(kind))
            value.append(1.0)
        index.append(sizes + len(limited))
        value.append(problem.cost[kind] / unit)
        starts.append(len(index))
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(boards), sizes + len(limited) + 1
    lp.col_cost_ = np.array([problem.cost[kind] / unit for kind, _ in boards])
    lp.col_lower_ = np.zeros(len(boards))
    lp.col_upper_ = np.array([float(_most(problem, board)) for board in boards])
    most = [*(problem.limit[k] for k in limited), (upper - 1 + LEEWAY) / unit]
    lp.row_lower_ = np.array([*problem.demand, *[-INFINITY] * len(most)], dtype=float)
    lp.row_upper_ = np.array([*[INFINITY] * sizes, *most])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.array(starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(index, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(value)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(boards)
    return lp


def _unit(problem: Problem) -> int:
    """Return by what costs are divided: 1, so that the solver sees whole costs, if it can."""
    dearest = max(problem.cost)
    return 1 if dearest <= PLAIN else dearest


def _most(problem: Problem, board: Board) -> int:
    """Return how often a board can be of use."""
    kind, pattern = board
    most = max(-(-problem.demand[i] // pattern.count(i)) for i in set(pattern))
    return min(most, problem.limit[kind])


def _read(problem: Problem, boards: Sequence[Board], upper: int, model: QuietModel) -> Selection:
    """Return what the solver found, checked in whole numbers."""
    unit = _unit(problem)
    info, status = model.getInfo(), model.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Selection(None, upper)
    bound = _whole(info.mip_dual_bound * unit, unit)
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Selection(None, bound)
    counts = [round(x) for x in model.getSolution().col_value]
    chosen = [b for b, n in zip(boards, counts, strict=True) for _ in range(n)]
    claimed = info.objective_function_value * unit
    agrees = abs(problem.price(chosen) - claimed) < 0.5 and _covers(problem, chosen)
    return Selection(without_excess(problem, chosen), bound if agrees else None)


def _whole(bound: float, unit: int) -> int | None:
    """Return the whole cost a solver's bound supports, after leave for its rounding."""
    return ceil(bound - max(1e-4, 1e-8 * unit)) if isfinite(bound) else None


def _covers(problem: Problem, boards: Sequence[Board]) -> bool:
    """Return whether every size is held often enough."""
    need = list(problem.demand)
    for _, pattern in boards:
        for i in pattern:
            need[i] -= 1
    return max(need) <= 0
