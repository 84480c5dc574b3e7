"""What a table of text is (layer: outputs)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bedplan.units import System, format_mass

Align = Literal["left", "right"]
Row = tuple[str, ...]


@dataclass(frozen=True)
class Column:
    """A column's heading and which way it is set."""

    heading: str
    align: Align = "right"


@dataclass(frozen=True)
class Table:
    """A titled table of texts; `note` stands below it."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""


def named(heading: str, *rest: str) -> tuple[Column, ...]:
    """Return a first column set left, and the others set right."""
    return (Column(heading, "left"), *(Column(word) for word in rest))


def money(cost: float | None) -> str:
    """Return a cost with two decimals, or that there is none."""
    return "no price" if cost is None else f"{cost:.2f}"


def mass(mass_kg: float | None, show: System) -> str:
    """Return a weight, or that no density gives one."""
    return "no density" if mass_kg is None else format_mass(mass_kg, show)
