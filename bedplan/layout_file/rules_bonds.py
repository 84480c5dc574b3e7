"""Which units a path must name for its bond, and what a pattern must hold (layer: layout_file).

Works on the file's plain data like `bedplan.layout_file.rules`, whose faults these join. What
depends on the sizes of units is told by `bedplan.paving.patterns`.

Public entry point: `bond_faults`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bedplan.errors import Fault
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.references import Data, items, table, tables
from bedplan.model.bonds import BONDS, TWO_SIZES


def bond_faults(data: Data, goods: Mapping[str, Data]) -> Iterator[Fault]:
    """Yield the faults of patterns and of the paths laid in bonds.

    Parameters
    ----------
    data
        The layout file.
    goods
        All goods of the layout and its price lists, by kind.
    """
    for name, pattern in goods["bond"].items():
        if name in BONDS:
            yield _reserved(name)
        elif isinstance(pattern, dict):
            yield from _pattern_faults(("bond", name), pattern)
    for path, walk in tables(data, "path"):
        if "pavers" in walk:
            yield from _second_faults(path, walk, goods["bond"])


def _reserved(name: str) -> Fault:
    return Fault(
        ("bond", name),
        f"a bond of one's own called {name!r}",
        f"a name that is none of {', '.join(BONDS)}",
        "give the bond another name",
    )


def _pattern_faults(path: KeyPath, pattern: Data) -> Iterator[Fault]:
    units = [unit for unit in items(pattern, "units") if isinstance(unit, dict)]
    faces = {unit.get("face", 1) for unit in units if isinstance(unit.get("face", 1), int)}
    if faces == {2}:
        yield Fault(
            (*path, "units"),
            "units of face 2 only",
            "at least one unit of face 1, the path's pavers",
            "leave face out where there is one size",
        )
    if units and 2 not in faces:
        yield from _idle_multiples(path, pattern)


def _idle_multiples(path: KeyPath, pattern: Data) -> Iterator[Fault]:
    """Yield every distance that counts by a second unit where the motif has none."""
    steps: list[tuple[KeyPath, Data]] = [
        ((*path, key), table(pattern, key)) for key in ("along", "across")
    ]
    steps += [
        ((*path, "units", number), unit)
        for number, unit in enumerate(items(pattern, "units"))
        if isinstance(unit, dict)
    ]
    for where, step in steps:
        for key in ("x", "y"):
            if 2 < len(items(step, key)) <= 4:
                yield Fault(
                    (*where, key),
                    "multiples of a second unit, and no unit of face 2",
                    "times the length and times the width of the unit: [1, 0]",
                    "write two numbers, or set face = 2 on the second unit",
                )


def _second_faults(path: KeyPath, walk: Data, patterns: Data) -> Iterator[Fault]:
    bond, second = walk.get("bond", "stack"), walk.get("second")
    if not isinstance(bond, str) or (bond not in BONDS and bond not in patterns):
        return
    stepping = "stride" in walk
    two_sizes = not stepping and _two_sizes(bond, patterns)
    if two_sizes and second is None:
        yield Fault(
            (*path, "bond"),
            f"bond {bond!r} without a second unit",
            "'second' beside 'pavers': the bond is laid of two sizes",
            "add a line second = …",
        )
    elif second is not None and not two_sizes:
        yield Fault(
            (*path, "second"),
            f"a second unit for {'a stride' if stepping else f'bond {bond!r}'}, laid of one",
            "'second' only with a bond of two sizes: pinwheel, or a motif with face = 2",
            "take 'second' out, or choose such a bond",
        )
    elif two_sizes and second == walk["pavers"]:
        yield Fault(
            (*path, "second"),
            f"{second!r} as the first and the second unit",
            "two different units",
            "name another unit",
        )


def _two_sizes(bond: str, patterns: Data) -> bool:
    if bond in BONDS:
        return bond in TWO_SIZES
    pattern = table(patterns, bond)
    return any(
        isinstance(unit, dict) and unit.get("face") == 2 for unit in items(pattern, "units")
    )
