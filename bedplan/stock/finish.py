"""From the boards found to a plan that can be read and sawn (layer: engines, stock)."""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from bedplan.errors import StockError
from bedplan.stock.model import BoardCut, CutPlan, Status
from bedplan.stock.offcut import concentrated
from bedplan.stock.order import LACKING, LEFTOVER, Kind, Measure, Order
from bedplan.stock.problem import Problem, Search


def finished(
    order: Order, measure: Measure, kinds: tuple[Kind, ...], search: Search, status: Status
) -> CutPlan:
    """Return the plan of a search's best boards.

    Raises
    ------
    StockError
        If the boards that can be had do not suffice, or none was found in time that do.
    """
    problem = search.problem
    _check_enough(order, kinds, search)
    boards = concentrated(problem, search.boards)
    bought = [kinds[kind].stock for kind, _ in boards if kinds[kind].stock >= 0]
    objective = sum((measure.price[i] for i in bought), Fraction(0))
    bound = min(objective, measure.floor(search.lower))
    counts = Counter(order.stock[i].length for i in bought)
    cuts = [_board_cut(order, problem, kinds[kind], pattern) for kind, pattern in boards]
    cuts.sort(key=lambda c: (not c.on_hand, -c.stock_length, [-p for p in c.pieces]))
    return CutPlan(
        boards=numbered(cuts, order.pieces),
        buy=tuple(sorted(counts.items(), reverse=True)),
        cost=_cost(order, bought),
        lower_bound=float(bound),
        objective=float(objective),
        proven=bound == objective,
        status=Status.OPTIMAL if search.closed else status,
        notes=slips(order),
    )


def slips(order: Order) -> tuple[str, ...]:
    """Return what looks like a slip of the unit or of the list, in words."""
    shortest = min(order.pieces)
    notes = []
    if order.kerf >= shortest:
        notes.append(
            f"the saw takes {order.kerf}, no less than the shortest piece, {shortest}: "
            "is the kerf in the same unit as the lengths?"
        )
    useless = sorted({n for n in order.on_hand if n - 2 * order.end_trim < shortest})
    if useless:
        lengths = ", ".join(map(str, useless))
        notes.append(f"leftovers too short for any piece, {shortest}: {lengths}")
    return tuple(notes)


def numbered(cuts: Sequence[BoardCut], pieces: Sequence[int]) -> tuple[BoardCut, ...]:
    """Return the boards with the place of each of their pieces in the list asked for.

    Of equal pieces the one asked for first comes from the board that is sawn first.
    """
    places: dict[int, deque[int]] = defaultdict(deque)
    for place, piece in enumerate(pieces):
        places[piece].append(place)
    return tuple(replace(c, numbers=tuple(places[p].popleft() for p in c.pieces)) for c in cuts)


def _check_enough(order: Order, kinds: tuple[Kind, ...], search: Search) -> None:
    """Raise StockError if the best plan needs boards that cannot be had."""
    sizes = search.problem.sizes
    unit = (max(order.pieces) + order.kerf) // sizes[0]
    lacking = [p for kind, p in search.boards if kinds[kind].stock == LACKING]
    if not lacking:
        return
    names = ", ".join(str(sizes[i] * unit - order.kerf) for p in lacking for i in p)
    proof = "no cut plan can do without more" if search.closed else "none was found in the time"
    msg = (
        f"the boards that can be had do not hold every piece ({proof}); left over: {names}; "
        "raise a limit, add a length or allow more time"
    )
    raise StockError(msg)


def _cost(order: Order, bought: list[int]) -> float | None:
    """Return the sum of the prices as written, or None if one of them is missing."""
    prices = [order.stock[i].price for i in bought]
    known = [Fraction(str(price)) for price in prices if price is not None]
    return float(sum(known, Fraction(0))) if len(known) == len(prices) else None


def _board_cut(order: Order, problem: Problem, kind: Kind, pattern: tuple[int, ...]) -> BoardCut:
    """Return how one board is sawn.

    Each piece costs one kerf, but the last cut is none when the pieces fill the board, and
    takes only what is there when less than a kerf is left.
    """
    unit = (max(order.pieces) + order.kerf) // problem.sizes[0]
    pieces = tuple(sorted((problem.sizes[i] * unit - order.kerf for i in pattern), reverse=True))
    spare = kind.length - 2 * order.end_trim - sum(pieces)
    kerf_loss = min(spare, len(pieces) * order.kerf)
    return BoardCut(
        stock_length=kind.length,
        on_hand=kind.stock == LEFTOVER,
        pieces=pieces,
        kerf_loss=kerf_loss,
        offcut=spare - kerf_loss,
    )
