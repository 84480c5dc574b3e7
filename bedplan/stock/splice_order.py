"""Whether runs can be covered at all, in clear words (layer: engines, stock)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TypeAlias

from bedplan.errors import StockError
from bedplan.stock.model import StockLength
from bedplan.stock.order import Order, check_supply, checked_numbers
from bedplan.stock.splice_model import SpliceRules, SpliceRun
from bedplan.stock.stations import fewest_splices

Supplies: TypeAlias = tuple[Sequence[StockLength], int, int, Sequence[int]]
"""Stock, kerf, end trim and leftovers."""


def checked_runs(runs: Sequence[SpliceRun], rules: SpliceRules, supplies: Supplies) -> Order:
    """Return an order of whole runs, each of which some pieces make up.

    Raises
    ------
    StockError
        With every fault found.
    """
    faults = _bad_rules(runs, rules)
    try:
        order = checked_numbers([run.length for run in runs], *supplies)
    except StockError as error:
        raise StockError("; ".join([*faults, str(error)])) from None
    if not faults and runs:
        faults = _not_made(runs, rules, order)
    if faults:
        raise StockError("; ".join(faults))
    check_supply(order)
    return order


def _bad_rules(runs: Sequence[SpliceRun], rules: SpliceRules) -> list[str]:
    """Return a fault for every rule that cannot be."""
    named = [
        ("least piece", rules.least_piece, 1),
        ("splice clearance", rules.clear, 0),
        ("stagger", rules.stagger, 0),
        *(("splice clearance", run.clear, 0) for run in runs if run.clear is not None),
        *(("station of a joint below", s, 0) for run in runs for s in run.joints_below),
    ]
    faults = {}
    for name, number, least in named:
        if not hasattr(number, "__index__"):
            faults[f"{name} {number!r} is not a whole number of units"] = True
        elif number < least:
            bound = "be above zero" if least else "not be below zero"
            faults[f"{name} {number} must {bound}"] = True
    return list(faults)


def _not_made(runs: Sequence[SpliceRun], rules: SpliceRules, order: Order) -> list[str]:
    """Return a fault for every length of run that no pieces within the rules make up."""
    boards = [*(s.length for s in order.stock if s.limit != 0), *order.on_hand]
    longest = max(boards, default=0) - 2 * order.end_trim
    if longest <= 0:
        return [f"end trims of {order.end_trim} leave nothing of the longest board"]
    lost = Counter(
        (run.length, rules.end_piece(run), bool(rules.stagger and run.joints_below))
        for run in runs
        if fewest_splices(run, rules, longest) is None
    )
    return [
        f"{count} run{'s' * (count > 1)} of {length}: longer than the longest board gives, "
        f"{longest}, and no splice leaves pieces of at least {rules.least_piece} with "
        f"{ends} at the ends{f' and {rules.stagger} to joints below' * below}; "
        "allow shorter pieces or add a longer board"
        for (length, ends, below), count in sorted(lost.items(), reverse=True)
    ]
