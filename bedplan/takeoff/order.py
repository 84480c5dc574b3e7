"""What to buy, after what is on hand (layer: engines).

Public entry point: `make_order`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from bedplan.model.materials import Board, Fabric, Material, Paver, StockItem
from bedplan.model.planting import Planting
from bedplan.stock.model import CutPlan
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.loose_lines import loose_lines
from bedplan.takeoff.order_lines import Order, OrderLine, Surplus
from bedplan.units import System, format_length, nanometres


@dataclass(frozen=True)
class HardwareNeed:
    """Stakes, screws or connectors: how many are used, on hand, in a pack, and a pack's price."""

    item: str
    count: int
    on_hand: int = 0
    pack: int = 1
    price: float | None = None


@dataclass(frozen=True)
class Needs:
    """What the plan uses, by kind of thing."""

    boards: Sequence[tuple[Board, CutPlan]]
    units: Sequence[tuple[Paver, int]]
    rolls: Sequence[tuple[Fabric, CutPlan, int | None]]
    fill: Sequence[FillTotal]
    materials: Mapping[str, Material]
    hardware: Sequence[HardwareNeed] = ()
    plants: Sequence[tuple[Planting, int]] = ()


def make_order(needs: Needs, show: System, tax: float = 0.0) -> Order:
    """Return what to buy once everything on hand is used.

    Parameters
    ----------
    needs
        Cut plans (whose leftovers are used already), unit counts, hardware and fill totals.
    show
        The system lengths and volumes are told in.
    tax
        Share of every price that comes on top, of deliveries too.
    """
    lines: list[OrderLine] = []
    for board, cut in needs.boards:
        lines += _lengths(
            "Boards", (board.name, "board"), board.stock, cut, show, waste=board.waste
        )
    lines += [line for need in needs.hardware if (line := _hardware(need))]
    lines += [line for paver, count in needs.units if (line := _units(paver, count))]
    for fabric, cut, pins in needs.rolls:
        lines += _lengths("Weed barrier", (fabric.name, "roll"), fabric.rolls, cut, show)
        if pins:
            item, price = f"{fabric.name} pins", fabric.pin_price
            lines.append(_each("Weed barrier", item, pins, price, good=fabric.name))
    surplus = [left for paver, count in needs.units if (left := _units_left(paver, count))]
    surplus += [left for need in needs.hardware if (left := _hardware_left(need))]
    lines += [line for spec, count in needs.plants if (line := _plants(spec, count))]
    for total in needs.fill:
        bought, over = loose_lines(total, needs.materials[total.material], show)
        lines += bought
        surplus += over
    cost = sum(line.cost or 0.0 for line in lines)
    missing = tuple(line.item for line in lines if line.cost is None)
    return Order(tuple(lines), cost, missing, cost * tax, tuple(surplus))


def _each(  # noqa: PLR0913 - one parameter a column of the order
    group: str,
    item: str,
    count: int,
    price: float | None,
    note: str = "",
    *,
    unit: str = "each",
    mass_kg: float | None = None,
    volume_m3: float | None = None,
    good: str = "",
) -> OrderLine:
    """Return a line of things that are counted."""
    cost = None if price is None else price * count
    return OrderLine(
        group, item, count, unit, cost, note, price, 0.0, mass_kg, volume_m3, good or item
    )


def with_waste(count: float, waste: float) -> int:
    """Return a count with its share for breakage, rounded up to whole things.

    Examples
    --------
    >>> with_waste(100, 0.05), with_waste(7, 0.1), with_waste(7, 0.0)
    (105, 8, 7)
    """
    return math.ceil(count * (1.0 + waste) - 1e-9)


def _lengths(
    group: str,
    name: tuple[str, str],
    stock: Sequence[StockItem],
    cut: CutPlan,
    show: System,
    *,
    waste: float = 0.0,
) -> list[OrderLine]:
    leftovers = sum(board.on_hand for board in cut.boards)
    note = f"and {leftovers} on hand" if leftovers else ""
    lines = []
    for length, used in cut.buy:
        item = f"{' '.join(name)} {format_length(length * 1e-9, show)}"
        count = with_waste(used, waste)
        spare = f"{count - used} spare" if count > used else ""
        for price, taken in _offers(stock, length, count):
            words = ", ".join(word for word in (note, spare) if word)
            lines.append(_each(group, item, taken, price, words, good=name[0]))
            note = spare = ""
    return lines


def _offers(
    stock: Sequence[StockItem], length: int, count: int
) -> Iterator[tuple[float | None, int]]:
    """Yield the price and number of each offer of one length, the cheapest taken first."""
    offers = sorted(
        (item for item in stock if nanometres(item.length_m) == length),
        key=lambda item: math.inf if item.price is None else item.price,
    )
    left = count
    for offer in offers:
        last = offer is offers[-1]  # spares may go past a limit: the yard is asked for them
        taken = left if offer.limit is None or last else min(left, offer.limit)
        if taken:
            yield offer.price, taken
        left -= taken


def _hardware(need: HardwareNeed) -> OrderLine | None:
    """Return the packs to buy, rounded up; None where enough is on hand."""
    packs = _packs(need)
    if not packs:
        return None
    words = [f"{need.count} used"] if need.pack > 1 or need.on_hand else []
    words += [f"{need.on_hand} on hand"] if need.on_hand else []
    unit = f"box of {need.pack}" if need.pack > 1 else "each"
    return _each("Hardware", need.item, packs, need.price, ", ".join(words), unit=unit)


def _packs(need: HardwareNeed) -> int:
    return -(-max(0, need.count - need.on_hand) // need.pack)


def _hardware_left(need: HardwareNeed) -> Surplus | None:
    left = need.on_hand + _packs(need) * need.pack - need.count
    return Surplus(need.item, left, "each") if left else None


def _units(paver: Paver, count: int) -> OrderLine | None:
    wanted = with_waste(count, paver.waste)
    to_buy = max(0, wanted - paver.on_hand)
    if not to_buy:
        return None
    used = min(count, paver.on_hand)
    words = [f"{count} to lay, {used} of them on hand"] if used else []
    words += [f"{wanted - count} spare"] if wanted > count else []
    mass_kg = None if paver.weight_kg is None else paver.weight_kg * to_buy
    volume_m3 = paver.face_m2 * paver.thickness_m * to_buy
    return _each(
        "Pavers",
        paver.name,
        to_buy,
        paver.price,
        ", ".join(words),
        mass_kg=mass_kg,
        volume_m3=volume_m3,
    )


def _plants(spec: Planting, count: int) -> OrderLine | None:
    """Return the plants to buy for one bed."""
    to_buy = count - spec.on_hand
    if to_buy <= 0:
        return None
    note = f"{count} to plant, {spec.on_hand} of them on hand" if spec.on_hand else ""
    return _each("Plants", f"{spec.kind} for {spec.bed}", to_buy, spec.price, note, good=spec.kind)


def _units_left(paver: Paver, count: int) -> Surplus | None:
    left = max(paver.on_hand, with_waste(count, paver.waste)) - count
    return Surplus(paver.name, left, "each") if left else None
