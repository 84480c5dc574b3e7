"""Variants of one layout side by side: what each takes and costs (layer: plan).

Terms. A *setting* is one value of the layout file that is varied; a *variant* is the layout with
one or more settings changed; a *quantity* is one figure told of every variant.

Public entry points: `ways` for which variants there are, `tried` for one of them, `quantities`
and `most_changed` for what they come to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final, Literal

from bedplan.errors import BedplanError, LayoutError
from bedplan.model.layout import Layout, System
from bedplan.plan.make import Plan, make_plan
from bedplan.plan.walk import FreeSearch

MOST: Final = 100
"""Variants of one comparison; more are refused."""

COST: Final = "total cost"
TO_SETTLE: Final = "to settle"

Kind = Literal["count", "volume", "money"]
Way = tuple[int | None, ...]
"""Which of its values each setting has; None as the file has it."""


@dataclass(frozen=True)
class Varied:
    """A setting as it is told.

    Parameters
    ----------
    key
        Its key path as it was asked for.
    shown
        Its values in words.
    now
        What the file says; empty where it says nothing.
    sizes, now_size
        The same as numbers of `unit`; None where they are words.
    unit
        Empty for plain numbers.
    """

    key: str
    shown: tuple[str, ...]
    now: str
    sizes: tuple[float, ...] | None = None
    now_size: float | None = None
    unit: str = ""

    def word(self, number: int | None) -> str:
        """Return one of the values in words; None stands for what the file says."""
        return (self.now or "not set") if number is None else self.shown[number]

    def is_now(self, number: int | None) -> bool:
        """Tell whether one of the values is what the file says."""
        if number is None:
            return True
        if self.sizes is not None and self.now_size is not None:
            return abs(self.sizes[number] - self.now_size) < 1e-9 * max(1.0, abs(self.now_size))
        return self.shown[number] == self.now


@dataclass(frozen=True)
class Figures:
    """What one variant takes and costs.

    Parameters
    ----------
    units, boards
        Whole units laid; boards to buy.
    loose_m3
        Loose volume of every material [m^3].
    cost
        Of all that has a price, tax included; `missing` has none.
    to_settle
        How many findings must be settled before anything is built.
    """

    units: int
    boards: int
    loose_m3: dict[str, float]
    cost: float
    missing: tuple[str, ...]
    to_settle: int


@dataclass(frozen=True)
class Trial:
    """One variant worked out, or the first fault that kept it from that."""

    way: Way
    figures: Figures | None
    fault: str = ""


@dataclass(frozen=True)
class Comparison:
    """Variants of a layout, the file as it is first.

    `wanted` counts the variants asked for; there are fewer trials where a person stopped.
    """

    title: str
    show: System
    settings: tuple[Varied, ...]
    trials: tuple[Trial, ...]
    wanted: int
    combined: bool = False

    @property
    def complete(self) -> bool:
        """Whether every variant was worked out."""
        return len(self.trials) > self.wanted

    def in_file(self, trial: Trial) -> bool:
        """Tell whether a variant is the file as it is."""
        return all(number is None for number in trial.way)


@dataclass(frozen=True)
class Quantity:
    """One figure of every trial, None where the trial has a fault."""

    name: str
    kind: Kind
    values: tuple[float | None, ...]

    @property
    def known(self) -> tuple[float, ...]:
        """The figures of the variants without a fault."""
        return tuple(value for value in self.values if value is not None)

    @property
    def change(self) -> float:
        """How far the figures lie apart as a share of the largest [-]."""
        known = self.known or (0.0,)
        largest = max(abs(value) for value in known)
        return (max(known) - min(known)) / largest if largest else 0.0

    @property
    def changes(self) -> bool:
        """Whether the figures differ by more than the noise of sums."""
        return self.change > 1e-9


def ways(counts: Sequence[int], *, combined: bool) -> list[Way]:
    """Return which variants there are for so many values of each setting, the file's own first.

    Examples
    --------
    >>> ways([2, 1], combined=False)
    [(None, None), (0, None), (1, None), (None, 0)]
    >>> ways([2, 1], combined=True)
    [(None, None), (0, 0), (1, 0)]
    """
    as_is: Way = (None,) * len(counts)
    if combined:
        return [as_is, *product(*(range(count) for count in counts))]
    single = [
        (*as_is[:setting], number, *as_is[setting + 1 :])
        for setting, count in enumerate(counts)
        for number in range(count)
    ]
    return [as_is, *single]


def unlike_file(wanted: Sequence[Way], settings: Sequence[Varied]) -> list[Way]:
    """Return variants without those that say once more what the file says; the first is it."""
    return [
        *wanted[:1],
        *(way for way in wanted[1:] if not all(map(Varied.is_now, settings, way))),
    ]


def tried(way: Way, layout: Callable[[], Layout], search: FreeSearch) -> Trial:
    """Return one variant worked out; a layout that cannot be is told by its first fault.

    Parameters
    ----------
    way
        Which variant.
    layout
        Makes it; may raise what the readers of layouts raise.
    search
        How long a path with the bond ``free`` may be searched.
    """
    try:
        return Trial(way, figures(make_plan(layout(), search)))
    except LayoutError as error:
        fault = error.faults[0]
        key = f"{fault.key}: " if fault.path else ""
        return Trial(way, None, f"{key}{fault.got}; wanted {fault.wanted}; {fault.remedy}")
    except BedplanError as error:
        return Trial(way, None, str(error))


def figures(plan: Plan) -> Figures:
    """Return what a plan takes and costs."""
    return Figures(
        sum(walk.count for walk in plan.walks),
        sum(count for part in plan.boards for _, count in part.cut.buy),
        {total.material: total.loose_m3 for total in plan.totals},
        plan.order.total,
        plan.order.missing,
        sum(finding.severity == "error" for finding in plan.findings),
    )


def quantities(trials: Sequence[Trial]) -> tuple[Quantity, ...]:
    """Return every figure of all trials: units, boards, materials, cost, findings."""
    made = [trial.figures for trial in trials]
    materials = dict.fromkeys(name for each in made if each for name in each.loose_m3)

    def told(name: str, kind: Kind, value: Callable[[Figures], float]) -> Quantity:
        return Quantity(name, kind, tuple(None if each is None else value(each) for each in made))

    return (
        told("units laid", "count", lambda each: each.units),
        told("boards bought", "count", lambda each: each.boards),
        *(told(f"{name}, loose", "volume", _loose_of(name)) for name in materials),
        told(COST, "money", lambda each: each.cost),
        told(TO_SETTLE, "count", lambda each: each.to_settle),
    )


def _loose_of(material: str) -> Callable[[Figures], float]:
    return lambda each: each.loose_m3.get(material, 0.0)


def most_changed(made: Sequence[Quantity]) -> Quantity | None:
    """Return the quantity that changes by the largest share, cost and findings left out."""
    candidates = [each for each in made if each.name not in (COST, TO_SETTLE) and each.changes]
    return max(candidates, key=lambda each: each.change, default=None)
