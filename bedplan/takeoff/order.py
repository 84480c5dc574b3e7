"""What to buy, after what is on hand (layer: engines).

Public entry point: `make_order`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bedplan.model.materials import Bag, Board, Fabric, Material, Paver, StockItem
from bedplan.stock.model import CutPlan
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.loose import LoosePurchase, buy_loose
from bedplan.units import (
    FOOT3_M3,
    YARD3_M3,
    System,
    format_length,
    format_mass,
    format_volume,
    nanometres,
)


@dataclass(frozen=True)
class OrderLine:
    """One line of the order; a cost of None is a price the file does not give."""

    group: str
    item: str
    quantity: float
    unit: str
    cost: float | None
    note: str = ""


@dataclass(frozen=True)
class Order:
    """The order: its lines, the cost of those with a price, and the items without one."""

    lines: tuple[OrderLine, ...]
    cost: float
    missing: tuple[str, ...]


@dataclass(frozen=True)
class Needs:
    """What the plan uses, by kind of thing."""

    boards: Sequence[tuple[Board, CutPlan]]
    units: Sequence[tuple[Paver, int]]
    rolls: Sequence[tuple[Fabric, CutPlan, int | None]]
    fill: Sequence[FillTotal]
    materials: Mapping[str, Material]


def make_order(needs: Needs, show: System) -> Order:
    """Return what to buy once everything on hand is used.

    Parameters
    ----------
    needs
        Cut plans (whose leftovers are used already), unit counts and fill totals.
    show
        The system lengths and volumes are told in.
    """
    lines: list[OrderLine] = []
    for board, cut in needs.boards:
        lines += _lengths("Boards", f"{board.name} board", board.stock, cut, show)
    lines += [line for paver, count in needs.units if (line := _units(paver, count))]
    for fabric, cut, pins in needs.rolls:
        lines += _lengths("Weed barrier", f"{fabric.name} roll", fabric.rolls, cut, show)
        if pins:
            cost = None if fabric.pin_price is None else fabric.pin_price * pins
            lines.append(OrderLine("Weed barrier", f"{fabric.name} pins", pins, "each", cost))
    for total in needs.fill:
        lines += _loose(total, needs.materials[total.material], show)
    return Order(
        tuple(lines),
        sum(line.cost or 0.0 for line in lines),
        tuple(line.item for line in lines if line.cost is None),
    )


def _lengths(
    group: str, name: str, stock: Sequence[StockItem], cut: CutPlan, show: System
) -> list[OrderLine]:
    leftovers = sum(board.on_hand for board in cut.boards)
    note = f"and {leftovers} on hand" if leftovers else ""
    lines = []
    for length, count in cut.buy:
        item = f"{name} {format_length(length * 1e-9, show)}"
        lines.append(OrderLine(group, item, count, "each", _cost(stock, length, count), note))
        note = ""
    return lines


def _cost(stock: Sequence[StockItem], length: int, count: int) -> float | None:
    """Return what so many of one length cost, the cheapest offers of it taken first."""
    offers = sorted(
        (item for item in stock if nanometres(item.length_m) == length),
        key=lambda item: math.inf if item.price is None else item.price,
    )
    total, left = 0.0, count
    for offer in offers:
        taken = left if offer.limit is None else min(left, offer.limit)
        if taken and offer.price is None:
            return None
        total += (offer.price or 0.0) * taken
        left -= taken
    return total


def _units(paver: Paver, count: int) -> OrderLine | None:
    to_buy = max(0, count - paver.on_hand)
    if not to_buy:
        return None
    used = min(count, paver.on_hand)
    note = f"{count} to lay, {used} of them on hand" if used else ""
    return OrderLine(
        "Pavers",
        paver.name,
        to_buy,
        "each",
        None if paver.price is None else paver.price * to_buy,
        note,
    )


def _loose(total: FillTotal, material: Material, show: System) -> list[OrderLine]:
    need_m3 = total.loose_m3 - material.on_hand_m3
    if need_m3 <= 0.0:
        return []
    bought = buy_loose(need_m3, material)
    note = _need_note(need_m3, material, show)
    if material.bulk is None and not material.bags:
        unit, size = ("m^3", 1.0) if show == "metric" else ("yd^3", YARD3_M3)
        return [OrderLine("Fill", material.name, round(need_m3 / size, 2), unit, None, note)]
    lines = []
    if bought.bulk_units and material.bulk is not None:
        bulk = material.bulk
        cost = None if bulk.price is None else bulk.price * bought.bulk_units + bulk.delivery
        lines.append(
            OrderLine(
                "Fill",
                material.name,
                round(bought.bulk_units, 6),
                bulk.unit,
                cost,
                _spare_note(note, bought, show),
            )
        )
        note = ""
    lines += [
        OrderLine(
            "Fill",
            f"{material.name} bag {bag_size(bag, show)}",
            count,
            "each",
            None if bag.price is None else bag.price * count,
            note,
        )
        for bag, count in bought.bags
    ]
    return lines


def bag_size(bag: Bag, show: System) -> str:
    """Return the size printed on a bag: ``2 ft^3`` or ``50 L``."""
    if show == "metric":
        return f"{bag.volume_m3 * 1000:g} L"
    return f"{bag.volume_m3 / FOOT3_M3:g} ft^3"


def _need_note(need_m3: float, material: Material, show: System) -> str:
    words = [f"{format_volume(need_m3, show)} needed loose"]
    if material.density_kg_m3 is not None:
        words.append(format_mass(need_m3 * material.density_kg_m3, show))
    if material.on_hand_m3:
        words.append(f"after {format_volume(material.on_hand_m3, show)} on hand")
    return ", ".join(words)


def _spare_note(note: str, bought: LoosePurchase, show: System) -> str:
    if bought.surplus_m3 < 0.001 or bought.bags:
        return note
    return f"{note}, {format_volume(bought.surplus_m3, show)} to spare"
