"""Lines of an order, their totals and what stays over (layer: engines).

Public entry points: `OrderLine`, `Order`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class OrderLine:
    """One line of the order.

    Parameters
    ----------
    cost
        `price` for each `unit`, and `fixed` once; None is a price the file does not give.
    note
        What is needed, and what is on hand.
    price, fixed
        Of one unit; delivery.
    mass_kg, volume_m3
        What the line weighs [kg] and measures [m^3]; None where the file does not tell.
    good
        Name of the thing in the file.
    """

    group: str
    item: str
    quantity: float
    unit: str
    cost: float | None
    note: str = ""
    price: float | None = None
    fixed: float = 0.0
    mass_kg: float | None = None
    volume_m3: float | None = None
    good: str = ""


@dataclass(frozen=True)
class GroupTotal:
    """What a group of lines costs, and how many of them have no price."""

    group: str
    cost: float
    missing: int


@dataclass(frozen=True)
class Surplus:
    """What is left over once the work is done."""

    item: str
    quantity: float
    unit: str


@dataclass(frozen=True)
class Order:
    """The order: its lines, the cost of those with a price, and the items without one.

    `tax` comes on top of `cost`; `surplus` is what stays over of what is on hand or bought.
    """

    lines: tuple[OrderLine, ...]
    cost: float
    missing: tuple[str, ...]
    tax: float = 0.0
    surplus: tuple[Surplus, ...] = ()

    @property
    def total(self) -> float:
        """Cost of the lines with a price, tax included."""
        return self.cost + self.tax

    @property
    def groups(self) -> tuple[GroupTotal, ...]:
        """One total for each group, in order of the lines."""
        names = dict.fromkeys(line.group for line in self.lines)
        return tuple(
            GroupTotal(
                name,
                sum(line.cost or 0.0 for line in self.lines if line.group == name),
                sum(line.cost is None for line in self.lines if line.group == name),
            )
            for name in names
        )
