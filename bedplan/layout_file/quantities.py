"""Field types of the layout file: lengths, volumes, prices, names (layer: layout_file).

Each type reads what TOML gives, a text or a number, into one SI float, and refuses what cannot
be meant: a negative width, a kerf in pounds, a board ten kilometres long. A refusal carries
*got*, *wanted* and *remedy*; `bedplan.layout_file.faults` turns it into a fault. The unit of
bare numbers comes with the validation context, as ``{"unit": "in"}``.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from tokenize import TokenError
from typing import Annotated, Final, NamedTuple

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from bedplan import units
from bedplan.errors import UnitError
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.materials import SoldBy
from bedplan.units import Dimension

LONGEST_M: Final = 10_000.0
"""No garden and no roll is longer than this [m]; above it a unit was mistaken."""

_LONGEST_TEXT: Final = 200
_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f]")
_WILD: Final = re.compile(
    r"""\*\*                                         # a power by any other sign than ^
    |\^(?!\s*-?[123](?!\s*[\d.^]))                 # a power above 3, or a power of a power
    |[eE][-+]?\d{3,}|\d{21,}                       # a number no computer should expand
    |[()\[\]{}=!&|<>~#@\\;:$?\x00-\x08]""",
    re.VERBOSE,
)
"""What no quantity holds; the unit reader is never shown such a text."""

_BROKEN_UNITS: Final = (AssertionError, ArithmeticError, TokenError)
"""How pint's expression reader fails on ``"3 lb /"``, ``"3 lb/0"`` and ``"3 lb 'x"``."""


def refusal(got: str, wanted: str, remedy: str, *, bare: bool = False) -> PydanticCustomError:
    """Return the error that carries a fault's three parts through pydantic.

    `bare` marks a number that only lacks the file's `unit`; those are told once for all.
    """
    return PydanticCustomError(
        "fault", "{got}", {"got": got, "wanted": wanted, "remedy": remedy, "bare": bare}
    )


def spell(value: object) -> str:
    """Return a value as the file writes it, shortened: ``"3 kg"``, ``true``, ``a list of 2``."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            text = value if len(value) <= 60 else value[:57] + "..."
            return f'"{text}"'
        case int() | float():
            return _spell_number(value)
        case list():
            return f"a list of {len(value)}"
        case dict():
            return "a table"
    return f"a date or time ({value})"


def _spell_number(value: float) -> str:
    if isinstance(value, int) and abs(value) > 1e15:
        digits = str(abs(value)) if abs(value) < 10**1000 else ""
        return f"a number of {len(digits) or 'over 1000'} digits"
    return f"{value:g}" if abs(value) > 1e15 else str(value)


@dataclass(frozen=True)
class Reader:
    """Read one quantity and hold it between two limits.

    Parameters
    ----------
    dimension
        What is measured.
    least, most
        Limits in SI units, both allowed.
    smallest, largest
        How the limits are said.
    """

    dimension: Dimension
    least: float
    most: float
    smallest: str
    largest: str

    def __call__(self, value: object, info: ValidationInfo) -> float:
        """Return the quantity in SI units, or raise the refusal."""
        return self.within(_parse(value, self.dimension, self._bare_unit(info)), value)

    def within(self, size: float, value: object) -> float:
        """Return the size if it is inside the limits, else raise the refusal."""
        if size < self.least:
            remedy = (
                "write a size above 0"
                if size <= 0 < self.least
                else "write it without the minus sign"
                if size < 0 <= self.least
                else "check the number and its unit"
            )
            raise refusal(spell(value), f"{self._words}, {self.smallest}", remedy)
        if size > self.most:
            raise refusal(
                spell(value), f"{self._words}, {self.largest}", "check the number and its unit"
            )
        return size

    @property
    def _words(self) -> str:
        return units.describe(self.dimension)

    def _bare_unit(self, info: ValidationInfo) -> str:
        """Return the file's unit for lengths; nothing else may be written bare."""
        if self.dimension != "length" or not info.context:
            return ""
        return str(info.context.get("unit", ""))


def _parse(value: object, dimension: Dimension, bare: str) -> float:
    words = units.describe(dimension)
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise refusal(spell(value), words, "write a number or a text with its unit")
    if isinstance(value, str) and not _is_sane(value):
        raise refusal(spell(value), words, "write one number and its unit")
    if isinstance(value, str) and "," in value:
        raise refusal(spell(value), words, "write the decimal sign as a point, and no commas")
    if isinstance(value, int) and abs(value) > 1e15:
        raise refusal(spell(value), words, "check the number and its unit")
    try:
        return units.parse(value, dimension, bare)
    except UnitError as error:
        raise _from_unit_error(error, value, dimension, bare) from None
    except _BROKEN_UNITS:
        raise refusal(spell(value), words, "write one number and its unit") from None


def _is_sane(text: str) -> bool:
    return len(text) <= _LONGEST_TEXT and _WILD.search(text) is None


def _from_unit_error(
    error: UnitError,
    value: object,
    dimension: Dimension,
    bare: str,
) -> PydanticCustomError:
    if isinstance(value, str):
        return refusal(spell(value), error.wanted, error.remedy)
    if not math.isfinite(float(str(value))):
        return refusal(spell(value), units.describe(dimension), "write a size a tape can measure")
    lacks_unit = dimension == "length" and not bare
    remedy = (
        f'add its unit, as in "{value} in", or set unit = "in" at the top of the layout'
        if lacks_unit
        else "write it as a text with its unit"
    )
    return refusal(f"{spell(value)}, which has no unit", error.wanted, remedy, bare=lacks_unit)


def _read_name(value: object) -> str:
    if not isinstance(value, str):
        raise refusal(spell(value), "a name in quotes", "put the name in quotes")
    if not value.strip() or len(value) > _LONGEST_TEXT or _CONTROL.search(value):
        raise refusal(spell(_CONTROL.sub("?", value)), "a name on one line", "write a short name")
    return value


def _read_side_or_angle(value: object) -> str | float:
    """Return degrees for a number or ``"30 deg"``, else the text: a side's name or `best`."""
    angle = as_angle(value)
    if angle is None:
        return _read_name(value)
    if not -360 <= angle <= 360:
        raise refusal(
            spell(value),
            "an angle from -360 to 360 degrees",
            "write degrees, or the name of a side",
        )
    return angle


def as_angle(value: object) -> float | None:
    """Return a number or a text such as ``"30 deg"`` in degrees; None for any other value.

    Examples
    --------
    >>> as_angle("30 deg"), as_angle(45), as_angle("AB")
    (30.0, 45.0, None)
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return None
    if isinstance(value, str) and not (re.match(r"\s*[-+]?[.\d]", value) and _is_sane(value)):
        return None
    try:
        return units.parse(value, "angle")
    except UnitError:
        return None if isinstance(value, str) else math.inf
    except _BROKEN_UNITS:
        return math.inf


class SaleUnit(NamedTuple):
    """A unit of sale: as written, what it measures, and its size in m³ or kg."""

    text: str
    dimension: Dimension
    size: float

    @property
    def measure(self) -> SoldBy:
        """Whether the yard measures volume or weight."""
        return "weight" if self.dimension == "mass" else "volume"


def _read_sale_unit(value: object) -> SaleUnit:
    wanted = 'a unit of volume or weight, such as "yd^3" or "ton"'
    text = _read_name(value)
    if not (len(text) < 40 and re.match(r"[^\W\d_]", text) and _is_sane(text)):
        raise refusal(spell(text), wanted, "write the unit alone, without a number")
    try:
        return SaleUnit(text, *units.parse_unit(text))
    except (UnitError, *_BROKEN_UNITS):
        raise refusal(spell(text), wanted, "write the unit the yard sells by") from None


def _read_load(value: object, info: ValidationInfo) -> float:
    """Return a step or a smallest load, measured as the unit of sale beside it is."""
    per = info.data.get("per")
    reader = LOAD_READERS.get(per.dimension if isinstance(per, SaleUnit) else "volume")
    if reader is None or not isinstance(per, SaleUnit):
        return 0.0  # `per` is at fault and told; its own loads cannot be judged
    return reader(value, info)


_TEXT_OR_NUMBER: Final[dict[str, object]] = {"type": ["string", "number"]}
_TEXT: Final[dict[str, object]] = {"type": "string"}
_MOST_LENGTH: Final = "at most 10 km"

LOAD_READERS: Final[dict[str, Reader]] = {
    "volume": Reader("volume", 0.0, 1e6, "not below 0", "at most 1000000 m^3"),
    "mass": Reader("mass", 0.0, 1e9, "not below 0", "at most 1000000 t"),
}

Coordinate = Annotated[
    float,
    BeforeValidator(Reader("length", -LONGEST_M, LONGEST_M, "not below -10 km", _MOST_LENGTH)),
    WithJsonSchema(_TEXT_OR_NUMBER),
]
Length = Annotated[
    float,
    BeforeValidator(Reader("length", 0.0, LONGEST_M, "not below 0", _MOST_LENGTH)),
    WithJsonSchema(_TEXT_OR_NUMBER),
]
Size = Annotated[
    float,
    BeforeValidator(Reader("length", SNAP_M, LONGEST_M, "at least 0.1 mm", _MOST_LENGTH)),
    WithJsonSchema(_TEXT_OR_NUMBER),
]
Volume = Annotated[float, BeforeValidator(LOAD_READERS["volume"]), WithJsonSchema(_TEXT)]
BagVolume = Annotated[
    float,
    BeforeValidator(Reader("volume", 1e-6, 1e3, "at least 1 mL", "at most 1000 m^3")),
    WithJsonSchema(_TEXT),
]
AreaSize = Annotated[
    float,
    BeforeValidator(Reader("area", 1e-4, 1e8, "at least 1 cm^2", "at most 100 km^2")),
    WithJsonSchema(_TEXT),
]
Weight = Annotated[
    float,
    BeforeValidator(Reader("mass", 1e-6, 1e6, "above 0", "at most 1000 t")),
    WithJsonSchema(_TEXT),
]
Density = Annotated[
    float,
    BeforeValidator(Reader("density", 1.0, 30_000.0, "at least 1 kg/m^3", "at most 30000 kg/m^3")),
    WithJsonSchema(_TEXT),
]
Compaction = Annotated[
    float,
    BeforeValidator(Reader("ratio", 1.0, 5.0, "loose over in place, so at least 1", "at most 5")),
    WithJsonSchema(_TEXT_OR_NUMBER),
]
Share = Annotated[
    float,
    BeforeValidator(Reader("ratio", 0.0, 1.0, "not below 0", "at most 1")),
    WithJsonSchema(_TEXT_OR_NUMBER),
]
Settling = Annotated[
    float,
    BeforeValidator(Reader("ratio", 0.0, 0.9, "not below 0", "at most 0.9")),
    WithJsonSchema(_TEXT_OR_NUMBER),
]
Name = Annotated[
    str, BeforeValidator(_read_name), WithJsonSchema({"type": "string", "minLength": 1})
]
SideOrAngle = Annotated[
    str | float, BeforeValidator(_read_side_or_angle), WithJsonSchema(_TEXT_OR_NUMBER)
]
PerUnit = Annotated[SaleUnit, BeforeValidator(_read_sale_unit), WithJsonSchema(_TEXT)]
Load = Annotated[float, BeforeValidator(_read_load), WithJsonSchema(_TEXT)]
