"""Writes SI quantities as a tape, a bag or a scale shows them (layer: units)."""

from __future__ import annotations

from fractions import Fraction
from typing import Final, Literal

System = Literal["imperial", "metric"]

INCH_M: Final = 0.0254
FOOT_M: Final = 0.3048
YARD3_M3: Final = 0.9144**3
FOOT3_M3: Final = 0.3048**3
FOOT2_M2: Final = 0.3048**2
POUND_KG: Final = 0.45359237
SHORT_TON_KG: Final = 2000 * POUND_KG


def nanometres(length_m: float) -> int:
    """Return a length in whole nanometres: 1/64 in (396 875) and 0.1 mm are both exact.

    A length within 20 nm of a mark of either tape is that mark: shapes cut by overlays carry
    noise of a nanometre or so, and 72 in must come out of a 72 in board.
    """
    whole = round(length_m * 1e9)
    for mark in (396_875, 100_000):
        nearest = round(whole / mark) * mark
        if abs(whole - nearest) <= 20:
            return nearest
    return whole


def format_length(length_m: float, show: System = "imperial", denominator: int = 16) -> str:
    r"""Return a length as a tape reads it, to the nearest 1/16 in or millimetre.

    Examples
    --------
    >>> format_length(2.244725)
    '7\' 4-3/8"'
    >>> format_length(2.244725, "metric")
    '2245 mm'
    """
    if show == "metric":
        whole = round(length_m * 1000)
        return f"{whole} mm" if abs(whole) < 10_000 else f"{whole / 1000:.3f} m"
    ticks = round(length_m / INCH_M * denominator)
    sign, ticks = ("-" if ticks < 0 else ""), abs(ticks)
    feet, rest = divmod(ticks, 12 * denominator)
    inches, parts = divmod(rest, denominator)
    fraction = str(Fraction(parts, denominator)) if parts else ""
    small = "-".join(word for word in (str(inches) if inches else "", fraction) if word) or "0"
    if not feet:
        return f'{sign}{small}"'
    return f"{sign}{feet}'" if small == "0" else f"{sign}{feet}' {small}\""


def format_area(area_m2: float, show: System = "imperial") -> str:
    """Return an area: ``12.4 ft^2`` or ``1.15 m^2``."""
    return f"{area_m2:.2f} m^2" if show == "metric" else f"{area_m2 / FOOT2_M2:.1f} ft^2"


def format_volume(volume_m3: float, show: System = "imperial") -> str:
    """Return a volume in yards or cubic metres, in cubic feet or litres where it is small."""
    if show == "metric":
        return f"{volume_m3:.2f} m^3" if volume_m3 >= 0.1 else f"{volume_m3 * 1000:.1f} L"
    yards = volume_m3 / YARD3_M3
    return f"{yards:.2f} yd^3" if yards >= 0.1 else f"{volume_m3 / FOOT3_M3:.2f} ft^3"


def format_mass(mass_kg: float, show: System = "imperial") -> str:
    """Return a weight in pounds or kilograms, in tons or tonnes where it is large."""
    if show == "metric":
        return f"{mass_kg / 1000:.2f} t" if mass_kg >= 1000 else f"{mass_kg:.1f} kg"
    pounds = mass_kg / POUND_KG
    return f"{pounds / 2000:.2f} ton" if pounds >= 2000 else f"{pounds:.1f} lb"


def tell_length(length_m: float) -> str:
    r"""Return a length on both tapes, for messages made before a file's own system is known.

    Examples
    --------
    >>> tell_length(0.9144)
    "3' (914 mm)"
    """
    return f"{format_length(length_m)} ({format_length(length_m, 'metric')})"


def tell_area(area_m2: float) -> str:
    """Return an area in both systems: ``10.8 ft^2 (1.00 m^2)``."""
    return f"{format_area(area_m2)} ({format_area(area_m2, 'metric')})"
