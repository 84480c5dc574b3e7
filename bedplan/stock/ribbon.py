"""Runs sawn one after another from boards laid end to end (layer: engines, stock).

Runs are taken one at a time, each from the rest of an open board, from new boards, or from a
rest, new boards and the rest of another. A board used up within a run loses nothing, not even
saw dust, and makes one splice; a rest is given up only when it is of no more use, too many are
open, or that ends a chain of boards on purpose (one splice less). Which run comes next, and from
which boards, is found by a beam search: of all beginnings with equally many runs done, those are
kept that have ended most chains for the length given up.

References
----------
B. T. Lowerre, The HARPY speech recognition system, thesis, Carnegie Mellon, 1976 (beam search).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from time import monotonic
from typing import TypeAlias

from bedplan.stock.splice_model import SpliceRun
from bedplan.stock.splice_task import Sawn, Supply, Task, in_order

MOST_RUNS = 12
"""Different runs tried as the next one."""
MOST_CHAINS = 24
"""Different sequences of new boards tried for one run."""
Source: TypeAlias = tuple[int, int, int]
"""Room left, number, and kind of a board a piece may be taken from."""
Taken: TypeAlias = tuple[tuple[int, int, int], ...]
"""Number and kind of a board, and the length taken from it, for every piece of a run."""


@dataclass(frozen=True)
class _State:
    """A beginning: runs and boards left, open boards, and how it came about.

    ``lost`` is what rests given up come to, a kerf for each; ``run`` and ``taken`` tell the last
    run done and its pieces.
    """

    need: Supply
    left: Supply
    opens: tuple[Source, ...]
    lost: int
    boards: int
    splices: int
    run: int = -1
    taken: Taken = ()
    before: _State | None = None


class Ribbon:
    """The search for one supply of boards."""

    def __init__(self, task: Task, supply: Supply, deadline: float) -> None:
        self.task, self.supply, self.deadline = task, supply, deadline
        self._most_open = 1
        alike = Counter(task.runs)
        self.types = sorted(alike, key=lambda run: -run.length)
        self.need = tuple(alike[run] for run in self.types)
        kerf = task.kerf
        self.slack = sum((task.room[k] + kerf) * n for k, n in enumerate(supply))
        self.slack -= task.total + kerf * len(task.runs)
        self._fitting: dict[tuple[int, tuple[int, ...]], bool] = {}

    def best(self, width: int, weight: float, most_open: int = 1) -> Sawn | None:
        """Return boards sawn for all runs with few splices, or None if none was found.

        Parameters
        ----------
        width
            Beginnings kept.
        weight
            How many chains it is worth not to lose the whole slack.
        most_open
            Rests kept open.
        """
        self._most_open = most_open
        layer = [_State(self.need, self.supply, (), 0, 0, 0)]
        per_length = weight / max(1, self.slack)

        def rank(state: _State) -> tuple[float, int]:
            return state.lost * per_length + state.splices - state.boards, self._open(state)

        for _ in self.task.runs:
            found: dict[tuple[Supply, Supply, tuple[int, ...]], _State] = {}
            for state in layer:
                if monotonic() > self.deadline:
                    return None
                for new in self._grown(state):
                    key = (new.need, new.left, tuple(room for room, _, _ in new.opens))
                    old = found.get(key)
                    if old is None or new.splices < old.splices:
                        found[key] = new
            layer = sorted(found.values(), key=rank)[:width]
        return self._sawn(min(layer, key=lambda s: s.splices)) if layer else None

    def _open(self, state: _State) -> int:
        """Return the length of runs not done; the less, the shorter runs are left to fill gaps."""
        pairs = zip(self.types, state.need, strict=True)
        return sum(run.length * n for run, n in pairs)

    def _grown(self, state: _State) -> Iterator[_State]:
        """Yield what one more run makes of a beginning."""
        for source in dict.fromkeys(state.opens):
            others = tuple(o for o in state.opens if o is not source)
            yield from self._from(state, source, others, state.left)
        for kind, n in enumerate(state.left):
            if n:
                source = (self.task.room[kind], state.boards, kind)
                yield from self._from(state, source, state.opens, _less(state.left, kind))

    def _next_runs(self, state: _State, room: int) -> list[int]:
        """Return the types of run that may come next: all, or the longest and the best fitting."""
        wanted = [t for t, n in enumerate(state.need) if n]
        if len(wanted) <= MOST_RUNS:
            return wanted
        half = MOST_RUNS // 2
        fitting = [t for t in wanted[half:] if self.types[t].length <= room]
        rest = fitting[:half] or wanted[-half:]
        return [*wanted[:half], *rest]

    def _from(
        self, state: _State, source: Source, others: tuple[Source, ...], left: Supply
    ) -> Iterator[_State]:
        """Yield a beginning with one run more that starts with a given board."""
        number = state.boards + (source[1] == state.boards)
        for t in self._next_runs(state, source[0]):
            run = self.types[t]
            if run.length <= source[0]:
                new = self._made(state, t, (source,), [run.length], (others, left))
                if new is not None:
                    yield new
                continue
            for more, last, after in self._sequences(run.length - source[0], left, others):
                kinds = enumerate(more if last else more[:-1], start=number)
                middle = [(self.task.room[k], n, k) for n, k in kinds]
                end = last or (self.task.room[more[-1]], number + len(more) - 1, more[-1])
                boards = (source, *middle, end)
                pieces = self._pieces(t, [room for room, _, _ in boards])
                if pieces is not None:
                    rest = tuple(o for o in others if o is not last)
                    new = self._made(state, t, boards, pieces, (rest, after))
                    if new is not None:
                        yield new

    def _made(
        self,
        state: _State,
        t: int,
        boards: Sequence[Source],
        pieces: Sequence[int],
        rest: tuple[tuple[Source, ...], Supply],
    ) -> _State | None:
        """Return the beginning that one run makes, or None if it gives up too much."""
        kerf, need = self.task.kerf, _less(state.need, t)
        rests = [
            (room - piece - kerf, n, k)
            for (room, n, k), piece in zip(boards, pieces, strict=True)
            if room - piece > kerf
        ]
        opens = sorted([*rest[0], *rests], reverse=True)
        short = [r.length for r, n in zip(self.types, need, strict=True) if n]
        least = min([self.task.rules.least_piece, *short])
        kept = tuple(o for o in opens[: self._most_open] if o[0] >= least)
        lost = state.lost + sum(room + kerf for room, _, _ in opens[len(kept) :])
        splices = state.splices + len(pieces) - 1
        if lost + splices * kerf > self.slack and short:
            return None
        taken = tuple((n, k, p) for (_, n, k), p in zip(boards, pieces, strict=True))
        count = max(state.boards, 1 + max(n for _, n, _ in boards))
        return _State(need, rest[1], kept, lost, count, splices, t, taken, state)

    def _sequences(
        self, rest: int, left: Supply, others: tuple[Source, ...]
    ) -> list[tuple[tuple[int, ...], Source | None, Supply]]:
        """Return ways to cover a rest: new boards, an open one to end with, boards left."""
        found: list[tuple[tuple[int, ...], Source | None, Supply]] = []
        stack: list[tuple[tuple[int, ...], int, Supply]] = [((), rest, left)]
        while stack and len(found) < MOST_CHAINS:
            boards, rest, left = stack.pop()
            found += [(boards, other, left) for other in others if other[0] >= rest]
            for kind, n in enumerate(left):
                if not n:
                    continue
                room, after = self.task.room[kind], _less(left, kind)
                if room >= rest:
                    found.append(((*boards, kind), None, after))
                elif not boards or kind >= boards[-1]:
                    stack.append(((*boards, kind), rest - room, after))
        return found

    def _pieces(self, t: int, rooms: Sequence[int]) -> list[int] | None:
        """Return the pieces of a run from given boards, with the least waste found.

        Boards are used up but for the last. Where the last piece would be too short or a splice
        come where none may be, one board gives less and the last more.
        """
        run, full = self.types[t], list(rooms[:-1])
        last = run.length - sum(full)
        for shift in self._shifts(run, full, last):
            for i in {0, len(full) - 1} if shift else {0}:
                pieces = [*full, last + shift]
                pieces[i] -= shift
                if last + shift <= rooms[-1] and pieces[i] > 0 and self._fits(t, pieces):
                    return pieces
        return None

    def _shifts(self, run: SpliceRun, full: Sequence[int], last: int) -> list[int]:
        """Return by how much the last piece may have to be longer, least first."""
        rules = self.task.rules
        shifts = {0, rules.least_piece - last, rules.end_piece(run) - last}
        if rules.stagger:
            stations = [sum(full[: i + 1]) for i in range(len(full))]
            for below in run.joints_below:
                for at in stations:
                    shifts.add(at - (below - rules.stagger))
                    shifts.add(at - (run.length - below - rules.stagger))
        return sorted(s for s in shifts if s >= 0)

    def _fits(self, t: int, pieces: Sequence[int]) -> bool:
        """Return whether a run of a type may be laid of pieces."""
        key = (t, tuple(sorted(pieces)))
        if key not in self._fitting:
            self._fitting[key] = in_order(self.types[t], self.task.rules, pieces) is not None
        return self._fitting[key]

    def _sawn(self, state: _State) -> Sawn:
        """Return the boards of a complete way of sawing."""
        places = [[r for r, run in enumerate(self.task.runs) if run == t] for t in self.types]
        sawn: list[list[tuple[int, int]]] = [[] for _ in range(state.boards)]
        kinds = [0] * state.boards
        at: _State | None = state
        while at is not None and at.taken:
            run = places[at.run].pop()
            for number, kind, length in at.taken:
                kinds[number] = kind
                sawn[number].append((run, length))
            at = at.before
        return tuple((kind, tuple(cutting)) for kind, cutting in zip(kinds, sawn, strict=True))


def _less(counts: Supply, i: int) -> Supply:
    """Return counts with one less of the i-th."""
    return (*counts[:i], counts[i] - 1, *counts[i + 1 :])
