"""How an order is taxed, hauled and carried (layer: model).

Public entry point: `OrderTerms`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

BARROW_M3: Final = 3 * 0.3048**3
"""A barrow load [m^3]: 3 ft³, half of a 6 ft³ tray; common practice, no source."""

LIFT_KG: Final = 23.0
"""NIOSH reference weight for one person lifting in ideal posture [kg]: 51 lb, quoted by OSHA."""


@dataclass(frozen=True)
class OrderTerms:
    """What a layout's ``[order]`` says.

    Parameters
    ----------
    tax
        Sales tax as a share of every price.
    payload_kg, payload_m3
        What the vehicle carries in one trip, by weight [kg] and by volume [m^3]; None where
        the file does not say.
    barrow_m3
        One barrow load [m^3].
    lift_kg
        Weight above which one person should not lift alone [kg].
    """

    tax: float = 0.0
    payload_kg: float | None = None
    payload_m3: float | None = None
    barrow_m3: float = BARROW_M3
    lift_kg: float = LIFT_KG
