"""The price of each point when places compete for points (layer: paving).

The one module of the packing that touches the solver; it is loaded only when a rectangle
cannot be settled by cuts and arithmetic. Nothing it returns is trusted: the caller turns the
prices into whole weights and takes only what those prove.

Public entry point: `dual_prices`.
"""

from __future__ import annotations

from collections.abc import Sequence

import highspy  # noqa: TID253 - this module itself is imported only when it is needed
import numpy as np
import numpy.typing as npt

from bedplan.paving.rectangle_sizes import IntArray
from bedplan.solver import quiet_model


def dual_prices(cells: Sequence[IntArray], points: int, seconds: float) -> npt.NDArray[np.float64]:
    """Return the price of each point: most places taken, no point covered twice.

    Parameters
    ----------
    cells
        For each place the points it covers.
    points
        How many points there are.
    seconds
        Time allowed [s].

    Returns
    -------
    prices
        `(points,)` dual values, about 1 in sum over the points of any place that is taken.
    """
    # the number of threads is left alone: a second setting in one process makes runs fail
    solver = quiet_model()
    solver.setOptionValue("solver", "ipm")
    solver.setOptionValue("run_crossover", "off")
    solver.setOptionValue("time_limit", max(seconds, 0.01))
    solver.passModel(cover_programme(cells, points))
    solver.run()
    return np.array(solver.getSolution().row_dual, dtype=np.float64)


def cover_programme(cells: Sequence[IntArray], points: int) -> highspy.HighsLp:
    """Return the linear programme: a column for each place, a row for each point."""
    programme = highspy.HighsLp()
    programme.num_col_, programme.num_row_ = len(cells), points
    programme.sense_ = highspy.ObjSense.kMaximize
    programme.col_cost_ = np.ones(len(cells))
    programme.col_lower_ = np.zeros(len(cells))
    programme.col_upper_ = np.full(len(cells), highspy.kHighsInf)
    programme.row_lower_ = np.full(points, -highspy.kHighsInf)
    programme.row_upper_ = np.ones(points)
    matrix = programme.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kColwise
    matrix.start_ = np.cumsum([0, *map(len, cells)]).astype(np.int32)
    matrix.index_ = np.concatenate(cells).astype(np.int32)
    matrix.value_ = np.ones(len(matrix.index_))
    return programme
