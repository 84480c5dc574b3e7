"""Plans by diving: fix columns of the continuous solution one by one (layer: engines, stock).

After each choice the rest is solved anew with columns of its own, so that the end fits as well
as the beginning. A dive ends early when the rest must cost too much; then another is made that
departs from an earlier one at one of its first choices (limited discrepancy search).

References
----------
W. D. Harvey & M. L. Ginsberg, Limited discrepancy search, IJCAI 1995. R. Sadykov, F. Vanderbeck,
A. Pessoa, I. Tahiri & E. Uchoa, INFORMS Journal on Computing 31, 2019 (diving with columns).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

import numpy as np

from bedplan.stock.columns import Master, Relaxation, Rest, settle_below
from bedplan.stock.problem import Board, Search

WHOLE = 1e-6
"""A use of a column this near a whole number is that number."""
DEPTH = 5
"""How many first choices of a dive may be departed from."""


@dataclass(frozen=True)
class Start:
    """Where a dive starts: boards chosen first, then boards not to choose next."""

    chosen: tuple[Board, ...] = ()
    barred: frozenset[Board] = frozenset()


@dataclass
class Diver:
    """Makes dives for one search; ``starts`` are those still to be made."""

    search: Search
    master: Master
    starts: deque[Start] = field(default_factory=lambda: deque([Start()]))

    def dive(self) -> bool:
        """Make the next dive; return whether it found a better plan."""
        start = self.starts.popleft()
        boards, choices = self._boards(start)
        if boards is not None and self.search.offer(boards):
            self.starts = deque([Start()])
            return True
        for depth in range(len(start.chosen), min(DEPTH, len(choices))):
            barred = start.barred if depth == len(start.chosen) else frozenset()
            self.starts.append(Start(tuple(choices[:depth]), barred | {choices[depth]}))
        return False

    def _boards(self, start: Start) -> tuple[list[Board] | None, list[Board]]:
        """Return the plan of a dive, or None if it cannot be better, and the choices made."""
        problem, search = self.search.problem, self.search
        boards, choices = list(start.chosen), list(start.chosen)
        rest = Rest(problem.demand, problem.limit).without(boards)
        while rest is not None and any(rest.need):
            ceiling = search.cost - 1 - problem.price(boards)
            relaxation = settle_below(self.master, search, rest, ceiling)
            if relaxation is None or not search.seconds_left:
                return None, choices
            taken = whole_columns(relaxation, rest, start.barred)
            if not taken:
                choice = most_used(relaxation, rest, start.barred)
                if choice is None:
                    return None, choices
                choices.append(choice)
                taken = [choice]
            boards += taken
            rest = rest.without(taken)
        return (None if rest is None else boards), choices


def whole_columns(relaxation: Relaxation, rest: Rest, barred: frozenset[Board]) -> list[Board]:
    """Return the columns a continuous solution uses once or more, as often as they fit."""
    taken: list[Board] = []
    for c in np.flatnonzero(relaxation.use > 1 - WHOLE).tolist():
        board = relaxation.boards[c]
        for _ in range(0 if board in barred else int(relaxation.use[c] + WHOLE)):
            if rest.without([*taken, board]) is not None:
                taken.append(board)
    return taken


def most_used(relaxation: Relaxation, rest: Rest, barred: frozenset[Board]) -> Board | None:
    """Return the column used most that may still be chosen, if there is one."""
    ranked: list[int] = np.argsort(-relaxation.use, kind="stable").tolist()
    boards = (relaxation.boards[c] for c in ranked if relaxation.use[c] > WHOLE)
    return next((b for b in boards if b not in barred and rest.without([b])), None)
