"""Quantities as people write them, to SI and back (layer: units).

Inside bedplan every number is metres, square metres, cubic metres, kilograms, kilograms per
cubic metre, degrees, or a plain ratio. `read` parses, `write` formats.
"""

from bedplan.units.read import Dimension, describe, parse, parse_unit
from bedplan.units.write import (
    FOOT2_M2,
    FOOT3_M3,
    FOOT_M,
    INCH_M,
    POUND_KG,
    SHORT_TON_KG,
    YARD3_M3,
    System,
    format_area,
    format_length,
    format_mass,
    format_volume,
    nanometres,
    tell_area,
    tell_length,
)

__all__ = [
    "FOOT2_M2",
    "FOOT3_M3",
    "FOOT_M",
    "INCH_M",
    "POUND_KG",
    "SHORT_TON_KG",
    "YARD3_M3",
    "Dimension",
    "System",
    "describe",
    "format_area",
    "format_length",
    "format_mass",
    "format_volume",
    "nanometres",
    "parse",
    "parse_unit",
    "tell_area",
    "tell_length",
]
