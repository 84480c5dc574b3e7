"""How long each piece is, once it is known which board serves which run (layer: engines, stock).

Length flows from boards to runs: every run is met to the last unit, no board gives more than it
has, and no piece is shorter than its rule. As all figures are whole, so is the flow.

References
----------
L. R. Ford & D. R. Fulkerson, Canadian Journal of Mathematics 8, 1956.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from bedplan.stock.splice_task import Sawn, Task

Links: TypeAlias = Mapping[tuple[int, int], int]
"""Least length of the piece from a board for a run, by ``(board, run)``."""

TARGETS = 8
"""Boards tried as the one that keeps the long offcut."""


@dataclass
class _Flow:
    """Lengths given so far, and what boards and runs still lack."""

    given: dict[tuple[int, int], int]
    least: Links
    room: list[int]
    need: list[int]

    def fill(self, closed: int | None) -> None:
        """Give as much as can be given, from any board but a closed one."""
        for run in range(len(self.need)):
            while self.need[run] and self._push(run, closed):
                pass

    def _push(self, start: int, closed: int | None) -> bool:
        """Give one run more along a shortest way of changes; return whether there was one.

        A way goes from the run to a board that gives it more, from there, if that board is used
        up, to another run that takes less of it, and so on to a board with room.
        """
        came: dict[tuple[str, int], tuple[str, int] | None] = {("run", start): None}
        queue = [("run", start)]
        for at in queue:
            side, i = at
            if side == "board" and self.room[i] and i != closed:
                self._change(came, at)
                return True
            for board, run in self.given:
                link = (board, run)
                if side == "run" and run == i:
                    onward = ("board", board)
                elif side == "board" and board == i and self.given[link] > self.least[link]:
                    onward = ("run", run)
                else:
                    continue
                if onward not in came:
                    came[onward] = at
                    queue.append(onward)
        return False

    def _change(
        self, came: dict[tuple[str, int], tuple[str, int] | None], end: tuple[str, int]
    ) -> None:
        """Shift as much as possible along a way found."""
        way = [end]
        while (before := came[way[-1]]) is not None:
            way.append(before)
        way.reverse()
        more = [(way[n + 1][1], way[n][1]) for n in range(0, len(way) - 1, 2)]
        less = [(way[n][1], way[n + 1][1]) for n in range(1, len(way) - 1, 2)]
        spare = [self.given[link] - self.least[link] for link in less]
        shift = min(self.room[end[1]], self.need[way[0][1]], *spare)
        for link in more:
            self.given[link] += shift
        for link in less:
            self.given[link] -= shift
        self.room[end[1]] -= shift
        self.need[way[0][1]] -= shift


def shared_out(
    task: Task, kinds: tuple[int, ...], links: Links, target: int | None = None
) -> Sawn | None:
    """Return boards sawn along given links, or None if the links cannot meet every run.

    Parameters
    ----------
    task
        What is to be covered.
    kinds
        Kind of each board.
    links
        Which board serves which run, and with how much at least.
    target
        Board that shall give as little as possible.
    """
    room = [task.room[kind] + task.kerf for kind in kinds]
    need = [run.length for run in task.runs]
    for (board, run), least in links.items():
        room[board] -= least + task.kerf
        need[run] -= least
    if min(room) < 0 or min(need) < 0:
        return None
    flow = _Flow(dict(links), links, room, need)
    flow.fill(target)
    flow.fill(None)
    if any(flow.need):
        return None
    return tuple(
        (kind, tuple((r, length) for (b, r), length in flow.given.items() if b == board))
        for board, kind in enumerate(kinds)
    )


def links_of(task: Task, sawn: Sawn) -> dict[tuple[int, int], int] | None:
    """Return the links of boards already sawn; None if a board serves a run twice.

    Of each spliced run the two longest pieces are taken as its ends.
    """
    given = {(b, r): length for b, (_, cutting) in enumerate(sawn) for r, length in cutting}
    if len(given) != sum(len(cutting) for _, cutting in sawn):
        return None
    links: dict[tuple[int, int], int] = {}
    for r, run in enumerate(task.runs):
        mine = sorted((link for link in given if link[1] == r), key=lambda k: -given[k])
        for place, link in enumerate(mine):
            ends = task.rules.end_piece(run) if place < 2 else task.rules.least_piece
            links[link] = run.length if len(mine) == 1 else ends
    return links


def gathered(task: Task, sawn: Sawn) -> Sawn:
    """Return the same boards with pieces made longer and shorter so that one offcut grows long."""
    links = links_of(task, sawn)
    if links is None:
        return sawn
    kinds = tuple(kind for kind, _ in sawn)
    paid = [b for b, kind in enumerate(kinds) if task.price[kind]]
    paid.sort(key=lambda b: sum(length for _, length in sawn[b][1]) - task.room[kinds[b]])
    tried = [shared_out(task, kinds, links, target) for target in paid[:TARGETS]]
    valid = [s for s in tried if s is not None and task.laid(s) is not None]
    return max([sawn, *valid], key=lambda s: longest_rest(task, s))


def longest_rest(task: Task, sawn: Sawn) -> int:
    """Return the longest rest of a board bought."""
    rests = (
        task.room[kind] - sum(length + task.kerf for _, length in cutting)
        for kind, cutting in sawn
        if task.price[kind]
    )
    return max(rests, default=0)
