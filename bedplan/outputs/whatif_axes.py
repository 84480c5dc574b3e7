"""The axes of a chart: figures to millimetres, and round figures to write beside (layer: outputs).

Public entry points: `across` for the setting, `upward` for a quantity,
`told_in` for its unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shapely.geometry import Polygon

from bedplan.outputs.scene_lettering import clean, width_mm
from bedplan.outputs.scene_palette import Style
from bedplan.plan.whatif import Quantity, Varied
from bedplan.units import FOOT3_M3, YARD3_M3, System

LABEL: Final = Style(8.0)
INSET_MM: Final = 8.0
"""From the edge of a field to its outermost points [mm]."""
APART_MM: Final = 3.0
"""Between two labels of the level axis [mm]."""
LEAST_MM: Final = 14.0
"""Words side by side have at least this, or only some of them are written [mm]."""
_STEPS: Final = 5
"""About so many figures stand up the side."""


@dataclass(frozen=True)
class Across:
    """The level axis: where each value of a setting stands [mm].

    Parameters
    ----------
    places
        By number of the value; None is what the file says.
    labelled
        Labels that have room, and where.
    room
        For one label [mm].
    at_scale
        True where distances are those of the values.
    """

    places: dict[int | None, float]
    labelled: tuple[tuple[str, float], ...]
    room: float
    at_scale: bool

    def at(self, number: int | None) -> float | None:
        """Return where a value stands; None if it has no place at this scale."""
        return self.places.get(number)


@dataclass(frozen=True)
class Upward:
    """An upright axis: heading, round figures with their words, and the field it belongs to."""

    heading: str
    ticks: tuple[tuple[float, str], ...]
    least: float
    most: float
    field: Polygon

    def at(self, value: float) -> float:
        """Return the level of a value [mm]."""
        _, bottom, _, top = self.field.bounds
        inset = INSET_MM / 2
        share = (value - self.least) / (self.most - self.least)
        return float(bottom + inset + share * (top - bottom - 2 * inset))


def across(setting: Varied, numbers: Sequence[int | None], area: Polygon) -> Across:
    """Return the axis of a setting, for those of its values that are drawn."""
    left, _, right, _ = area.bounds
    left, right = left + INSET_MM, right - INSET_MM
    if setting.sizes is None:
        step = (right - left) / len(numbers)
        places = {number: left + (i + 0.5) * step for i, number in enumerate(numbers)}
        every = math.ceil(LEAST_MM / step)
        labels = tuple((setting.word(number), x) for number, x in places.items())[::every]
        return Across(places, labels, every * step - APART_MM, at_scale=False)
    sizes = {number: size for number in numbers if (size := _size(setting, number)) is not None}
    least, most = min(sizes.values(), default=0.0), max(sizes.values(), default=0.0)
    span = (most - least) or 1.0
    start = left if most > least else (left + right) / 2
    places = {
        number: start + (size - least) / span * (right - left) for number, size in sizes.items()
    }
    labels = _with_room([(_label(setting, number), x) for number, x in places.items()])
    return Across(places, labels, right - left, at_scale=True)


def _size(setting: Varied, number: int | None) -> float | None:
    if number is None or setting.sizes is None:
        return setting.now_size
    return setting.sizes[number]


def _label(setting: Varied, number: int | None) -> str:
    """Return a value without its unit; the file's own as a number if written otherwise."""
    words = setting.word(number)
    bare = words.removesuffix(setting.unit).strip() if setting.unit else words
    if number is None and not bare.replace("-", "").replace("/", "").replace(".", "").isdigit():
        return f"{setting.now_size or 0.0:.6g}"
    return clean(bare)


def _with_room(labels: list[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """Return from the left those labels that keep apart."""
    kept: list[tuple[str, float]] = []
    edge = -math.inf
    for words, x in sorted(labels, key=lambda label: label[1]):
        half = width_mm(words, LABEL) / 2
        if x - half >= edge:
            kept.append((words, x))
            edge = x + half + APART_MM
    return tuple(kept)


def upward(quantity: Quantity, show: System, field: Polygon) -> Upward:
    """Return the axis of a quantity over all trials, in the units the layout is shown in."""
    unit, size = told_in(quantity, show)
    known = [value / size for value in quantity.known] or [0.0]
    least, most = min(known), max(known)
    step = round_step(max(most - least, 1e-9 * abs(most), 1e-6) / _STEPS)
    if quantity.kind == "count" or most == least:
        step = max(step, 1.0)
    first, last = math.floor(least / step), math.ceil(most / step)
    if first == last:
        first, last = first - (first > 0), last + 1
    digits = max(0, -math.floor(math.log10(step)))
    ticks = tuple((n * step * size, f"{n * step:.{digits}f}") for n in range(first, last + 1))
    heading = f"{quantity.name} [{unit}]" if unit else quantity.name
    return Upward(heading, ticks, first * step * size, last * step * size, field)


def round_step(least: float) -> float:
    """Return the smallest of 1, 2 and 5 times a power of ten that is no less.

    Examples
    --------
    >>> round_step(1.3), round_step(0.021), round_step(50.0)
    (2.0, 0.05, 50.0)
    """
    power = 10.0 ** math.floor(math.log10(least))
    return next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= least * (1.0 - 1e-9))


def told_in(quantity: Quantity, show: System) -> tuple[str, float]:
    """Return the unit all figures of a quantity are told in, and its size in SI."""
    if quantity.kind != "volume":
        return "", 1.0
    most = max(quantity.known, default=0.0)
    if show == "metric":
        return ("m^3", 1.0) if most >= 0.1 else ("L", 0.001)
    return ("yd^3", YARD3_M3) if most >= 0.1 * YARD3_M3 else ("ft^3", FOOT3_M3)
