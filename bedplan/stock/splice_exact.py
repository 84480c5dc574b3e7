"""Fewest splices from a given supply, or the proof that it does not do (layer: engines, stock).

Which board serves which run is a whole-number model, whose lengths may be broken; the lengths
are then shared out anew in whole units. Splices below are left out of the model: what it cannot
do cannot be done, and what it does is checked.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import highspy  # noqa: TID253 - loaded only when it is needed, see solver.py
import numpy as np

from bedplan.solver import INFINITY, quiet_model, run_interruptibly
from bedplan.stock.shares import links_of, shared_out
from bedplan.stock.splice_task import Sawn, Supply, Task


@dataclass(frozen=True)
class Verdict:
    """What is known of a supply.

    Parameters
    ----------
    sawn
        Boards sawn, if a way was found.
    fewest
        No way has fewer pieces than this; ``None`` when there is no way at all.
    final
        Whether more time would tell nothing more.
    """

    sawn: Sawn | None
    fewest: int | None
    final: bool


@dataclass
class _Model:
    """A whole-number model while it is written: columns, then rows."""

    cost: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)

    def column(self, cost: float, high: float, *, whole: bool) -> int:
        """Add a column and return its number."""
        self.cost.append(cost)
        self.high.append(high)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, low: float, high: float, terms: dict[int, float]) -> None:
        """Add a row."""
        self.rows.append((low, high, terms))

    def written_out(self) -> highspy.HighsLp:
        """Return the model as the solver reads it."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.cost), len(self.rows)
        lp.col_cost_, lp.col_upper_ = np.array(self.cost), np.array(self.high)
        lp.col_lower_ = np.zeros(len(self.cost))
        lp.row_lower_ = np.array([low for low, _, _ in self.rows])
        lp.row_upper_ = np.array([high for _, high, _ in self.rows])
        terms = [t for _, _, t in self.rows]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *map(len, terms)]).astype(np.int32)
        lp.a_matrix_.index_ = np.array([c for t in terms for c in t], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([a for t in terms for a in t.values()])
        kind = highspy.HighsVarType
        lp.integrality_ = [kind.kInteger if w else kind.kContinuous for w in self.whole]
        return lp


def fewest_pieces(task: Task, supply: Supply, seconds: float, *, any_way: bool = False) -> Verdict:
    """Return what a whole-number model tells of a supply.

    Parameters
    ----------
    task
        What is to be covered.
    supply
        Boards of each kind there are.
    seconds
        Time allowed [s].
    any_way
        Whether any way will do, with however many pieces; that is found much sooner.
    """
    kinds = tuple(kind for kind, n in enumerate(supply) for _ in range(n))
    program, serves = _written(task, kinds)
    if any_way:
        program.cost = [0.0] * len(program.cost)
    model = quiet_model()
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.99)
    model.passModel(program.written_out())
    run_interruptibly(model, seconds)
    least = sum(task.fewest_pieces(run) for run in task.runs)
    if model.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return Verdict(None, None, final=True)
    final, info = model.getModelStatus() == highspy.HighsModelStatus.kOptimal, model.getInfo()
    fewest = max(least, int(np.ceil(max(0.0, min(info.mip_dual_bound, 1e9)) - 1e-4)))
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Verdict(None, fewest, final)
    value, unit = model.getSolution().col_value, task.longest
    lengths = {
        link: max(1, round(value[length] * unit))
        for link, (used, length) in serves.items()
        if value[used] > 0.5
    }
    return Verdict(_whole(task, kinds, lengths), fewest, final)


def _whole(task: Task, kinds: tuple[int, ...], lengths: dict[tuple[int, int], int]) -> Sawn | None:
    """Return boards sawn in whole units along the links of a broken answer."""
    rough = tuple(
        (kind, tuple((r, length) for (b, r), length in lengths.items() if b == board))
        for board, kind in enumerate(kinds)
    )
    used = tuple((kind, cutting) for kind, cutting in rough if cutting)
    links = links_of(task, used)
    return None if links is None else shared_out(task, tuple(k for k, _ in used), links)


def _written(
    task: Task, kinds: tuple[int, ...]
) -> tuple[_Model, dict[tuple[int, int], tuple[int, int]]]:
    """Return the model and, by board and run, its columns of use and of length."""
    model, unit = _Model(), task.longest
    serves: dict[tuple[int, int], tuple[int, int]] = {}
    for r, run in enumerate(task.runs):
        least = min(run.length, task.rules.least_piece)
        columns: list[tuple[int, int]] = []
        for b, kind in enumerate(kinds):
            most = min(run.length, task.room[kind])
            if most < least:
                continue
            used = model.column(1.0, 1.0, whole=True)
            length = model.column(0.0, most / unit, whole=False)
            model.row(-INFINITY, 0.0, {length: 1.0, used: -most / unit})
            model.row(0.0, INFINITY, {length: 1.0, used: -least / unit})
            serves[b, r] = (used, length)
            columns.append((used, length))
        model.row(run.length / unit, run.length / unit, {c: 1.0 for _, c in columns})
        model.row(task.fewest_pieces(run), INFINITY, {c: 1.0 for c, _ in columns})
        _keep_ends(model, task, r, columns)
    for b, kind in enumerate(kinds):
        mine = [columns for (board, _), columns in serves.items() if board == b]
        terms = {length: 1.0 for _, length in mine}
        terms |= {used: task.kerf / unit for used, _ in mine}
        model.row(-INFINITY, (task.room[kind] + task.kerf) / unit, terms)
    return model, serves


def _keep_ends(model: _Model, task: Task, r: int, columns: list[tuple[int, int]]) -> None:
    """Ask for two pieces as long as an end must be, unless the run is left whole."""
    run, unit = task.runs[r], task.longest
    least, count = task.rules.end_piece(run), len(columns)
    if least <= task.rules.least_piece:
        if run.length < 2 * least:
            model.row(1.0, 1.0, {used: 1.0 for used, _ in columns})
        return
    whole = model.column(0.0, 1.0, whole=True)
    ends: dict[int, float] = {}
    for used, length in columns:  # where an end must be long, one board may give both
        end = model.column(0.0, 1.0, whole=True)
        twin = model.column(1.0, 1.0, whole=True)
        model.row(-INFINITY, 0.0, {end: 1.0, used: -1.0})
        model.row(-INFINITY, 0.0, {twin: 1.0, end: -1.0})
        model.row(0.0, INFINITY, {length: 1.0, end: -least / unit, twin: -least / unit})
        ends |= {end: 1.0, twin: 1.0}
    model.row(2.0, INFINITY, ends | {whole: 2.0})
    model.row(-INFINITY, 1.0 + count, {used: 1.0 for used, _ in columns} | {whole: float(count)})
