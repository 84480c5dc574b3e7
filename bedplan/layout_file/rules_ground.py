"""Which keys of heights need one another, and the sides they name (layer: layout_file).

Works on the file's plain data like `bedplan.layout_file.rules`, whose faults these join. Public
entry point: `ground_rule_faults`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bedplan.errors import Fault
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.references import Data, tables
from bedplan.layout_file.schema_ground import LEVELS

OWN_KEYS: Final = ("fall", "level", "at", "dug")
"""Keys of a path that say how its own finish lies."""


def ground_rule_faults(data: Data) -> Iterator[Fault]:
    """Yield keys of heights without ``[ground]``, and places without a height.

    Parameters
    ----------
    data
        The layout file.
    """
    ground = data.get("ground")
    if isinstance(ground, dict):
        yield from _place_faults(("ground",), ground)
    for path, bed in tables(data, "bed"):
        if bed.get("tiers") == "ground" and "ground" not in data:
            yield Fault(
                (*path, "tiers"),
                'tiers = "ground" without [ground]',
                "a layout that has a table [ground]",
                "add [ground] with its spot heights, or write how many boards are stacked",
            )
    for path, walk in tables(data, "path"):
        if "ground" not in data:
            yield from _without_ground(path, walk)
        elif isinstance(ground, dict):
            yield from _place_faults(path, {"level": ground.get("level"), **walk})


def _without_ground(path: KeyPath, walk: Data) -> Iterator[Fault]:
    for key in OWN_KEYS:
        if key in walk:
            yield Fault(
                (*path, key),
                f"{key!r} without [ground]",
                f"{key!r} only in a layout that has a table [ground]",
                f"take {key!r} out, or add [ground] with its spot heights",
            )


def _place_faults(path: KeyPath, row: Data) -> Iterator[Fault]:
    if "at" in row and row.get("level", "balance") in (None, *LEVELS):
        yield Fault(
            (*path, "at"),
            "'at' without a height",
            "'at' only beside a level that is a height",
            "write the height as level, or take 'at' out",
        )
