"""What a step of the building is: quantities, tools, checks, what comes before (layer: plan).

Public entry points: `BuildStep`, `Quantity`, `Check`; the steps themselves are made by
`bedplan.plan.building`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from bedplan.takeoff.fill import FillLine

QuantityKind = Literal["count", "length", "area", "in place", "loose", "in the bank"]
"""What an amount is: a plain count, metres, square metres, or cubic metres of one state."""

CheckKind = Literal["count", "length", "height", "slope"]
"""What a figure to check is: a plain count, metres, metres over the datum, drop per distance."""

NO_SOURCE: Final = "common practice, no source"
FILE: Final = "the layout file"
FIRST: Final = "first principles"


@dataclass(frozen=True)
class Quantity:
    """So much of one thing.

    Parameters
    ----------
    name
        Of the thing.
    amount
        A count, [m], [m^2] or [m^3].
    kind
        Which of these; volumes tell their state.
    """

    name: str
    amount: float
    kind: QuantityKind = "count"


@dataclass(frozen=True)
class Check:
    """One thing to measure before the next step.

    Parameters
    ----------
    what
        Is measured.
    figure
        It should be this; None where any figure between the limits will do.
    least, most
        Limits it may not leave; None where there is none.
    source
        Of the limits.
    kind
        What the figures are; lengths and heights [m].
    """

    what: str
    figure: float | None
    least: float | None
    most: float | None
    source: str
    kind: CheckKind = "length"


def about(what: str, figure_m: float, within_m: float, source: str = NO_SOURCE) -> Check:
    """Return a check of a length that may stray so far both ways [m]."""
    return Check(what, figure_m, figure_m - within_m, figure_m + within_m, source)


def exactly(what: str, count: int, source: str = FIRST) -> Check:
    """Return a check of a count."""
    return Check(what, count, count, count, source, "count")


def volumes(line: FillLine, share: float = 1.0) -> tuple[Quantity, Quantity]:
    """Return a share of a layer as it comes, and as it lies in the end [m^3]."""
    return (
        Quantity(line.material, line.loose_m3 * share, "loose"),
        Quantity(line.material, line.in_place_m3 * share, "in place"),
    )


@dataclass(frozen=True)
class BuildStep:
    """One step of the building.

    Parameters
    ----------
    key
        What other steps call it, unique in a plan.
    title
        What is done.
    where
        Beds, paths or gate it is done at.
    quantities
        What goes into it.
    tools
        What is needed to do it.
    before
        Keys of the steps that must be finished first; steps these wait for are not repeated.
    checks
        What to measure when it is done.
    cautions
        Topics of the plan's cautions that bear on it.
    """

    key: str
    title: str
    where: str
    quantities: tuple[Quantity, ...] = ()
    tools: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    checks: tuple[Check, ...] = ()
    cautions: tuple[str, ...] = ()
