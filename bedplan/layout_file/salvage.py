"""What of a faulty layout can still be drawn, so that its other faults show (layer: layout_file).

A misspelt key in one bed must not hide that another bed lies outside the fence. The faulty parts
are taken out and the rest goes to the site engine as a smaller layout.

Public entry points: `salvage`, `Remains`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any, Final

from bedplan.errors import Fault
from bedplan.layout_file.faults import nearest
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.references import GOODS, Data, items
from bedplan.layout_file.schema import BedTable, PathTable
from bedplan.layout_file.schema_goods import Table

_KINDS: Final = ("gate", "plant", "bed", "path")
_DRESSING: Final[dict[str, tuple[type[Table], frozenset[str]]]] = {
    "bed": (BedTable, frozenset(("edging", "against_fence", "barrier", "mulch", "layers"))),
    "path": (
        PathTable,
        frozenset(
            (
                "barrier",
                "pavers",
                "second",
                "bond",
                "offset",
                "direction",
                "joint",
                "stride",
                "layers",
                "joint_fill",
                "base_beyond",
                "fall",
                "level",
                "at",
                "dug",
            )
        ),
    ),
}
"""Keys that can be taken off without changing where a bed or path lies."""

SHAPE: Final = ("corners", "ties", "known", "marks", "turn", "inward", "tape")
"""Keys without which nobody knows where the fence stands."""


@dataclass(frozen=True)
class Remains:
    """What is left of a file.

    Parameters
    ----------
    data
        The file without its faulty parts.
    rows
        For each kind, the row in the file of each row that is left.
    beds_lost
        Whether a bed was taken out: a plant may then seem to stand in no bed.
    """

    data: dict[str, Any]
    rows: dict[str, list[int]]
    beds_lost: bool

    def original(self, fault: Fault) -> Fault | None:
        """Return a fault of the remains as one of the file; None if taking parts out made it."""
        match fault.path:
            case ("plant", *_) if self.beds_lost:
                return None
            case (str(kind), int(row), *rest) if kind in self.rows:
                return replace(fault, path=(kind, self.rows[kind][row], *rest))
        return fault


def salvage(data: Data, faults: Iterable[Fault]) -> Remains | None:
    """Return a file without what its faults touch; None if nothing can be drawn then."""
    taken = _Taken()
    rest = {key: value for key, value in data.items() if key != "include"}
    for fault in faults:
        if not _take_out(rest, taken, fault.path):
            return None
    kept = {kind: _kept(rest, kind, taken) for kind in _KINDS}
    for kind, rows in kept.items():
        rest[kind] = [
            _row(kind, rest[kind][i], undressed=(kind, i) in taken.undressed) for i in rows
        ]
    beds_lost = any(kind == "bed" for kind, _ in taken.dropped)
    return Remains(rest, kept, beds_lost)


@dataclass
class _Taken:
    """Rows to drop, and rows to keep without their dressing."""

    dropped: set[tuple[str, int]] = field(default_factory=set)
    undressed: set[tuple[str, int]] = field(default_factory=set)


def _take_out(rest: dict[str, Any], taken: _Taken, path: KeyPath) -> bool:
    """Take out what one fault touches; return whether there is anything left to draw."""
    match path:
        case () | ("unit",) | ("bed",):
            return False
        case ("title", *_):
            rest["title"] = "untitled"
        case ("enclosure", str(key), *_) if key not in SHAPE:
            rest["enclosure"] = {
                name: value for name, value in rest["enclosure"].items() if name != key
            }
        case ("enclosure", *_):
            return False
        case (str(kind), int(row), *keys) if kind in _KINDS:
            dressing = bool(keys) and _is_dressing(kind, str(keys[0]))
            (taken.undressed if dressing else taken.dropped).add((kind, row))
        case (str(kind), name, *_) if kind in GOODS and isinstance(rest.get(kind), dict):
            rest[kind] = {key: row for key, row in rest[kind].items() if key != name}
        case (key, *_):
            rest.pop(str(key), None)
    return True


def _is_dressing(kind: str, key: str) -> bool:
    """Tell whether a key, or the key it was meant to be, leaves the ground plan as it is."""
    if kind not in _DRESSING:
        return False
    model, dressing = _DRESSING[kind]
    meant = key if key in model.model_fields else nearest(key, model.model_fields)
    return meant is None or meant in dressing


def _row(kind: str, row: Data, *, undressed: bool) -> Data:
    """Return a row, without its dressing and unknown keys where those are at fault."""
    if not undressed:
        return row
    model, dressing = _DRESSING[kind]
    return {
        key: value
        for key, value in row.items()
        if key in model.model_fields and key not in dressing
    }


def _kept(rest: dict[str, Any], kind: str, taken: _Taken) -> list[int]:
    """Return the rows of a kind that stay; a bed goes with the plants it is drawn around."""
    rows = rest.get(kind, [])
    if kind == "bed":
        lost = {
            str(rest["plant"][i].get("name"))
            for of, i in taken.dropped
            if of == "plant" and isinstance(rest["plant"][i], dict)
        }
        taken.dropped |= {
            ("bed", i)
            for i, row in enumerate(rows)
            if isinstance(row, dict) and lost & set(map(str, items(row, "around")))
        }
    return [i for i in range(len(rows)) if (kind, i) not in taken.dropped]
