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

from bedplan.solver import INFINITY, QuietModel, quiet_model, run_interruptibly
from bedplan.stock.problem import Board, Problem, served

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


def choose(problem: Problem, boards: Sequence[Board], upper: int, seconds: float) -> Selection:
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
    model.setOptionValue("mip_rel_gap", 0.0)
    model.passModel(written_out(problem, boards, upper, whole=True))
    run_interruptibly(model, seconds)
    return _read(problem, boards, upper, model)


def written_out(
    problem: Problem, boards: Sequence[Board], upper: int, *, whole: bool
) -> highspy.HighsLp:
    """Return the model: columns are boards, rows the sizes, the kinds and the cost.

    The use of each kind is a row; continuous columns let a longer piece stand in for the next
    shorter one.

    Parameters
    ----------
    problem, boards
        The problem, and the boards to choose from.
    upper
        Cost of the best plan known; the model asks for less.
    whole
        Whether each board must be used a whole number of times; costs are left whole too.
    """
    stand_ins = len(problem.sizes) - 1
    unit = _unit(problem) if whole else problem.unit
    kinds = [kind for kind, _ in boards]
    lp = highspy.HighsLp()
    lp.num_col_ = len(boards) + stand_ins
    lp.col_cost_ = np.array([problem.cost[k] / unit for k in kinds] + [0.0] * stand_ins)
    lp.col_lower_ = np.zeros(lp.num_col_)
    lp.col_upper_ = np.array([float(problem.limit[k]) for k in kinds] + [INFINITY] * stand_ins)
    most = [*problem.limit, (upper - 1 + LEEWAY) / unit]
    lp.num_row_ = len(problem.sizes) + len(most)
    lp.row_lower_ = np.array([*problem.demand, *[-INFINITY] * len(most)], dtype=float)
    lp.row_upper_ = np.array([*[INFINITY] * len(problem.sizes), *most])
    columns = [_column(problem, board, unit) for board in boards]
    columns += [{i: -1.0, i + 1: 1.0} for i in range(stand_ins)]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = np.cumsum([0, *map(len, columns)]).astype(np.int32)
    lp.a_matrix_.index_ = np.array([row for c in columns for row in c], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([a for c in columns for a in c.values()])
    if whole:
        of_boards = [highspy.HighsVarType.kInteger] * len(boards)
        lp.integrality_ = of_boards + [highspy.HighsVarType.kContinuous] * stand_ins
    return lp


def _column(problem: Problem, board: Board, unit: int) -> dict[int, float]:
    """Return the coefficients of one board by row."""
    kind, pattern = board
    sizes = len(problem.sizes)
    column = {i: float(pattern.count(i)) for i in pattern}
    column[sizes + kind] = 1.0
    column[sizes + len(problem.capacity)] = problem.cost[kind] / unit
    return column


def _unit(problem: Problem) -> int:
    """Return by what costs are divided: 1, so that the solver sees whole costs, if it can."""
    return 1 if max(problem.cost) <= PLAIN else problem.unit


def proven_bound(upper: int, unit: int, model: QuietModel) -> tuple[int | None, list[int] | None]:
    """Return the bound a solver's end supports, and its answer in whole numbers if it has one.

    The bound is ``upper`` when nothing costs less, and ``None`` when nothing sure is known;
    ``unit`` is the cost by which the model's costs are divided.
    """
    info, status = model.getInfo(), model.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return upper, None
    claimed, leave = info.mip_dual_bound * unit, max(1e-4, 1e-8 * unit)
    bound = ceil(claimed - leave) if isfinite(claimed) else None
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return bound, None
    return bound, [round(x) for x in model.getSolution().col_value]


def _read(problem: Problem, boards: Sequence[Board], upper: int, model: QuietModel) -> Selection:
    """Return what the solver found, checked in whole numbers."""
    bound, counts = proven_bound(upper, _unit(problem), model)
    if counts is None:
        return Selection(None, bound)
    chosen = [b for b, n in zip(boards, counts, strict=False) for _ in range(n)]
    claimed = model.getInfo().objective_function_value * _unit(problem)
    plan = served(problem, chosen)
    agrees = plan is not None and abs(problem.price(chosen) - claimed) < 0.5
    return Selection(plan, bound if agrees else None)
