"""Where a run longer than stock is spliced (layer: engines).

Splices keep off the ends of their run and off the splices of the tier below, no piece is longer
than stock, and as few pieces as these rules allow are as even as they can be. The places where a
splice may lie are intervals; those from which the end of the run can still be reached in so many
pieces are found from the end backwards, and the splices are then chosen from the start, each as
near to its even place as it can be. First principles.

Public entry point: `splice_stations`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bedplan.geometry.tolerance import FIT_M
from bedplan.units import nanometres

Interval = tuple[float, float]

MORE_PIECES: Final = 2
"""So many pieces more than the least are tried before a rule is broken."""

HALVINGS: Final = 20
"""Steps in which the greatest stagger is sought where the one asked cannot be kept."""

CLOSE_M: Final = 1e-10
"""Rounding of stations [m]: a tenth of the nanometres the cut plan measures in."""


@dataclass(frozen=True)
class SpliceRules:
    """What the splices of one run must keep.

    Parameters
    ----------
    longest_m
        Longest piece the stock gives [m].
    clear_m
        Least distance from either end of the run [m].
    stagger_m, below
        Least distance [m] from each splice of the tier below, and where those are [m].
    """

    longest_m: float
    clear_m: float
    stagger_m: float = 0.0
    below: tuple[float, ...] = ()

    def kept(self, stations: Sequence[float], first: float, last: float) -> bool:
        """Tell whether splices keep off the ends and off the tier below."""
        return (
            self.end_m(stations, first, last) >= self.clear_m - FIT_M
            and self.apart_m(stations) >= self.stagger_m - FIT_M
        )

    def end_m(self, stations: Sequence[float], first: float, last: float) -> float:
        """Return how near a splice comes to an end of the run [m]."""
        return min((min(at - first, last - at) for at in stations), default=last - first)

    def apart_m(self, stations: Sequence[float]) -> float:
        """Return how near a splice comes to one of the tier below [m]; infinite without any."""
        apart = [abs(at - other) for at in stations for other in self.below]
        return min(apart, default=float("inf"))


def piece_count(length_m: float, longest_m: float) -> int:
    """Return how many lengths of stock a run takes, measured as the cut plan measures them."""
    return -(-nanometres(length_m) // nanometres(longest_m))


def splice_stations(first: float, last: float, rules: SpliceRules) -> tuple[float, ...]:
    """Return where a run is spliced [m], in order.

    Parameters
    ----------
    first, last
        Ends of the run [m].
    rules
        What to keep. Where that cannot be, even with more pieces than the least, splices come as
        far from the ends as they can, and then as far from the tier below.

    Examples
    --------
    >>> rules = SpliceRules(3.0, clear_m=0.3, stagger_m=0.3, below=(2.5,))
    >>> [round(at, 3) for at in splice_stations(0.0, 5.0, rules)]
    [2.2]
    """
    least = piece_count(last - first, rules.longest_m)
    if least <= 1:
        return ()
    counts = range(least, least + MORE_PIECES + 1)
    found = _kept(first, last, counts, rules)
    return found or _eased(first, last, counts, rules) or _even(first, last, least)


def _kept(
    first: float, last: float, counts: Iterable[int], rules: SpliceRules
) -> tuple[float, ...] | None:
    """Return the splices of the fewest pieces that keep the rules, or None."""
    made = (_evenly(first, last, count, rules) for count in counts)
    return next((found for found in made if found is not None), None)


def _eased(
    first: float, last: float, counts: Iterable[int], rules: SpliceRules
) -> tuple[float, ...] | None:
    """Return splices as far from the ends, and then from the tier below, as they can be."""
    clear_m = min(rules.clear_m, rules.longest_m, (last - first) / 2.0)
    possible = replace(rules, clear_m=clear_m)
    found = _kept(first, last, counts, replace(possible, stagger_m=0.0))
    low, high = 0.0, rules.stagger_m
    if found is None or not rules.below:
        return found
    asked = _kept(first, last, counts, possible)
    if asked is not None:
        return asked
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        better = _kept(first, last, counts, replace(possible, stagger_m=middle))
        low, high, found = (middle, high, better) if better else (low, middle, found)
    return found


def _even(first: float, last: float, count: int) -> tuple[float, ...]:
    return tuple(first + (last - first) * part / count for part in range(1, count))


def _evenly(first: float, last: float, count: int, rules: SpliceRules) -> tuple[float, ...] | None:
    """Return the splices of so many pieces, as even as the rules let them be; None if none."""
    even = _even(first, last, count)
    if rules.kept(even, first, last):
        return even
    allowed = _allowed(first, last, rules)
    step = (rules.longest_m, (last - first) / (2.0 * count))
    steps = [_before(allowed, [(last, last)], step)]
    for _ in range(count - 2):
        steps.append(_before(allowed, steps[-1], step))
    at, chosen = first, []
    for number, places in enumerate(reversed(steps)):
        target = at + (last - at) / (count - number)
        near = _within(places, at + step[1], at + rules.longest_m)
        if not near:
            return None
        at = min((min(max(target, a), b) for a, b in near), key=lambda x: abs(x - target))
        chosen.append(at)
    return tuple(chosen)


def _allowed(first: float, last: float, rules: SpliceRules) -> list[Interval]:
    """Return where a splice may lie: off the ends, and off every splice below."""
    free = [(first + rules.clear_m, last - rules.clear_m)]
    for at in sorted(rules.below):
        low, high = at - rules.stagger_m, at + rules.stagger_m
        free = [
            part
            for a, b in free
            for part in ((a, min(b, low)), (max(a, high), b))
            if part[1] >= part[0] - CLOSE_M
        ]
    return [(a, max(a, b)) for a, b in free if b >= a - CLOSE_M]


def _before(
    allowed: Sequence[Interval], after: Sequence[Interval], step: tuple[float, float]
) -> list[Interval]:
    """Return the allowed places from which the next splice can be reached in one piece."""
    longest_m, shortest_m = step
    reach = [(a - longest_m, b - shortest_m) for a, b in after]
    return _merged(found for a, b in reach for found in _within(allowed, a, b))


def _merged(places: Iterable[Interval]) -> list[Interval]:
    merged: list[Interval] = []
    for a, b in sorted(places):
        if merged and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def _within(places: Sequence[Interval], low: float, high: float) -> list[Interval]:
    return [
        (max(a, low), max(a, low, min(b, high)))
        for a, b in places
        if min(b, high) >= max(a, low) - CLOSE_M
    ]
