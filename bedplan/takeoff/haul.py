"""Trips with a vehicle, loads of a barrow, weights of an order (layer: engines).

Every thing is hauled by itself, as yards load it: a trip carries one material or one kind of unit,
and no more than the vehicle's payload by weight and by volume. A unit is never split. First
principles. Public entry point: `haul`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bedplan.model.ordering import OrderTerms
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.order_lines import OrderLine

CLOSE = 1e-9
"""A load this much over is no load more [-]."""


@dataclass(frozen=True)
class Load:
    """What it takes to bring and to place one thing.

    Parameters
    ----------
    item
        Name in the file.
    mass_kg, volume_m3
        Bought weight [kg] and volume [m^3]; None where the file does not tell.
    trips
        With the vehicle; None where its payload or the weight is not known.
    barrows
        Loads to wheel, what was on hand among them; 0 for what is not loose.
    """

    item: str
    mass_kg: float | None
    volume_m3: float | None
    trips: int | None
    barrows: int = 0


def haul(
    lines: Iterable[OrderLine], totals: Sequence[FillTotal], terms: OrderTerms
) -> tuple[Load, ...]:
    """Return the loads of every bought thing that has a weight or a volume, and of all fill.

    Parameters
    ----------
    lines
        Of the order.
    totals
        All loose material that is placed.
    terms
        What vehicle and barrow carry.
    """
    by_good: dict[str, list[OrderLine]] = {total.material: [] for total in totals}
    for line in lines:
        if line.group == "Fill" or line.mass_kg is not None:
            by_good.setdefault(line.good, []).append(line)
    loose_m3 = {total.material: total.loose_m3 for total in totals}
    return tuple(
        _load(good, bought, loose_m3.get(good, 0.0), terms) for good, bought in by_good.items()
    )


def _load(good: str, bought: Sequence[OrderLine], loose_m3: float, terms: OrderTerms) -> Load:
    trips = [_trips(line, terms) for line in bought]
    return Load(
        good,
        _sum(line.mass_kg for line in bought),
        _sum(line.volume_m3 for line in bought),
        None if None in trips else sum(number or 0 for number in trips),
        _loads(loose_m3, terms.barrow_m3),
    )


def _trips(line: OrderLine, terms: OrderTerms) -> int | None:
    """Return the trips one line takes; None where a limit is given and its figure is missing."""
    limits = [(line.mass_kg, terms.payload_kg), (line.volume_m3, terms.payload_m3)]
    asked = [(figure, most) for figure, most in limits if most is not None]
    if not asked or any(figure is None for figure, _ in asked):
        return None
    whole = line.unit == "each"
    pieces = line.quantity if whole else 0.0
    return max(_loads(figure or 0.0, most, pieces) for figure, most in asked)


def _loads(figure: float, most: float, pieces: float = 0) -> int:
    """Return how many loads carry a figure, so many pieces of it never split.

    A piece heavier than a load counts as one load: the finding is the reader's.
    """
    if figure <= 0.0:
        return 0
    if not pieces:
        return math.ceil(figure / most - CLOSE)
    in_one = max(1, math.floor(most / (figure / pieces) + CLOSE))
    return math.ceil(pieces / in_one)


def _sum(figures: Iterable[float | None]) -> float | None:
    """Return a sum, None where one of the figures is."""
    known = list(figures)
    if any(figure is None for figure in known):
        return None
    return sum(figure or 0.0 for figure in known)
