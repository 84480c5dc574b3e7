"""Which keys of a table exclude, need or contradict one another (layer: layout_file).

Works on the file's plain data, so that these faults are told beside those of single values. A
misspelt key counts as the key it was meant to be: its own fault is told by the schema.

Public entry point: `rule_faults`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from bedplan.errors import Fault
from bedplan.layout_file.faults import nearest
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.references import Data, table, tables
from bedplan.layout_file.rules_bonds import bond_faults
from bedplan.layout_file.rules_enclosure import enclosure_faults
from bedplan.layout_file.rules_ground import ground_rule_faults
from bedplan.layout_file.schema import BED_SHAPES, PATH_SHAPES, BedTable, CircleTable, PathTable
from bedplan.layout_file.schema_goods import BoardTable, FabricTable, MaterialTable, Table


@dataclass(frozen=True)
class _Rules:
    """What one kind of table asks of its keys.

    Parameters
    ----------
    model
        Knows the keys.
    one_of
        Exactly one of these must be there.
    lack
        What a table without any of them lacks.
    needs
        A key, and the key that must stand beside it.
    belongs
        A key, and the key it has no meaning without.
    """

    model: type[Table]
    one_of: Sequence[str]
    lack: str
    needs: Mapping[str, str]
    belongs: Mapping[str, str]


_BED: Final = _Rules(
    BedTable,
    BED_SHAPES,
    "shape",
    {"along": "width", "around": "clearance"},
    {
        "width": "along",
        "start": "along",
        "end": "along",
        "clearance": "around",
        "square_to": "around",
        "height": "edging",
        "tiers": "edging",
    },
)
_PATH: Final = _Rules(
    PathTable,
    PATH_SHAPES,
    "shape",
    {"centerline": "width"},
    {
        "width": "centerline",
        "base_beyond": "layers",
        **dict.fromkeys(
            ("second", "bond", "offset", "direction", "joint", "stride", "joint_fill"), "pavers"
        ),
    },
)
_CIRCLE: Final = _Rules(CircleTable, ("radius", "diameter"), "size", {}, {})


def rule_faults(data: Data, goods: Mapping[str, Data] | None) -> Iterator[Fault]:
    """Yield every fault that takes more than one value to see.

    Parameters
    ----------
    data
        The layout file.
    goods
        All goods of the layout and its price lists, by kind; None where they are not known.
    """
    yield from enclosure_faults(data)
    for kind in ("gate", "plant", "pipe", "bed", "path"):
        yield from _repeated_names(data, kind)
    yield from _planted_twice(data)
    for path, bed in tables(data, "bed"):
        yield from _table_faults(path, bed, _BED, _called("bed", bed))
        yield from _said_twice(path, bed, ("height", "tiers"))
        if "circle" in bed:
            circle, here = table(bed, "circle"), (*path, "circle")
            yield from _table_faults(here, circle, _CIRCLE, "circle")
            yield from _said_twice(here, circle, ("facets", "sagitta"))
    for path, walk in tables(data, "path"):
        yield from _table_faults(path, walk, _PATH, _called("path", walk))
    yield from ground_rule_faults(data)
    if goods is not None:
        yield from bond_faults(data, goods)
        yield from _without_stake(goods["board"])
        yield from _without_heap(data, goods["material"])
        yield from _without_stock(data, goods["board"], BoardTable, "edging", "stock")
        yield from _without_stock(data, goods["fabric"], FabricTable, "barrier", "rolls")


def _called(kind: str, row: Data) -> str:
    name = row.get("name")
    return f"{kind} {name!r}" if isinstance(name, str) else f"this {kind}"


def _repeated_names(data: Data, kind: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for path, row in tables(data, kind):
        name = row.get("name")
        if not isinstance(name, str):
            continue
        if name in seen:
            yield Fault(
                (*path, "name"),
                f"a second {kind} called {name!r}",
                f"a name of its own for every {kind}",
                "rename one of the two",
            )
        seen.add(name)


def _planted_twice(data: Data) -> Iterator[Fault]:
    """Yield every second planting of a bed: two lattices would stand in each other."""
    seen: set[str] = set()
    for path, row in tables(data, "planting"):
        bed = row.get("bed")
        if isinstance(bed, str) and bed in seen:
            yield Fault(
                (*path, "bed"),
                f"a second planting of {bed!r}",
                "one planting for each bed",
                "take one of the two out, or part the bed in two",
            )
        seen.add(str(bed))


def _table_faults(path: KeyPath, row: Data, rules: _Rules, who: str) -> Iterator[Fault]:
    meant = {*row, *_meant(row, rules.model)}
    yield from _choice_faults(path, row, rules, who, meant)
    for key, other in rules.needs.items():
        if key in row and other not in meant:
            yield Fault(
                path,
                f"missing key {other!r}",
                f"{other!r} beside {key!r} in {who}",
                f"add a line {other} = …",
            )
    for key, other in rules.belongs.items():
        if key in row and other not in meant:
            yield Fault(
                (*path, key),
                f"{key!r} without {other!r}",
                f"{key!r} only beside {other!r}",
                f"take {key!r} out, or add {other!r}",
            )


def _choice_faults(
    path: KeyPath,
    row: Data,
    rules: _Rules,
    who: str,
    meant: set[str],
) -> Iterator[Fault]:
    listed = ", ".join(rules.one_of[:-1]) + " or " + rules.one_of[-1]
    given = [key for key in rules.one_of if key in row]
    if len(given) > 1:
        yield Fault(
            (*path, given[1]),
            f"{who} has {' and '.join(given)}",
            f"exactly one of {listed}",
            f"keep only one of {', '.join(given)}",
        )
    elif not meant.intersection(rules.one_of):
        yield Fault(
            path, f"{who} has no {rules.lack}", f"exactly one of {listed}", f"add {listed}"
        )


def _said_twice(path: KeyPath, row: Data, keys: tuple[str, str]) -> Iterator[Fault]:
    """Yield the fault of a table that says one thing in two ways."""
    if keys[0] in row and keys[1] in row:
        yield Fault(
            (*path, keys[1]),
            f"{keys[0]!r} and {keys[1]!r}",
            f"one of {keys[0]!r} and {keys[1]!r}: either gives the other",
            f"take {keys[1]!r} out, or {keys[0]!r}",
        )


def _without_stake(boards: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield every board whose corners meet at a stake, and that names none."""
    for name, board in boards.items():
        if not isinstance(board, dict) or board.get("corner") != "stake":
            continue
        if "stake" not in {*board, *_meant(board, BoardTable)}:
            yield Fault(
                ("board", name, "corner"),
                'corner = "stake" without a stake',
                "the name of a stake beside it",
                'add a line stake = "NAME" and a table [stake.NAME]',
            )


def _without_heap(data: Data, materials: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield every mulch as deep as what is on hand of a material that says nothing of that."""
    for path, bed in tables(data, "bed"):
        mulch = table(bed, "mulch")
        name = mulch.get("material")
        if mulch.get("depth") != "on hand" or not isinstance(name, str) or name not in materials:
            continue
        material = table(materials, name)
        if "on_hand" not in {*material, *_meant(material, MaterialTable)}:
            yield Fault(
                (*path, "mulch", "depth"),
                f'depth = "on hand" of {name!r}, which has no on_hand',
                "a volume on hand of that material",
                f"add on_hand to the material {name!r}, or give a depth",
            )


def _meant(row: Data, model: type[Table]) -> Iterator[str]:
    """Yield the key that each unknown key was probably meant to be."""
    known = model.model_fields
    for key in row:
        near = None if key in known else nearest(key, known)
        if near:
            yield near


def _without_stock(
    data: Data,
    goods: Mapping[str, Any],
    model: type[Table],
    key: str,
    stock: str,
) -> Iterator[Fault]:
    """Yield every use of a board or fabric that comes in no length, where it is used."""
    kind = "board" if key == "edging" else "fabric"
    for path, row in (*tables(data, "bed"), *tables(data, "path")):
        name = row.get(key)
        if not isinstance(name, str) or not (good := table(goods, name)):
            continue
        sources = {*good, *_meant(good, model)}.intersection((stock, "on_hand"))
        if all(good.get(source, True) == [] for source in sources):
            yield Fault(
                (*path, key),
                f"{kind} {name!r} has no {stock} and nothing on hand",
                f"a {kind} that can be bought or is on hand",
                f"add {stock} or on_hand to the {kind} {name!r}",
            )
