"""Boards saved by splicing runs wherever it suits: the front door (layer: engines, stock).

`bedplan.stock.cut` takes the pieces as given; here they are chosen as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic

from bedplan.stock.model import CutPlan, Status, StockLength
from bedplan.stock.splice_finish import plan_of
from bedplan.stock.splice_model import SplicePlan, SpliceRules, SpliceRun
from bedplan.stock.splice_order import checked_runs
from bedplan.stock.splice_search import SpliceSearch, search_on


def splice_anywhere(  # noqa: PLR0913 - the arguments of `cut`, and the rules
    runs: Sequence[SpliceRun | int],
    stock: Sequence[StockLength],
    kerf: int,
    rules: SpliceRules,
    *,
    end_trim: int = 0,
    on_hand: Sequence[int] = (),
    time_limit_s: float = 10.0,
) -> SplicePlan:
    """Return where to splice runs, what to buy and how to cut it: least cost, fewest boards.

    Among those, few splices are sought, then one long offcut; a run that a board holds is left
    whole unless splicing it saves money or a board. Runs are covered to the last unit; a piece
    of a spliced run has a cut or a board's own end at either end and keeps the rules. Ctrl-C
    ends the search, not the program: the best plan so far is returned with its gap.

    Parameters
    ----------
    runs
        Runs to cover; a bare length is a run with nothing special about it [whole units].
    stock, kerf, end_trim, on_hand, time_limit_s
        As in `bedplan.stock.cut`.
    rules
        Where runs may be spliced.

    Returns
    -------
    plan
        Pieces of every run as they are laid, and their cut plan. ``cut.proven`` tells whether no
        way of splicing costs less.

    Raises
    ------
    StockError
        With every fault: what `cut` refuses, rules that cannot be, runs that no pieces within
        the rules make up, too few boards.

    Notes
    -----
    The bound is the cheapest purchase that is long enough (`bedplan.stock.covers`), or dearer
    where a whole-number model proves that such purchases do not do.

    Examples
    --------
    Three runs of 70 from boards of 105: each run whole takes three boards, spliced two.

    >>> plan = splice_anywhere([70, 70, 70], [StockLength(105, 6.0)], 0, SpliceRules(20))
    >>> plan.cut.buy, plan.splices, plan.cut.proven
    (((105, 2),), 1, True)
    >>> sorted(plan.pieces)
    [(35, 35), (70,), (70,)]
    """
    began = monotonic()
    wanted = tuple(run if isinstance(run, SpliceRun) else SpliceRun(run) for run in runs)
    order = checked_runs(wanted, rules, (stock, kerf, end_trim, on_hand))
    if not wanted:
        empty = CutPlan((), (), 0.0, 0.0, 0.0, proven=True, status=Status.OPTIMAL)
        return SplicePlan((), empty, 0)
    search = SpliceSearch.of(order, wanted, rules, began + time_limit_s)
    try:
        search_on(search)
        status = Status.TIME_LIMIT if search.promising else Status.UNDECIDED
    except KeyboardInterrupt:
        if search.best is None:
            raise
        status = Status.INTERRUPTED
    return plan_of(search, status)
