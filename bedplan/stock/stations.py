"""Where a run may be spliced if it is to have as few pieces as can be (layer: engines, stock).

The stations a first, a second, … splice can have are kept as intervals of whole units, so that
the answer is exact: if no number of splices reaches the end, nothing does.

References
----------
Reachable sets, first principles.
"""

from __future__ import annotations

from functools import cache
from typing import TypeAlias

from bedplan.stock.splice_model import SpliceRules, SpliceRun

Intervals: TypeAlias = list[tuple[int, int]]
"""First and last station of each, apart and rising."""


@cache
def fewest_splices(run: SpliceRun, rules: SpliceRules, longest: int) -> tuple[int, ...] | None:
    """Return stations of as few splices as the rules allow; None if they allow no way at all.

    Parameters
    ----------
    run, rules
        The run and where it may be spliced.
    longest
        The longest piece there is [whole units].
    """
    if run.length <= longest:
        return ()
    least = rules.end_piece(run)
    if longest < least:
        return None
    allowed = _allowed(run, rules)
    reached = [_meet(allowed, [(least, longest)])]
    while reached[-1] and len(reached) <= run.length // rules.least_piece:
        last = _meet(reached[-1], [(run.length - longest, run.length - least)])
        if last:
            return _traced(reached, last[-1][1], rules.least_piece, longest)
        further = [(a + rules.least_piece, b + longest) for a, b in reached[-1]]
        reached.append(_meet(allowed, further))
    return None


def _allowed(run: SpliceRun, rules: SpliceRules) -> Intervals:
    """Return where splices may be, one by one: off the ends and those of the tier below."""
    least = rules.end_piece(run)
    free, start = [], least
    for below in sorted(run.joints_below) if rules.stagger else []:
        free.append((start, below - rules.stagger))
        start = max(start, below + rules.stagger)
    free.append((start, run.length - least))
    return [(a, min(b, run.length - least)) for a, b in free if a <= min(b, run.length - least)]


def _meet(some: Intervals, others: Intervals) -> Intervals:
    """Return what is in some interval of both lists, joined where it touches."""
    found: Intervals = []
    for a, b in sorted((max(a, c), min(b, d)) for a, b in some for c, d in others):
        if a > b:
            continue
        if found and a <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(b, found[-1][1]))
        else:
            found.append((a, b))
    return found


def _traced(reached: list[Intervals], last: int, least: int, longest: int) -> tuple[int, ...]:
    """Return stations that lead to the last one, each as far along as can be."""
    stations = [last]
    for intervals in reached[-2::-1]:
        before = _meet(intervals, [(stations[-1] - longest, stations[-1] - least)])
        stations.append(before[-1][1])
    return tuple(reversed(stations))
