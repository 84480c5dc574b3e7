"""The most spots of which no two clash, by swaps (layer: paving engine).

Spots that clash are the edges of a graph, and a layout is a set of spots no edge joins. The
search puts a spot in, takes out what clashes with it, and then, while it can, puts in free
spots and takes out one spot for two. What comes of it is kept unless it holds fewer.

For upright units a swap of one for two is quick to find: of all spots that clash with nothing
but the one taken out, two lie clear of each other just when the greatest least x is beyond the
least greatest x, or likewise in y.

Public entry point: `swapped`.

References
----------
D. V. Andrade, M. G. C. Resende and R. F. Werneck, Fast local search for the maximum independent
set problem, Journal of Heuristics 18, 2012. The test of a swap: first principles.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from bedplan.paving.free_frame import TOUCH_M, Frame, Spots

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_LOOK = 64
"""Tries between two looks at the clock."""

_BLOCK = 256
"""Spots compared with their neighbours at one time; keeps memory small."""


def swapped(
    frame: Frame,
    spots: Spots,
    chosen: BoolArray,
    tries: int,
    chance: random.Random,
    late: Callable[[], bool] = lambda: False,
) -> BoolArray:
    """Return which spots a layout of no fewer units takes.

    Parameters
    ----------
    frame
        Whose modules decide what clashes.
    spots
        The spots.
    chosen
        ``(n,)`` a layout to begin with: no two of its spots clash.
    tries
        How often a spot is put in by chance.
    chance
        Of the choice.
    late
        Tells when to end before all tries are made.
    """
    if not len(chosen):
        return chosen
    search = _Swaps(neighbours(frame, spots), *_ends(frame, spots), chosen.copy(), chance)
    search.begin()
    for number in range(tries):
        if number % _LOOK == 0 and late():
            break
        search.shake()
    return search.taken


def neighbours(frame: Frame, spots: Spots) -> list[IntArray]:
    """Return for each spot the others it clashes with."""
    order = np.argsort(spots.at[:, 1], kind="stable")
    rising = spots.at[order, 1]
    reach = float(frame.modules[:, 1].max())
    near: list[IntArray] = [np.empty(0, dtype=np.int64)] * len(order)
    for begin in range(0, len(order), _BLOCK):
        block = order[begin : begin + _BLOCK]
        low = np.searchsorted(rising, rising[begin] - reach)
        high = np.searchsorted(rising, rising[min(begin + _BLOCK, len(order)) - 1] + reach)
        others = order[low:high]
        clash = frame.clashes(spots.only(block), spots.only(others))
        clash[np.arange(len(block)), begin - low + np.arange(len(block))] = False
        one, other = np.nonzero(clash)
        split = np.split(others[other], np.searchsorted(one, np.arange(1, len(block))))
        for spot, clashing in zip(block.tolist(), split, strict=True):
            near[spot] = clashing
    return near


def _ends(frame: Frame, spots: Spots) -> tuple[Array, Array]:
    """Return the least and the greatest x and y of every spot's module, ``(2, n)`` each."""
    half = 0.5 * frame.modules[spots.kind].T
    return spots.at.T - half, spots.at.T + half - TOUCH_M


@dataclass
class _Swaps:
    """A layout being improved.

    `taken` tells which spots it takes, `met` how many of those each spot meets; `owner` is the
    sum of their numbers, so that of a spot that meets one it is that one.
    """

    near: list[IntArray]
    least: Array
    greatest: Array
    taken: BoolArray
    chance: random.Random
    met: IntArray = field(init=False)
    owner: IntArray = field(init=False)
    journal: list[tuple[int, bool]] = field(init=False, default_factory=list)

    def __post_init__(self) -> None:
        self.met = np.zeros(len(self.taken), dtype=np.int64)
        self.owner = np.zeros(len(self.taken), dtype=np.int64)
        for spot in np.flatnonzero(self.taken).tolist():
            self._put(spot, up=True)

    def begin(self) -> None:
        """Fill free spots and swap one for two wherever it can be done."""
        for spot in np.flatnonzero((self.met == 0) & ~self.taken).tolist():
            if self.met[spot] == 0:
                self._set([spot], up=True)
        self.settle(np.flatnonzero(self.taken).tolist())

    def shake(self) -> None:
        """Put a spot in by chance, make room, improve; undo all of it if a unit was lost."""
        self.journal.clear()
        spot = self._drawn()
        if spot < 0:
            return
        near = self.near[spot]
        out = near[self.taken[near]].tolist()
        self._set(out, up=False)
        self._set([spot], up=True)
        gained = 1 - len(out) + self.settle([spot], out)
        if gained < 0:
            for changed, up in reversed(self.journal):
                self._put(changed, up=not up)

    def settle(self, queue: list[int], out: Sequence[int] = ()) -> int:
        """Fill free spots and swap one for two until neither can be done; return the gain.

        `queue` are taken spots to look at, `out` spots just taken out.
        """
        begun = len(self.journal)
        gained = self._filled(out)
        queue = queue + [spot for spot, up in self.journal[begun:] if up]
        for spot in out:
            queue += self._meeting(self.near[spot])
        while queue:
            spot = queue.pop()
            pair = self._two_for(spot) if self.taken[spot] else None
            if pair is None:
                continue
            self._set([spot], up=False)
            self._set(list(pair), up=True)
            gained += 1 + self._filled([spot])
            queue += [*pair, *self._meeting(self.near[spot])]
        return gained

    def _drawn(self) -> int:
        """Return a spot that meets few of those taken; -1 if a few draws found none."""
        for _ in range(8):
            spot = self.chance.randrange(len(self.taken))
            met = int(self.met[spot])
            if not self.taken[spot] and (met <= 1 or (met == 2 and self.chance.random() < 0.5)):
                return spot
        return -1

    def _filled(self, out: Sequence[int]) -> int:
        """Take spots that meet none, among those round spots taken out; return how many."""
        count = 0
        for old in out:
            near = self.near[old]
            free = near[(self.met[near] == 0) & ~self.taken[near]]
            while len(free):
                spot = int(free[self.chance.randrange(len(free))])
                self._set([spot], up=True)
                count += 1
                free = free[(self.met[free] == 0) & ~self.taken[free]]
        return count

    def _meeting(self, near: IntArray) -> list[int]:
        """Return taken spots that alone are met by some of the given spots."""
        single = near[(self.met[near] == 1) & ~self.taken[near]]
        return sorted(set(self.owner[single].tolist()))

    def _two_for(self, spot: int) -> tuple[int, int] | None:
        """Return two spots clear of each other that meet no taken spot but this one."""
        near = self.near[spot]
        single = near[(self.met[near] == 1) & ~self.taken[near]]
        if len(single) < 2:
            return None
        for least, greatest in zip(self.least, self.greatest, strict=True):
            behind, ahead = least[single], greatest[single]
            last, first = int(behind.argmax()), int(ahead.argmin())
            if behind[last] >= ahead[first]:
                return int(single[last]), int(single[first])
        return None

    def _set(self, spots: list[int], *, up: bool) -> None:
        for spot in spots:
            self._put(spot, up=up)
            self.journal.append((spot, up))

    def _put(self, spot: int, *, up: bool) -> None:
        self.taken[spot] = up
        near = self.near[spot]
        self.met[near] += 1 if up else -1
        self.owner[near] += spot if up else -spot
