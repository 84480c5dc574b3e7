"""One long offcut instead of many short ones (layer: engines, stock).

Which boards are bought is settled; pieces only change their places. Short lists are searched
through as far as a fixed number of steps goes, longest piece first, each into the tightest board
first; in long ones pieces are moved and exchanged while that helps. The longest offcut is
sought, not proven.
"""

from __future__ import annotations

from bedplan.stock.problem import Board, Problem

FEW = 30
"""Pieces up to which a list is searched through."""
STEPS = 1_000
"""Steps of one such search."""
TARGETS = 8
"""Boards tried as the one that keeps the long offcut."""


def concentrated(problem: Problem, boards: tuple[Board, ...]) -> tuple[Board, ...]:
    """Return the same boards with pieces moved so that one offcut grows long.

    Of the boards that cost money, each of the emptiest is tried in turn: its pieces move to where
    they fit most tightly, or change places with a shorter piece, as long as that is possible.
    """
    boards = lengthened(problem, boards)
    paid = [b for b, (kind, _) in enumerate(boards) if problem.cost[kind]]
    paid.sort(key=lambda b: -_room(problem, boards[b]))
    plans = [boards, *(_emptied(problem, boards, b) for b in paid[:TARGETS])]
    if problem.pieces <= FEW:
        first = {boards[b][0]: b for b in reversed(paid)}
        plans += [plan for b in first.values() for plan in _packed_off(problem, boards, b)]
    return max(plans, key=lambda plan: _longest_rest(problem, plan))


def lengthened(problem: Problem, boards: tuple[Board, ...]) -> tuple[Board, ...]:
    """Return the same contents on the longest boards to be had at the same cost."""
    left = list(problem.limit)
    for kind, _ in boards:
        left[kind] -= 1
    changed = []
    for kind, pattern in boards:
        left[kind] += 1
        alike = [k for k in problem.kinds if left[k] and problem.cost[k] == problem.cost[kind]]
        best = max(alike, key=problem.capacity.__getitem__) if problem.cost[kind] else kind
        left[best] -= 1
        changed.append((best, pattern))
    return tuple(changed)


def _longest_rest(problem: Problem, boards: tuple[Board, ...]) -> int:
    """Return the longest rest of a board that costs money."""
    return max((_room(problem, b) for b in boards if problem.cost[b[0]]), default=0)


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


def _packed_off(
    problem: Problem, boards: tuple[Board, ...], target: int
) -> list[tuple[Board, ...]]:
    """Return the same boards, and leftovers not used yet, packed anew with least on the target.

    Empty if nothing better than what the target holds now was found.
    """
    kinds = [kind for kind, _ in boards]
    for kind in problem.kinds:
        if not problem.cost[kind]:
            kinds += [kind] * (problem.limit[kind] - kinds.count(kind))
    packing = _Packing(problem, kinds, target, problem.load(boards[target][1]))
    places = packing.searched()
    if places is None:
        return []
    held: list[list[int]] = [[] for _ in kinds]
    for i, b in zip(packing.pieces, places, strict=True):
        held[b].append(i)
    if not all(h for h, kind in zip(held, kinds, strict=True) if problem.cost[kind]):
        return []
    return [tuple((kind, tuple(h)) for kind, h in zip(kinds, held, strict=True) if h)]


class _Packing:
    """The search for the least that must stay on one board."""

    def __init__(self, problem: Problem, kinds: list[int], target: int, load: int) -> None:
        self.sizes, self.target, self.load = problem.sizes, target, load
        self.pieces = [i for i, n in enumerate(problem.demand) for _ in range(n)]
        self.room = [problem.capacity[kind] for kind in kinds]
        self.least = problem.total - sum(self.room) + self.room[target]
        self.best: list[int] | None = None
        self._steps = STEPS

    def searched(self) -> list[int] | None:
        """Return the board of each piece in the best packing met; None if none is better."""
        self._place([], 0)
        return self.best

    def _place(self, places: list[int], load: int) -> None:
        """Place one piece more in every way, as long as there are steps left."""
        if load >= self.load or self._steps <= 0 or self.load <= self.least:
            return
        self._steps -= 1
        if len(places) == len(self.pieces):
            self.best, self.load = places.copy(), load
            return
        size = self.sizes[self.pieces[len(places)]]
        rooms = {r: b for b, r in enumerate(self.room) if r >= size and b != self.target}
        boards = [rooms[r] for r in sorted(rooms)]
        if self.room[self.target] >= size:
            boards.append(self.target)
        for b in boards:
            self.room[b] -= size
            places.append(b)
            self._place(places, load + size if b == self.target else load)
            places.pop()
            self.room[b] += size
