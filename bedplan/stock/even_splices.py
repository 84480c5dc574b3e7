"""A run spliced by itself, before anything is known of the others (layer: engines, stock)."""

from __future__ import annotations

from itertools import pairwise

from bedplan.stock.splice_model import SpliceRules, SpliceRun
from bedplan.stock.splice_task import in_order
from bedplan.stock.stations import fewest_splices


def evenly(run: SpliceRun, rules: SpliceRules, longest: int) -> list[int] | None:
    """Return few pieces: equal, or equal between ends as short as may be, or any by the rules."""
    count, ends = -(-run.length // longest), rules.end_piece(run)
    ways = [_parts(run.length, count)]
    if count > 2 and run.length - 2 * ends >= count - 2:
        ways.append([ends, ends, *_parts(run.length - 2 * ends, count - 2)])
    for pieces in ways:
        if max(pieces) <= longest and in_order(run, rules, pieces) is not None:
            return pieces
    stations = fewest_splices(run, rules, longest)
    if stations is None:
        return None
    return [b - a for a, b in pairwise((0, *stations, run.length))]


def _parts(length: int, count: int) -> list[int]:
    """Return a length in whole parts that differ by one unit at most."""
    return [length // count + (i < length % count) for i in range(count)]
