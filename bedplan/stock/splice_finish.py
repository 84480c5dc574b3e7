"""From the best way to splice to a plan that can be read and sawn (layer: engines, stock)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bedplan.errors import StockError
from bedplan.stock.finish import finished
from bedplan.stock.model import Status
from bedplan.stock.order import measure_of, problem_of
from bedplan.stock.problem import Board, Search
from bedplan.stock.splice_model import SplicePlan
from bedplan.stock.splice_search import SpliceSearch


def plan_of(search: SpliceSearch, status: Status) -> SplicePlan:
    """Return the plan of a search's best way.

    Raises
    ------
    StockError
        If no way was found.
    """
    laid = None if search.best is None else search.task.laid(search.best)
    if search.best is None or laid is None:
        proof = "no way of splicing does" if search.done else "none was found in the time"
        msg = (
            f"the boards that can be had do not cover every run ({proof}): "
            "raise a limit, add a length or allow shorter pieces"
        )
        raise StockError(msg)
    order = replace(search.order, pieces=tuple(p for run in laid for p in run))
    measure = measure_of(order)
    problem, kinds = problem_of(order, measure)
    whole = Search(problem, search.deadline)
    lengths = [[length for _, length in cutting] for _, cutting in search.best]
    origin = [(k.stock, k.length - 2 * order.end_trim) for k in kinds]
    wanted = [(search.origin[k], search.task.room[k]) for k, _ in search.best]
    whole.offer(_boards(order.kerf, problem.sizes, [origin.index(w) for w in wanted], lengths))
    whole.raise_bound(whole.cost if search.proven else search.lower[0] * measure.tie)
    plan = finished(order, measure, kinds, whole, status)
    return SplicePlan(laid, plan, search.fewest)


def _boards(
    kerf: int, sizes: Sequence[int], kinds: Sequence[int], lengths: Sequence[Sequence[int]]
) -> list[Board]:
    """Return boards in bare numbers, their pieces as indices into the sizes."""
    longest = max(max(pieces) for pieces in lengths)
    unit = (longest + kerf) // sizes[0]
    index = {size * unit - kerf: i for i, size in enumerate(sizes)}
    return [
        (kind, tuple(sorted(index[p] for p in pieces)))
        for kind, pieces in zip(kinds, lengths, strict=True)
    ]
