"""The values a setting is varied over: ranges and lists (layer: layout_file).

Sums are exact: ``2 in .. 4 in by 1/2 in`` gives 2-1/2 in, not a float near it.

Public entry points: `read_values`, `size_in`.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from bedplan.errors import LayoutError, UnitError
from bedplan.plan.whatif import MOST
from bedplan.units import Dimension, parse

Value = str | float
Size = tuple[Fraction, str]

_RANGE: Final = re.compile(r"(.*?)\s*\.\.\s*(.*)", re.DOTALL)
_BY: Final = re.compile(r"(.*?)\s*\bby\b\s*(.*)", re.DOTALL)
_QUANTITY: Final = re.compile(
    r"([-+]?)\s*((?:\d{1,9}(?:\s*-\s*|\s+))?\d{1,9}/\d{1,9}|\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})"
    r"\s*([^\d\s].*)?",
    re.ASCII,
)
_ITEM: Final = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([^,"']*))\s*(,|$)""")
_NUMBER: Final = re.compile(r"[-+]?(\d{1,15}(\.\d{1,9})?|\.\d{1,9})", re.ASCII)
_DIMENSIONS: Final[tuple[Dimension, ...]] = (
    "length",
    "area",
    "volume",
    "mass",
    "density",
    "ratio",
    "angle",
)
_TAPE: Final = {"in", "inch", "inches", "ft", "foot", "feet", "yd", "yard", "yards"}
_MARKS: Final = {'"': "in", "″": "in", "”": "in", "'": "ft", "′": "ft", "’": "ft"}


def read_values(words: str, key: str) -> tuple[tuple[Value, ...], tuple[str, ...], str]:
    """Return the values of a range or a list, the same in words, and their unit if they have one.

    Parameters
    ----------
    words
        ``2 in .. 4 in by 1/2 in``, or ``slab, brick``.
    key
        Of the setting, for messages.

    Raises
    ------
    LayoutError
        If they cannot be read, or are more than `bedplan.plan.whatif.MOST`.

    Examples
    --------
    >>> read_values("2 in .. 3 in by 1/2 in", "depth")
    (('2 in', '2-1/2 in', '3 in'), ('2 in', '2-1/2 in', '3 in'), 'in')
    >>> read_values('slab, "old brick", 30', "pavers")
    (('slab', 'old brick', 30), ('slab', 'old brick', '30'), '')
    """
    match = _RANGE.fullmatch(words)
    if match and not words.lstrip().startswith(('"', "'")):
        values, unit = _range(match[1], match[2], key)
    else:
        values = _list(words, key)
        unit = next((size[1] for size in map(_size, map(str, values)) if size), "")
    return values, tuple(map(_shown, values)), unit


def size_in(value: object, unit: str, file_unit: str) -> float | None:
    """Return a value as a number of a unit; None if it is a word or measures something else.

    Parameters
    ----------
    value
        From the file, or one it is to have.
    unit
        Empty for plain numbers.
    file_unit
        The unit of bare lengths in the file.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    if isinstance(value, int | float):
        factor = _factor(file_unit, unit) if unit and file_unit else Fraction(not unit)
        return float(value) * float(factor) if factor else None
    size = _size(value)
    factor = _factor(size[1], unit) if size else None
    return float(size[0] * factor) if size and factor else None


def _range(first: str, rest: str, key: str) -> tuple[tuple[Value, ...], str]:
    by = _BY.fullmatch(rest)
    if by is None:
        raise _unreadable(key, f"{first} .. {rest}", "no step", "add it: A .. B by STEP")
    sizes = []
    for part in (first, by[1], by[2]):
        size = _size(part)
        if size is None:
            raise _unreadable(key, part, "no number", "write a number and its unit, such as 2 in")
        sizes.append(size)
    unit = next((unit for _, unit in reversed(sizes) if unit), "")
    start, end, step = (_as(size, unit, key) for size in sizes)
    return tuple(_value(each, unit) for each in _stepped(start, end, step, key)), unit


def _stepped(start: Fraction, end: Fraction, step: Fraction, key: str) -> list[Fraction]:
    if step <= 0:
        raise _unreadable(key, f"by {_mixed(step)}", "a step of nothing", "take one above zero")
    count = int(abs(end - start) // step) + 1
    if count > MOST:
        remedy = f"take a larger step: at most {MOST} values"
        raise _unreadable(key, f"by {_mixed(step)}", f"{count} values", remedy)
    way = step if end >= start else -step
    return [start + number * way for number in range(count)]


def _list(words: str, key: str) -> tuple[Value, ...]:
    values: list[Value] = []
    at, more = 0, ","
    while more and (match := _ITEM.match(words, at)):
        at, more = match.end(), match[4]
        quoted = match[1] if match[1] is not None else match[2]
        values.append(quoted if quoted is not None else _plain(match[3].strip(), words, key))
    if more:  # a quote in the middle of a word, such as 2 ft 6": marks of feet and inches
        values = [_plain(each.strip(), words, key) for each in words.split(",")]
    if len(values) > MOST:
        remedy = f"take at most {MOST}"
        raise _unreadable(key, words[:40], f"{len(values)} values", remedy)
    return tuple(values)


def _plain(word: str, words: str, key: str) -> Value:
    """Return an item without quotes as TOML would have it: a number, true or false, or a text."""
    if not word:
        raise _unreadable(
            key, words, "a value left empty", "write values with commas between them"
        )
    if word in ("true", "false"):
        return word == "true"
    return _bare(Fraction(word)) if _NUMBER.fullmatch(word) else word


def _bare(size: Fraction) -> float:
    return size.numerator if size.denominator == 1 else float(size)


def _shown(value: Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return value if isinstance(value, str) else f"{value:.10g}"


def _size(words: str) -> Size | None:
    """Return a quantity as a number of its own unit; several parts as inches or metres."""
    match = _QUANTITY.fullmatch(words.strip())
    if match is None:
        return None
    sign, number, unit = match.groups()
    unit = _MARKS.get(unit or "", unit or "")
    if re.search(r"\d", unit) and not re.search(r"[\^/]", unit):
        return _several(words)
    try:
        size = sum((Fraction(part) for part in re.split(r"(?<=\d)[-\s]+", number)), Fraction(0))
    except ZeroDivisionError:
        return None
    return (-size if sign == "-" else size), unit


def _several(words: str) -> Size | None:
    try:
        length_m = parse(words, "length")
    except UnitError:
        return None
    inches = Fraction(length_m / 0.0254).limit_denominator(640)
    exact = abs(float(inches) * 0.0254 - length_m) < 1e-9
    return (inches, "in") if exact else (Fraction(length_m).limit_denominator(10**6), "m")


def _factor(unit: str, other: str) -> Fraction | None:
    """Return how many of another unit one unit is; None where they measure different things."""
    if unit == other:
        return Fraction(1)
    for dimension in _DIMENSIONS if unit and other else ():
        try:
            ratio = parse(f"1 {unit}", dimension) / parse(f"1 {other}", dimension)
        except UnitError:
            continue
        return Fraction(ratio).limit_denominator(10**6)
    return None


def _as(size: Size, unit: str, key: str) -> Fraction:
    """Return a size in a unit; one without takes it over."""
    factor = _factor(size[1] or unit, unit)
    if factor is None:
        got = f"{_mixed(size[0])} {size[1]}"
        raise _unreadable(key, got, f"not to be had in {unit}", "give A, B and STEP alike units")
    return size[0] * factor


def _value(size: Fraction, unit: str) -> Value:
    if not unit:
        return _bare(size)
    return f"{_mixed(size) if unit in _TAPE else f'{float(size):.10g}'} {unit}"


def _mixed(size: Fraction) -> str:
    """Return a number as a tape has it: ``2-1/2``."""
    whole, part = divmod(abs(size), 1)
    words = [str(whole)] if whole or not part else []
    words += [str(part)] if part else []
    return ("-" if size < 0 else "") + "-".join(words)


def _unreadable(key: str, words: str, got: str, remedy: str) -> LayoutError:
    wanted = "A .. B by STEP, such as 2 in .. 4 in by 1/2 in, or values with commas between them"
    return LayoutError.of((), f"{key} = {words}: {got}", wanted, remedy)
