"""New plants set out at a spacing (layer: model)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grid = Literal["square", "triangular"]


@dataclass(frozen=True)
class Planting:
    """What a ``[[planting]]`` says.

    Parameters
    ----------
    bed, kind
        Name of the bed; what is planted.
    spacing_m
        From a plant to the next [m].
    grid
        ``square``, or ``triangular``: every plant the same distance from six others.
    edge_m
        Least distance from the boards [m]; None for half the spacing.
    direction
        ``best``, the name of a side, or degrees: the way the rows run.
    price, on_hand
        Of one plant; how many there are already.
    """

    bed: str
    kind: str
    spacing_m: float
    grid: Grid = "triangular"
    edge_m: float | None = None
    direction: str | float = "best"
    price: float | None = None
    on_hand: int = 0

    @property
    def margin_m(self) -> float:
        """Least distance from the boards [m]."""
        return self.spacing_m / 2 if self.edge_m is None else self.edge_m
