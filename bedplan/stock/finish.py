"""From the boards found to a plan that can be read and sawn (layer: engines, stock)."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from bedplan.errors import StockError
from bedplan.stock.model import BoardCut, CutPlan, Status
from bedplan.stock.order import LACKING, LEFTOVER, Kind, Measure, Order
from bedplan.stock.problem import Board, Problem, Search

TARGETS = 8
"""Boards tried as the one that keeps the long offcut."""


def concentrated(problem: Problem, boards: tuple[Board, ...]) -> tuple[Board, ...]:
    """Return the same boards with pieces moved so that one offcut grows long.

    Of the boards that cost money, each of the emptiest is tried in turn: its pieces move to where
    they fit most tightly, or change places with a shorter piece, as long as that is possible.
    """
    paid = [b for b, (kind, _) in enumerate(boards) if problem.cost[kind]]
    paid.sort(key=lambda b: -_room(problem, boards[b]))
    plans = [boards, *(_emptied(problem, boards, b) for b in paid[:TARGETS])]
    return max(plans, key=lambda plan: max((_room(problem, plan[b]) for b in paid), default=0))


def _room(problem: Problem, board: Board) -> int:
    """Return the room left on a board."""
    return problem.capacity[board[0]] - problem.load(board[1])


def _emptied(problem: Problem, boards: tuple[Board, ...], target: int) -> tuple[Board, ...]:
    """Return the same boards with as much as possible moved off one of them."""
    held = [list(pattern) for _, pattern in boards]
    room = [_room(problem, board) for board in boards]
    while len(held[target]) > 1 and _lightened(problem, held, room, target):
        pass
    return tuple((kind, tuple(sorted(h))) for (kind, _), h in zip(boards, held, strict=True))


def _lightened(problem: Problem, held: list[list[int]], room: list[int], target: int) -> bool:
    """Make the one change that takes most off the target board; return whether there is one."""
    best: tuple[int, int, int, int | None] | None = None
    for i in set(held[target]):
        for b in range(len(held)):
            if b == target:
                continue
            for j in [None, *set(held[b])]:
                gain = problem.sizes[i] - (problem.sizes[j] if j is not None else 0)
                if 0 < gain <= room[b] and (best is None or gain > best[0]):
                    best = (gain, i, b, j)
    if best is None:
        return False
    gain, i, b, j = best
    held[target].remove(i)
    held[b].append(i)
    if j is not None:
        held[b].remove(j)
        held[target].append(j)
    room[target] += gain
    room[b] -= gain
    return True


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
        boards=tuple(cuts),
        buy=tuple(sorted(counts.items(), reverse=True)),
        cost=_cost(order, bought),
        lower_bound=float(bound),
        objective=float(objective),
        proven=bound == objective,
        status=Status.OPTIMAL if search.closed else status,
    )


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
