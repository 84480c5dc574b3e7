"""What to buy and how to cut it: the front door of the stock engine (layer: engines, stock)."""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic

from bedplan.stock.finish import finished
from bedplan.stock.model import CutPlan, Status, StockLength
from bedplan.stock.order import checked, measure_of, problem_of
from bedplan.stock.problem import Search
from bedplan.stock.solve import solve


def cut(
    pieces: Sequence[int],
    stock: Sequence[StockLength],
    kerf: int = 0,
    *,
    end_trim: int = 0,
    on_hand: Sequence[int] = (),
    time_limit_s: float = 10.0,
) -> CutPlan:
    """Return what to buy and how to cut it: least cost, then fewest boards to buy.

    Among those, pieces are moved about so that one offcut stays long (that last aim is sought,
    not proven). A board of length ``L`` holds pieces when their sum, one kerf between each and
    both end trims come to no more than ``L``: the last cut is not needed when they fill it.
    Ctrl-C ends the search, not the program: the best plan so far is returned with its gap.

    Parameters
    ----------
    pieces
        Length of each piece wanted [whole units], one entry a piece, in any order.
    stock
        Lengths on sale. Without any price, the total length bought is least.
    kerf
        Width that one cut turns to dust [whole units], >= 0.
    end_trim
        What is squared off each end of every board first [whole units], >= 0.
    on_hand
        Leftovers, one board each, free [whole units].
    time_limit_s
        Time after which the best plan so far is returned [s].

    Returns
    -------
    plan
        Boards, what to buy, cost, bound, and whether it is proven.

    Raises
    ------
    StockError
        With every fault: no stock, lengths that cannot be, pieces longer than any board, too few
        boards to be had.

    References
    ----------
    See `bedplan.stock.solve`.

    Examples
    --------
    Three 24 in pieces fit a 96 in board with a 1/8 in kerf, four do not (in eighths):

    >>> plan = cut([192] * 4, [StockLength(768)], kerf=1)
    >>> plan.buy, plan.proven
    (((768, 2),), True)
    >>> cut([800], [StockLength(768)])
    Traceback (most recent call last):
    ...
    bedplan.errors.StockError: 1 piece of 800: longer than the longest board, 768, by 32
    """
    order = checked(pieces, stock, kerf, end_trim, on_hand)
    if not order.pieces:
        return CutPlan((), (), 0.0, 0.0, 0.0, proven=True, status=Status.OPTIMAL)
    measure = measure_of(order)
    problem, kinds = problem_of(order, measure)
    search = Search(problem, deadline=monotonic() + time_limit_s)
    status = Status.TIME_LIMIT
    try:
        solve(search)
    except KeyboardInterrupt:
        if search.upper is None:
            raise
        status = Status.INTERRUPTED
    return finished(order, measure, kinds, search, status)
