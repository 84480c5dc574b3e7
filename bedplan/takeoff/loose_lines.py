"""Lines of the order for one loose material, and what stays over of it (layer: engines).

Public entry point: `loose_lines`.
"""

from __future__ import annotations

from typing import Final

from bedplan.model.materials import Bag, Bulk, Material
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.loose import LoosePurchase, buy_loose
from bedplan.takeoff.order_lines import OrderLine, Surplus
from bedplan.units import (
    FOOT2_M2,
    FOOT3_M3,
    YARD3_M3,
    System,
    format_mass,
    format_volume,
)

SPECK_M3: Final = 1e-9
"""Less than this is rounding, not a need: a cubic millimetre [m^3]."""


def loose_lines(
    total: FillTotal, material: Material, show: System
) -> tuple[list[OrderLine], list[Surplus]]:
    """Return what to buy of a material after what is on hand, and what stays over."""
    wanted_m3 = total.loose_m3 * (1.0 + material.waste)
    need_m3 = wanted_m3 - material.on_hand_m3
    if need_m3 <= SPECK_M3:
        return [], _left(material.name, material.on_hand_m3 - total.loose_m3, show)
    bought = buy_loose(need_m3, material)
    note = _need_note(need_m3, material, show)
    if material.bulk is None and not material.bags:
        unit, size = _volume_unit(show)
        weight_kg = _weight(material, need_m3)
        line = OrderLine(
            "Fill",
            material.name,
            round(need_m3 / size, 2),
            unit,
            None,
            note,
            mass_kg=weight_kg,
            volume_m3=need_m3,
            good=material.name,
        )
        return [line], []
    over_m3 = bought.surplus_m3 + wanted_m3 - total.loose_m3
    return _bought_lines(material, bought, note, show), _left(material.name, over_m3, show)


def _bought_lines(
    material: Material, bought: LoosePurchase, note: str, show: System
) -> list[OrderLine]:
    lines = []
    if bought.bulk_units and material.bulk is not None:
        lines.append(_load(material, material.bulk, bought, _spare_note(note, bought, show)))
        note = ""
    for bag, count in bought.bags:
        item = f"{material.name} {bag_word(bag)} {bag_size(bag, show)}"
        cost = None if bag.price is None else bag.price * count
        each_kg = bag_weight_kg(bag, material)
        weight_kg = None if each_kg is None else each_kg * count
        packed_m3 = bag.packed_m3 or bag.volume_m3
        lines.append(
            OrderLine(
                "Fill",
                item,
                count,
                "each",
                cost,
                note,
                bag.price,
                0.0,
                weight_kg,
                packed_m3 * count,
                material.name,
            )
        )
        note = ""
    return lines


def _load(material: Material, bulk: Bulk, bought: LoosePurchase, note: str) -> OrderLine:
    cost = None if bulk.price is None else bulk.price * bought.bulk_units + bulk.delivery
    bagged_m3 = sum(bag.volume_m3 * count for bag, count in bought.bags)
    volume_m3 = bought.bought_m3 - bagged_m3
    return OrderLine(
        "Fill",
        material.name,
        round(bought.bulk_units, 6),
        bulk.unit,
        cost,
        note,
        bulk.price,
        bulk.delivery,
        _weight(material, volume_m3),
        volume_m3,
        material.name,
    )


def bag_weight_kg(bag: Bag, material: Material) -> float | None:
    """Return what one bag weighs [kg]: as the file says, else by the material's density."""
    return bag.weight_kg if bag.weight_kg is not None else _weight(material, bag.volume_m3)


def _weight(material: Material, volume_m3: float) -> float | None:
    return None if material.density_kg_m3 is None else volume_m3 * material.density_kg_m3


def _left(name: str, volume_m3: float, show: System) -> list[Surplus]:
    unit, size = _volume_unit(show)
    amount = round(volume_m3 / size, 2)
    return [Surplus(name, amount, unit)] if amount > 0.0 else []


def _volume_unit(show: System) -> tuple[str, float]:
    return ("m^3", 1.0) if show == "metric" else ("yd^3", YARD3_M3)


def bag_size(bag: Bag, show: System) -> str:
    """Return what a bag or bale is asked for by: ``2 ft^3``, ``50 L``, ``for 20 ft^2``."""
    if bag.packed_m3 is None and bag.covers_m2 is not None:
        if show == "metric":
            return f"for {bag.covers_m2:.3g} m^2"
        return f"for {bag.covers_m2 / FOOT2_M2:.4g} ft^2"
    volume_m3 = bag.packed_m3 or bag.volume_m3
    if show == "metric":
        return f"{volume_m3 * 1000:g} L"
    return f"{volume_m3 / FOOT3_M3:g} ft^3"


def bag_word(bag: Bag) -> str:
    """Return what it is: a bag, or a bale of pressed material."""
    return "bag" if bag.packed_m3 is None and bag.covers_m2 is None else "bale"


def _need_note(need_m3: float, material: Material, show: System) -> str:
    words = [f"{format_volume(need_m3, show)} needed loose"]
    if material.density_kg_m3 is not None:
        words.append(format_mass(need_m3 * material.density_kg_m3, show))
    if material.on_hand_m3:
        words.append(f"after {format_volume(material.on_hand_m3, show)} on hand")
    if material.waste:
        words.append(f"{100 * material.waste:g} % for waste among it")
    return ", ".join(words)


def _spare_note(note: str, bought: LoosePurchase, show: System) -> str:
    if bought.surplus_m3 < 0.001 or bought.bags:
        return note
    return f"{note}, {format_volume(bought.surplus_m3, show)} to spare"
