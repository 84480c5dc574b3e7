"""The search for the cheapest way to splice, from quick to thorough (layer: engines, stock).

Plans with runs left whole or spliced evenly come first. Then every purchase long enough is
tried, cheapest first, by laying boards end to end; where that fails, or splices might be saved,
and the runs are few, a whole-number model decides.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from time import monotonic

from bedplan.errors import StockError
from bedplan.stock.covers import Cover, Key, covers
from bedplan.stock.cut import cut
from bedplan.stock.even_splices import evenly
from bedplan.stock.model import CutPlan
from bedplan.stock.order import Measure, Order, measure_of
from bedplan.stock.ribbon import Ribbon
from bedplan.stock.shares import gathered, longest_rest
from bedplan.stock.splice_model import SpliceRules, SpliceRun
from bedplan.stock.splice_task import Cutting, Sawn, Supply, Task

QUICK = ((2, 1e3, 1), (6, 1.0, 1), (6, 8.0, 1), (12, 1e3, 1))
"""Beginnings kept, worth of chains and rests kept open, of one search after the other."""
WIDE = ((8, 1e3, 2), (8, 2.0, 1))
"""The same from the second effort on, and times the effort."""
MORE = 3
"""Boards more than needed with which a way is sought first."""
SMALL = 120
"""Links between boards and runs up to which the whole-number model is tried at first."""
MODEL_S = 0.5
"""Time for one whole-number model [s]."""
MOST_STEPS = 20_000
"""Purchases looked at."""
MOST_ALIKE = 6
"""Purchases of equal cost and number that are tried for fewer splices."""
SHARE = 0.4
"""Share of the time that may go to plans of given pieces, or in batches."""
MANY, BATCH = 24, 10
"""Runs beyond which they are also taken in batches, and how many each."""


@dataclass
class SpliceSearch:
    """The best way found so far, and how much cheaper a better one could be.

    Parameters
    ----------
    order, measure
        What was asked for, and how its boards are priced.
    task
        The same in bare numbers.
    origin
        What each kind of the task stands for: a stock length by index, or -1 for leftovers.
    deadline
        Moment to stop [s of the monotonic clock].
    best
        The best way found.
    lower
        No way has less price and, of equal price, fewer boards than this.
    fewest
        No way that is as good has fewer splices than this.
    done
        Whether everything that could be bought was tried, and decided.
    decided
        Fewest pieces that cover the runs from a supply; ``None`` where that cannot be decided.
    promising
        Whether more effort might decide something that is not.
    """

    order: Order
    measure: Measure
    task: Task
    origin: tuple[int, ...]
    deadline: float
    best: Sawn | None = None
    lower: Key = (0, 0)
    fewest: int = 0
    done: bool = False
    decided: dict[Supply, int | None] = field(default_factory=dict)
    promising: bool = True

    @classmethod
    def of(
        cls, order: Order, runs: tuple[SpliceRun, ...], rules: SpliceRules, deadline: float
    ) -> SpliceSearch:
        """Return a search that has found nothing yet."""
        measure = measure_of(order)
        most = sum(max(1, run.length // rules.least_piece) for run in runs)
        rows = [
            (
                s.length,
                int(measure.price[i] / measure.step),
                most if s.limit is None else s.limit,
                i,
            )
            for i, s in enumerate(order.stock)
        ]
        rows += [(n, 0, order.on_hand.count(n), -1) for n in sorted(set(order.on_hand))]
        rows = [row for row in rows if row[0] > 2 * order.end_trim and row[2]]
        task = Task(
            runs=runs,
            rules=rules,
            kerf=order.kerf,
            room=tuple(length - 2 * order.end_trim for length, _, _, _ in rows),
            price=tuple(price for _, price, _, _ in rows),
            limit=tuple(min(limit, most) for _, _, limit, _ in rows),
        )
        fewest = sum(task.fewest_pieces(run) - 1 for run in runs)
        return cls(order, measure, task, tuple(r[3] for r in rows), deadline, fewest=fewest)

    @property
    def seconds_left(self) -> float:
        """Time left before the deadline [s]; never negative."""
        return max(0.0, self.deadline - monotonic())

    @property
    def key(self) -> Key:
        """Price and number of boards of the best way; beyond all others when there is none."""
        if self.best is None:
            prices = sum(p * n for p, n in zip(self.task.price, self.task.limit, strict=True))
            return (prices, sum(self.task.limit))
        return self.task.paid(self.best)

    @property
    def splices(self) -> int:
        """Number of splices of the best way."""
        return splices_of(self.task, self.best or ())

    @property
    def proven(self) -> bool:
        """Whether no way costs less than the best one."""
        return self.best is not None and self.lower[0] >= self.key[0]

    def offer(self, sawn: Sawn | None) -> bool:
        """Keep a way of sawing if it keeps all rules and is better than the best one."""
        if sawn is None:
            return False
        if self.best is not None and self._rank(sawn) >= self._rank(self.best):
            return False
        if self.task.laid(sawn) is None:
            return False
        self.best = sawn
        return True

    def _rank(self, sawn: Sawn) -> tuple[Key, int, int]:
        """Return price and boards, splices, and the offcut, less being better."""
        task = self.task
        return task.paid(sawn), splices_of(task, sawn), -longest_rest(task, sawn)


def splices_of(task: Task, sawn: Sawn) -> int:
    """Return the number of splices of a way of sawing."""
    return sum(len(cutting) for _, cutting in sawn) - len(task.runs)


def search_on(search: SpliceSearch) -> None:
    """Search until the best way is proven, or the time is up."""
    for pieces in splittings(search):
        if search.seconds_left or search.best is None:
            offer_cut(search, pieces)
    if len(search.task.runs) > MANY:
        search.offer(in_batches(search))
    effort = 1
    while search.seconds_left and search.promising and not (search.proven or search.done):
        search.promising = False
        purchase(search, effort)
        effort *= 2
    if search.best is not None:
        search.offer(gathered(search.task, search.best))


def in_batches(search: SpliceSearch) -> Sawn | None:
    """Return all runs covered batch by batch, each of long and short ones, or None."""
    task, left = search.task, list(search.task.limit)
    order = sorted(range(len(task.runs)), key=lambda r: task.runs[r].length)
    count = -(-len(order) // BATCH)
    began, seconds = monotonic(), SHARE * search.seconds_left
    sawn: list[tuple[int, Cutting]] = []
    for b in range(count):
        batch = order[b::count]
        part = replace(task, runs=tuple(task.runs[r] for r in batch), limit=tuple(left))
        deadline = began + seconds * (b + 1) / count
        one = SpliceSearch(search.order, search.measure, part, search.origin, deadline)
        purchase(one, 1)
        if one.best is None:
            return None
        for kind, cutting in one.best:
            left[kind] -= 1
            sawn.append((kind, tuple((batch[r], length) for r, length in cutting)))
    return tuple(sawn)


def splittings(search: SpliceSearch) -> Iterator[list[list[int]]]:
    """Yield pieces of every run: as few and equal as on sale, then of the longest on hand too."""
    task = search.task
    on_sale = [task.room[k] for k in task.kinds if task.price[k]]
    for longest in dict.fromkeys([max(on_sale, default=task.longest), task.longest]):
        pieces = [evenly(run, task.rules, longest) for run in task.runs]
        found = [p for p in pieces if p is not None]
        if len(found) == len(pieces):
            yield found


def offer_cut(search: SpliceSearch, pieces: Sequence[Sequence[int]]) -> None:
    """Offer the best cut plan of given pieces."""
    order, runs = search.order, [r for r, run in enumerate(pieces) for _ in run]
    try:
        plan = cut(
            [p for run in pieces for p in run],
            order.stock,
            order.kerf,
            end_trim=order.end_trim,
            on_hand=order.on_hand,
            time_limit_s=SHARE * search.seconds_left,
        )
    except StockError:
        return
    search.offer(_sawn(search, plan, runs))


def _sawn(search: SpliceSearch, plan: CutPlan, runs: Sequence[int]) -> Sawn:
    """Return the boards of a cut plan, each of its pieces told by its run.

    Of equal lengths on sale the cheapest that is left is taken, as the plan did.
    """
    task, left = search.task, list(search.task.limit)
    room = [(r, k) for k, r in enumerate(task.room)]
    sawn = []
    for board in plan.boards:
        bare = board.stock_length - 2 * search.order.end_trim
        same = [
            k for r, k in room if r == bare and left[k] and bool(task.price[k]) != board.on_hand
        ]
        kind = min(same, key=lambda k: task.price[k])
        left[kind] -= 1
        cutting = zip((runs[n] for n in board.numbers), board.pieces, strict=True)
        sawn.append((kind, tuple(cutting)))
    return tuple(sawn)


def purchase(search: SpliceSearch, effort: int) -> None:
    """Try what could be bought, cheapest first, until that is dearer than the best way.

    Raises the search's bound as long as no purchase was passed over undecided.
    """
    if effort == 1:
        buy_more(search)
    sure, alike = True, 0
    pieces: dict[Key, list[int]] = defaultdict(list)
    for steps, found in enumerate(covers(search.task, search.key)):
        key = found.key if isinstance(found, Cover) else found
        if sure:
            search.lower = max(search.lower, min(key, search.key))
        if key > search.key:
            break
        if steps > MOST_STEPS * effort or not search.seconds_left:
            search.promising = True
            return
        if isinstance(found, Cover):
            if key == search.key and (search.splices == search.fewest or alike >= MOST_ALIKE):
                return
            # where only splices are to be saved, the first effort is enough
            fewest = try_out(search, found.supply, effort if key < search.key else 1)
            sure = sure and fewest is not None
            alike += key == search.key
            pieces[key].append(fewest or 0)
    search.done = sure
    if sure and search.best is not None:
        search.lower = search.key
        fewest = min(pieces[search.key], default=0) - len(search.task.runs)
        search.fewest = max(search.fewest, fewest)


def buy_more(search: SpliceSearch) -> None:
    """Offer a way to cover the runs from a purchase with some boards more than are needed.

    With length to spare a way is soon found, and few purchases are left that are cheaper.
    """
    task = search.task
    cover = next((c for c in covers(task, search.key) if isinstance(c, Cover)), None)
    if cover is None:
        return
    on_sale = [k for k in task.kinds if task.price[k]]
    on_sale.sort(key=lambda k: task.price[k] / task.room[k])
    for more in range(1, MORE + 1):
        for kind in on_sale[:2]:
            supply = list(cover.supply)
            supply[kind] = min(supply[kind] + more, task.limit[kind])
            if search.offer(Ribbon(task, tuple(supply), search.deadline).best(*QUICK[0])):
                return


def try_out(search: SpliceSearch, supply: Supply, effort: int) -> int | None:
    """Try to cover the runs from a supply.

    Returns
    -------
    fewest
        No way has fewer pieces than this, or none at all is there; ``None`` if it is undecided
        whether there is a way.
    """
    task, found = search.task, False
    if supply in search.decided:
        return search.decided[supply]
    least = len(task.runs) + search.fewest
    ribbon = Ribbon(task, supply, search.deadline)
    beams = QUICK if effort == 1 else [(width * effort, *rest) for width, *rest in WIDE]
    for beam in beams:
        sawn = ribbon.best(*beam)
        search.offer(sawn)
        found = found or (sawn is not None and task.laid(sawn) is not None)
        if found and search.splices == search.fewest:
            return least
    if sum(supply) * len(task.runs) > SMALL * effort**2 or not search.seconds_left:
        search.promising |= not found
        return least if found else None
    from bedplan.stock.splice_exact import fewest_pieces  # noqa: PLC0415 - loads the solver

    seconds = min(MODEL_S * effort**2, search.seconds_left)
    verdict = fewest_pieces(task, supply, seconds, any_way=effort > 1 and not found)
    search.offer(verdict.sawn)
    found = found or (verdict.sawn is not None and task.laid(verdict.sawn) is not None)
    fewest = max(least, verdict.fewest or 0)
    if found or verdict.final:
        search.decided[supply] = fewest if found or verdict.fewest is None else None
    else:
        search.promising = True
    return search.decided.get(supply)
