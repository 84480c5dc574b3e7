"""Reads which settings of a layout are to be varied, and writes the variants (layer: layout_file).

A setting is written ``bed.herb bed.mulch.depth = 2 in .. 4 in by 1/2 in`` or ``path.walk.pavers =
slab, brick``: a key path, tables of a list called by their name or numbered from 1 as faults do,
``size[2]``; then a range or a list.

Public entry points: `read_setting`, `variant`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from bedplan.errors import LayoutError
from bedplan.layout_file.patch import with_value_at, with_values
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.references import GOODS
from bedplan.layout_file.setting_values import Value, read_values, size_in
from bedplan.plan.whatif import Varied

_STEP: Final = re.compile(
    r"""\s*(?:"([^"]+)"|'([^']+)'|([^.\s"'\[\]][^.\[\]]*?))\s*((?:\[\d+\])*)\s*(\.|$)"""
)
_EXAMPLE: Final = "bed.herb bed.mulch.depth = 2 in .. 4 in by 1/2 in"


@dataclass(frozen=True)
class Setting:
    """A setting that is varied: where it stands in the file, its values, and how it is told."""

    path: KeyPath
    values: tuple[Value, ...]
    there: bool
    varied: Varied


def read_setting(words: str, data: Mapping[str, Any]) -> Setting:
    """Return a setting as it is asked for.

    Parameters
    ----------
    words
        Key path, ``=``, and a range or a list.
    data
        What the layout file holds.

    Raises
    ------
    LayoutError
        If it cannot be read, or the file has no such place.

    Examples
    --------
    >>> data = {"bed": [{"name": "herbs", "width": "2 ft"}]}
    >>> made = read_setting("bed.herbs.width = 2 ft .. 3 ft by 6 in", data)
    >>> made.path, made.values
    (('bed', 0, 'width'), ('24 in', '30 in', '36 in'))
    """
    key, steps, rest = _split(words)
    path, there, now = _found(steps, data, key)
    values, shown, unit = read_values(rest, key)
    file_unit = str(data.get("unit", ""))
    if not unit and isinstance(now, str) and size_in(now, file_unit, file_unit) is not None:
        unit = file_unit  # bare numbers of a length are in the file's unit
    sizes = [size_in(value, unit, file_unit) for value in values]
    whole = tuple(size for size in sizes if size is not None)
    numbered = len(whole) == len(values)
    varied = Varied(
        key,
        shown,
        str(now) if there else "",
        whole if numbered else None,
        size_in(now, unit, file_unit) if numbered and there else None,
        unit if numbered else "",
    )
    return Setting(path, values, there, varied)


def variant(text: bytes, changes: Iterable[tuple[Setting, int]]) -> bytes:
    """Return a layout's text with settings at so-and-so-many-th values, all else as it was.

    Raises
    ------
    LayoutError
        If a value cannot be written in its place.
    """
    for setting, number in changes:
        value, path = setting.values[number], setting.path
        if setting.there:
            text = with_value_at(text, path, value)
        else:
            text = with_values(text, str(path[0]), int(path[1]), {str(path[2]): value})
    return text


def _split(words: str) -> tuple[str, list[str | int], str]:
    """Return key path, its steps and what follows the ``=`` that ends it."""
    for sign in re.finditer("=", words):
        key = words[: sign.start()].strip()
        steps = _steps(key)
        if steps:
            return key, steps, words[sign.end() :].strip()
    raise LayoutError.of(
        (),
        f"{words!r}: no setting",
        "a key path, =, and a range or a list",
        f'write it as "{_EXAMPLE}" or "path.walk.pavers = slab, brick"',
    )


def _steps(key: str) -> list[str | int]:
    """Return the names and numbers of a key path; none if it is not one."""
    steps: list[str | int] = []
    at, more = 0, "."
    while more == "." and (match := _STEP.match(key, at)):
        steps.append(next(name for name in match.groups()[:3] if name))
        steps += [int(number) for number in re.findall(r"\d+", match[4])]
        at, more = match.end(), match[5]
    return steps if at == len(key) and not more else []


def _found(
    steps: list[str | int], data: Mapping[str, Any], key: str
) -> tuple[KeyPath, bool, object]:
    """Return the key path in the file, whether it is there, and the value."""
    path: KeyPath = ()
    at: Any = data
    for number, step in enumerate(steps):
        inner = _place(at, step)
        if inner is None:
            if isinstance(at, dict) and number == len(steps) - 1 and _is_row(path):
                return (*path, step), False, None
            raise _no_place(key, path, at, step)
        path, at = (*path, inner), at[inner]
    if isinstance(at, dict | list):
        raise _no_value(key, at)
    return path, True, at


def _is_row(path: KeyPath) -> bool:
    """Tell whether a path is a table under ``[[ ]]``, which takes keys the file leaves unsaid."""
    return len(path) == 2 and isinstance(path[1], int)


def _place(at: object, step: str | int) -> str | int | None:
    """Return key or index of a step inside a table or a list; None if it is not there."""
    if isinstance(at, dict):
        return step if step in at else None
    if not isinstance(at, list):
        return None
    if isinstance(step, int):
        return step - 1 if 1 <= step <= len(at) else None
    names = [_name(row) for row in at]
    return names.index(step) if step in names else None


def _name(row: object) -> str | None:
    """Return what a table of a list is called by."""
    return row.get("name", row.get("material")) if isinstance(row, dict) else None


def _no_place(key: str, path: KeyPath, at: object, step: str | int) -> LayoutError:
    known = list(at) if isinstance(at, dict) else []
    if isinstance(at, list):
        known = [name for row in at if isinstance(name := _name(row), str)] or [
            f"[{number}]" for number in range(1, len(at) + 1)
        ]
    got = f"{key}: nothing called {step!r} in the layout file"
    near = difflib.get_close_matches(str(step), known, 1)
    remedy = f"did you mean {near[0]!r}?" if near else "name a key the layout file has"
    if (path or (step,))[0] in GOODS:
        remedy = "goods of a price list: copy their table into the layout file, then vary it there"
    return LayoutError.of((), got, f"one of {', '.join(known) or 'none'}", remedy)


def _no_value(key: str, at: dict[str, Any] | list[Any]) -> LayoutError:
    names = (
        [f"{key}.{name}" for name in at]
        if isinstance(at, dict)
        else [f"{key}[{number}]" for number in range(1, len(at) + 1)]
    )
    return LayoutError.of(
        (),
        f"{key} holds more than one value",
        "the key path of one number or text",
        f"name one of its parts: {', '.join(names) or 'it has none'}",
    )
