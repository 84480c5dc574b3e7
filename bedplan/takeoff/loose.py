"""Loose material: by the load, by the bag, or both, at the least cost (layer: engines).

Public entry point: `buy_loose`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bedplan.errors import StockError
from bedplan.model.materials import Bag, Bulk, Material

ROUNDING_M3 = 1e-9
"""A cubic millimetre short is not short: 2.0 yd³ needed is 2 yd³ bought [m^3]."""


@dataclass(frozen=True)
class LoosePurchase:
    """What to buy of one loose material.

    Parameters
    ----------
    bulk_units
        Amount by the load, in the bulk's own unit of sale.
    bags
        Each bag size and how many.
    cost
        Everything including delivery; None if a price is missing.
    bought_m3, surplus_m3
        Loose volume bought, and what is left over with it [m^3].
    """

    bulk_units: float
    bags: tuple[tuple[Bag, int], ...]
    cost: float | None
    bought_m3: float
    surplus_m3: float


def buy_loose(need_m3: float, material: Material) -> LoosePurchase:
    """Return the cheapest way to buy at least a loose volume.

    Parameters
    ----------
    need_m3
        Loose volume still needed after what is on hand [m^3].
    material
        How it is sold. Ways of sale without a price are used only where none has one.

    Notes
    -----
    Every load that could pay is tried, each with the cheapest bags for the rest (branch and
    bound on the bag sizes), so the answer is the optimum.

    Raises
    ------
    StockError
        If a load is sold by weight and the file gives the material no density.
    """
    if need_m3 <= ROUNDING_M3:
        return LoosePurchase(0.0, (), 0.0, 0.0, max(0.0, -need_m3))
    bulk, bags = _priced_first(material)
    if bulk is None and not bags:
        return LoosePurchase(0.0, (), None, 0.0, 0.0)
    unit_m3 = _unit_volume(material, bulk) if bulk is not None else 0.0
    options = [
        _purchase(need_m3, bulk, bags, amount, amount * unit_m3)
        for amount in _loads(need_m3, bulk, unit_m3, bags)
    ]
    return min(
        options, key=lambda option: (_cost(option.bulk_units, bulk, option.bags), option.bought_m3)
    )


def _purchase(
    need_m3: float, bulk: Bulk | None, bags: Sequence[Bag], amount: float, carried_m3: float
) -> LoosePurchase:
    """Return a load with the cheapest bags for what it leaves."""
    counts = _cheapest_bags(need_m3 - carried_m3, bags)
    chosen = tuple((bag, n) for bag, n in zip(bags, counts, strict=True) if n)
    bought_m3 = carried_m3 + sum(bag.volume_m3 * n for bag, n in chosen)
    priced = (bulk is None or amount == 0.0 or bulk.price is not None) and all(
        bag.price is not None for bag, _ in chosen
    )
    return LoosePurchase(
        amount,
        chosen,
        _cost(amount, bulk, chosen) if priced else None,
        bought_m3,
        bought_m3 - need_m3,
    )


def _priced_first(material: Material) -> tuple[Bulk | None, tuple[Bag, ...]]:
    """Return the ways of sale to choose from: the priced ones, or else all there are."""
    bulk = material.bulk if material.bulk and material.bulk.price is not None else None
    bags = tuple(bag for bag in material.bags if bag.price is not None)
    if bulk is not None or bags:
        return bulk, bags
    return material.bulk, () if material.bulk else material.bags[:1]


def _unit_volume(material: Material, bulk: Bulk) -> float:
    """Return the loose volume of one unit of sale [m^3]."""
    if bulk.measure == "volume":
        return bulk.unit_size
    if material.density_kg_m3 is None:
        message = (
            f"{material.name!r} is sold by weight ({bulk.unit}) and has no density; "
            'give its weight per volume, such as density = "2950 lb/yd^3"'
        )
        raise StockError(message)
    return bulk.unit_size / material.density_kg_m3


def _loads(
    need_m3: float, bulk: Bulk | None, unit_m3: float, bags: Sequence[Bag]
) -> Iterator[float]:
    """Yield the loads worth a look, in units of sale: none, each step, the last that covers."""
    if bags:
        yield 0.0
    if bulk is None:
        return
    step, least = bulk.step / bulk.unit_size, bulk.minimum / bulk.unit_size
    if step <= 0.0:
        yield _any_amount(need_m3, bulk, unit_m3, bags)
        return
    full = (need_m3 - ROUNDING_M3) / unit_m3
    last = max(1, math.ceil(full / step), math.ceil(least / step - 1e-9))
    first = max(1, math.ceil(least / step - 1e-9)) if bags else last
    yield from (step * number for number in range(first, last + 1))


def _any_amount(need_m3: float, bulk: Bulk, unit_m3: float, bags: Sequence[Bag]) -> float:
    """Return the best load where any amount above the minimum is sold: what bags leave."""
    least = bulk.minimum / bulk.unit_size
    counts = _cheapest_bags(need_m3 - least * unit_m3, bags, (bulk.price or 0.0) / unit_m3)
    bagged_m3 = sum(bag.volume_m3 * n for bag, n in zip(bags, counts, strict=True))
    return max(least, (need_m3 - bagged_m3) / unit_m3)


def _cost(amount: float, bulk: Bulk | None, bags: Sequence[tuple[Bag, int]]) -> float:
    """Return what a choice costs, a missing price counted as nothing for comparison only."""
    load = 0.0
    if bulk is not None and amount > 0.0:
        load = (bulk.price or 0.0) * amount + bulk.delivery
    return load + sum((bag.price or 0.0) * n for bag, n in bags)


def bags_for(need_m3: float, bag: Bag) -> int:
    """Return how many bags of one size hold a volume.

    Examples
    --------
    >>> bags_for(0.9144**3, Bag(2 * 0.3048**3))  # 27 ft³ from bags of 2 ft³
    14
    """
    return max(0, math.ceil((need_m3 - ROUNDING_M3) / bag.volume_m3))


def _cheapest_bags(
    need_m3: float, bags: Sequence[Bag], by_volume: float = math.inf
) -> tuple[int, ...]:
    """Return how many of each bag cover a volume at the least cost.

    What the bags leave may be had at a price by volume, if there is one [1/m^3]; a bag dearer
    than that is then no use.
    """
    if not bags or need_m3 <= ROUNDING_M3:
        return (0,) * len(bags)
    rate = [(bag.price or 0.0) / bag.volume_m3 for bag in bags]
    order = sorted((i for i in range(len(bags)) if rate[i] < by_volume), key=lambda i: rate[i])
    best_cost, best = math.inf, (0,) * len(order)

    def fill(place: int, left_m3: float, spent: float, counts: tuple[int, ...]) -> None:
        nonlocal best_cost, best
        if left_m3 <= ROUNDING_M3 or place == len(order):
            total = spent + (left_m3 * by_volume if left_m3 > ROUNDING_M3 else 0.0)
            if total < best_cost - 1e-9:
                best_cost, best = total, counts + (0,) * (len(order) - place)
            return
        bag, here = bags[order[place]], rate[order[place]]
        most = bags_for(left_m3, bag)
        for count in range(most, -1, -1):
            # what is left costs at least the price per volume of this, the next cheapest, bag
            rest = max(0.0, left_m3 - count * bag.volume_m3)
            cost = spent + count * (bag.price or 0.0)
            if cost + rest * here >= best_cost - 1e-9:
                if count < most:
                    break
                continue
            fill(place + 1, left_m3 - count * bag.volume_m3, cost, (*counts, count))

    fill(0, need_m3, 0.0, ())
    return tuple(best[order.index(i)] if i in order else 0 for i in range(len(bags)))
