r"""Reads quantities as people write them (layer: units; the only home of pint).

Read: ``"12 ft 6 in"``, ``"12' 6-1/2\""``, ``"5/8 in"``, ``"3.2 m"``, ``"0.6 yd^3"``,
``"36 lb"``, ``"2950 lb/yd^3"``, ``"2 %"``. Inside bedplan every number is metres, square metres,
cubic metres, kilograms, kilograms per cubic metre, or a plain ratio.

Feet, inches and fractions are parsed here and not by pint, which reads ``12' 6"`` as 72 and
``6 1/2 in`` as 3 without a word (pint issue 329). pint turns one unit expression into one factor.

Sources: the yard is 0.9144 m and the pound 0.45359237 kg exactly (International Yard and Pound
agreement, 1959); ``ton`` is the US short ton of 2000 lb, ``t`` and ``tonne`` are 1000 kg.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple

from bedplan.errors import UnitError

if TYPE_CHECKING:
    from pint import UnitRegistry

Dimension = Literal["length", "area", "volume", "mass", "density", "ratio", "angle"]

_LENGTH_UNITS: Final[dict[str, Fraction]] = {
    **dict.fromkeys(("in", "inch", "inches", '"', "″", "”"), Fraction(254, 10_000)),
    **dict.fromkeys(("ft", "foot", "feet", "'", "′", "’"), Fraction(3048, 10_000)),
    **dict.fromkeys(("yd", "yard", "yards"), Fraction(9144, 10_000)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1)),
    **dict.fromkeys(("cm", "centimetre", "centimetres"), Fraction(1, 100)),
    **dict.fromkeys(("mm", "millimetre", "millimetres"), Fraction(1, 1000)),
}
_NUMBER: Final = r"(?:\d+(?:\s*-\s*|\s+)\d+/\d+|\d+/\d+|\d+\.?\d*(?:[eE][-+]?\d{1,3})?|\.\d+)"
_LENGTH_PART: Final = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]+|[\"'″′”’])\s*")
_QUANTITY: Final = re.compile(rf"\s*([-+]?)\s*({_NUMBER})\s*([^\d\s].*?)?\s*")

_LONGEST_TEXT: Final = 200
"""Digits beyond any tape; Python refuses to read thousands of them."""
_UNIT: Final = re.compile(r"[A-Za-z]+(?:\^\d)?(?:\s*[*/]\s*[A-Za-z]+(?:\^\d)?)*")

_DEFINITIONS: Final = """
meter = [length] = m = metre
gram = [mass] = g
radian = [angle] = rad
kilo- = 1000 = k-
centi- = 0.01 = c-
milli- = 0.001 = m-
inch = 0.0254 * meter = in = inches
foot = 12 * inch = ft = feet
yard = 3 * foot = yd
pound = 453.59237 * gram = lb = lbs
ounce = pound / 16 = oz
ton = 2000 * pound = short_ton
tonne = 1000000 * gram = t = metric_ton
liter = 0.001 * meter ** 3 = L = l = litre
gallon = 231 * inch ** 3 = gal
percent = 0.01 = pct
degree = 0.017453292519943295 * radian = deg
"""


class _Kind(NamedTuple):
    """How a dimension is told and checked."""

    words: str
    example: str
    powers: dict[str, int]
    base: str


_KINDS: Final[dict[str, _Kind]] = {
    "length": _Kind("a length", '"12 ft 6 in" or "3.8 m"', {"[length]": 1}, "meter"),
    "area": _Kind("an area", '"40 ft^2" or "3.7 m^2"', {"[length]": 2}, "meter ** 2"),
    "volume": _Kind("a volume", '"0.6 yd^3" or "50 L"', {"[length]": 3}, "meter ** 3"),
    "mass": _Kind("a weight", '"36 lb" or "16 kg"', {"[mass]": 1}, "kilogram"),
    "density": _Kind(
        "a weight per volume",
        '"2950 lb/yd^3" or "1750 kg/m^3"',
        {"[mass]": 1, "[length]": -3},
        "kilogram / meter ** 3",
    ),
    "ratio": _Kind("a plain number or a percentage", '1.25 or "2 %"', {}, ""),
    "angle": _Kind("an angle in degrees", '30 or "30 deg"', {"[angle]": 1}, "degree"),
}


def describe(dimension: Dimension) -> str:
    """Return how a dimension is asked for: ``a length, such as "12 ft 6 in" or "3.8 m"``."""
    kind = _KINDS[dimension]
    return f"{kind.words}, such as {kind.example}"


def parse(value: object, dimension: Dimension, bare: str = "") -> float:
    r"""Return a quantity in SI units (angles in degrees, ratios plain).

    Parameters
    ----------
    value
        A number or a text with its unit.
    dimension
        What is wanted.
    bare
        The unit of bare numbers; empty where a bare number must be refused. Ratios and angles
        always take bare numbers.

    Raises
    ------
    UnitError
        If the text cannot be read, has no unit, has a unit of another dimension, or is not
        finite.

    Examples
    --------
    >>> parse("12' 6-1/2\"", "length")
    3.8227
    >>> parse("1 yd^3", "volume")
    0.764554857984
    >>> parse(30, "length")
    Traceback (most recent call last):
    ...
    bedplan.errors.UnitError: 30 is not a length, such as "12 ft 6 in" or "3.8 m"; add its unit
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise UnitError(value, describe(dimension), "write a number or a text with its unit")
    if isinstance(value, str) and len(value) > _LONGEST_TEXT:
        start = f"{value[:40]}…"
        raise UnitError(start, describe(dimension), "write it in fewer signs")
    try:
        result = (
            _parse_text(value, dimension)
            if isinstance(value, str)
            else _parse_number(value, dimension, bare)
        )
    except OverflowError:
        result = math.inf
    if not math.isfinite(result):
        raise UnitError(value, f"a finite number for {describe(dimension)}", "write its size")
    return result


def _parse_number(value: float, dimension: Dimension, bare: str) -> float:
    if dimension in ("ratio", "angle"):
        return float(value)
    if not bare:
        raise UnitError(value, describe(dimension), "add its unit")
    if not math.isfinite(value):
        return float(value)
    return float(_exact(str(value)) * _LENGTH_UNITS[bare])


def _parse_text(text: str, dimension: Dimension) -> float:
    if dimension == "length":
        return _parse_length(text)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitError(text, describe(dimension), _remedy(text))
    sign, number, unit = match.groups()
    size = _signed(sign, _fraction(number, text, dimension))
    if unit is None:
        if dimension in ("ratio", "angle"):
            return float(size)
        raise UnitError(text, describe(dimension), "add its unit")
    return float(size * _factor(unit, dimension, text))


def _parse_length(text: str) -> float:
    sign = "-" if text.lstrip().startswith("-") else ""
    rest = text.strip().removeprefix("-").removeprefix("+")
    total, last, position = Fraction(0), None, 0
    while match := _LENGTH_PART.match(rest, position):
        unit = _LENGTH_UNITS.get(match[2])
        if unit is None:
            return _length_by_pint(text)
        if last is not None and unit >= last:
            raise UnitError(text, describe("length"), "write the larger unit first")
        total += _fraction(match[1], text, "length") * unit
        last, position = unit, match.end()
    if last is None or position != len(rest):
        raise UnitError(text, describe("length"), _remedy(text))
    return float(_signed(sign, total))


def _length_by_pint(text: str) -> float:
    match = _QUANTITY.fullmatch(text)
    if match is None or match[3] is None:
        raise UnitError(text, describe("length"), _remedy(text))
    size = _signed(match[1], _fraction(match[2], text, "length"))
    return float(size * _factor(match[3], "length", text))


def _remedy(text: str) -> str:
    if re.search(r"\d,\d", text):
        return "write the decimal sign as a point"
    if re.fullmatch(rf"\s*[-+]?{_NUMBER}\s*", text):
        return "add its unit"
    return "write a number and its unit"


def _exact(number: str) -> Fraction:
    """Return ``6-1/2``, ``5/8``, ``12`` or ``3.2e1`` as a fraction."""
    words = re.split(r"[-\s]+", number) if "/" in number else [number]
    return sum((Fraction(word) for word in words), Fraction(0))


def _fraction(number: str, text: str, dimension: Dimension) -> Fraction:
    try:
        return _exact(number)
    except ZeroDivisionError:
        raise UnitError(text, describe(dimension), "a fraction cannot be over zero") from None


def _signed(sign: str, size: Fraction) -> Fraction:
    return -size if sign == "-" else size


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[Any]:
    """Return the one registry: a dozen definitions of our own build in 3 ms, pint's in 130."""
    from pint import UnitRegistry

    return UnitRegistry(_DEFINITIONS.strip().splitlines(), non_int_type=Fraction)


def _plain(unit: str) -> str:
    """Return a unit expression in the form pint reads: ``cu yd`` and ``yd³`` to ``yd^3``."""
    text = unit.strip().rstrip(".").replace("²", "^2").replace("³", "^3").replace("%", "percent")
    text = re.sub(r"\b(?:cu|cubic)\.?\s+([a-zA-Z]+)", r"\1^3", text)
    text = re.sub(r"\b(?:sq|square)\.?\s+([a-zA-Z]+)", r"\1^2", text)
    text = re.sub(r"([a-zA-Z])([23])\b", r"\1^\2", text)
    return re.sub(r"\bper\b", "/", text)


@lru_cache(maxsize=256)
def _factor(unit: str, dimension: Dimension, text: str) -> Fraction:
    from pint.errors import PintError

    kind = _KINDS[dimension]
    registry = _registry()
    expression = _plain(unit)
    unknown = UnitError(text, describe(dimension), f"the unit {unit!r} is not known")
    if not _UNIT.fullmatch(expression):
        raise unknown
    try:
        one = registry.Quantity(Fraction(1), registry.parse_units(expression))
    except (PintError, ValueError, AttributeError):
        raise unknown from None
    if dict(one.dimensionality) != kind.powers:
        raise UnitError(text, describe(dimension), f"{unit!r} measures something else")
    base = one.to(kind.base) if kind.base else one.to_base_units()
    return Fraction(base.magnitude)


def parse_unit(unit: str) -> tuple[Dimension, float]:
    """Return what one unit measures and its size in SI: ``"ton"`` is a mass of 907.18 kg.

    Raises
    ------
    UnitError
        If it is neither a volume nor a weight.
    """
    sold_by: tuple[Dimension, ...] = ("volume", "mass")
    for dimension in sold_by:
        try:
            return dimension, float(_factor(unit, dimension, unit))
        except UnitError:
            continue
    raise UnitError(unit, "a unit of volume or weight", 'write for instance "yd^3" or "ton"')
