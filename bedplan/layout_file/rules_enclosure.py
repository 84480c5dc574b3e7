"""Which keys of ``[enclosure]`` exclude, need or contradict one another (layer: layout_file).

A fence has corners with places, or names of corners and ties. Public entry point:
`enclosure_faults`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from bedplan.errors import Fault
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.references import Data, items, table
from bedplan.layout_file.ties import JOINTS, corner_names, mark_names, marks_of_tie

HERE: Final = ("enclosure",)
CORNERS: Final = ("enclosure", "corners")
OF_TIES: Final = ("known", "marks", "turn", "inward", "tape")
"""Keys that mean nothing without ties."""


def enclosure_faults(data: Data) -> Iterator[Fault]:
    """Yield every fault of the fence that takes more than one value to see."""
    enclosure = table(data, "enclosure")
    corners = enclosure.get("corners")
    if isinstance(corners, dict):
        yield from _placed_faults(enclosure, corners)
    elif isinstance(corners, list):
        yield from _named_faults(enclosure)
    yield from _count_faults(enclosure)


def _count_faults(enclosure: Data) -> Iterator[Fault]:
    corners = enclosure.get("corners")
    if not isinstance(corners, list | dict):
        return
    if len(corners) < 3:
        named = f": {', '.join(map(str, corners))}" if corners else ""
        yield Fault(
            CORNERS,
            f"{len(corners)} corners{named}",
            "at least 3 corners",
            "add the missing corners in order round the fence",
        )


def _placed_faults(enclosure: Data, corners: Data) -> Iterator[Fault]:
    """Yield the faults of corners with places."""
    for name in corners:
        if not name.strip():
            yield Fault(
                (*CORNERS, name),
                "a corner without a name",
                "a short name such as A",
                "name the corner",
            )
    named = ", ".join(f'"{name}"' for name in corners)
    for key in ("ties", *OF_TIES):
        if key in enclosure:
            yield Fault(
                (*HERE, key),
                f"corners with places, and {key!r} beside them",
                "corners with places, or corners only named and tied by the tape",
                f"take {key!r} out, or write corners = [{named}]",
            )


def _named_faults(enclosure: Data) -> Iterator[Fault]:
    """Yield the faults of corners that only have names."""
    if "ties" not in enclosure:
        yield Fault(
            CORNERS,
            "corners without places, and no ties",
            "corners = { A = [x, y], … }, or a table [enclosure.ties]",
            'add [enclosure.ties] with a line such as AB = "26 ft 3 in" for every distance taped',
        )
    names = corner_names(enclosure)
    for name, count in Counter(names).items():
        if count > 1:
            yield Fault(CORNERS, f"corner {name} twice", "each corner once", f"remove one {name}")
    for number, name in enumerate(items(enclosure, "inward")):
        if isinstance(name, str) and name not in names:
            yield Fault(
                (*HERE, "inward", number),
                f"{name!r} is said to point inward, and is no corner",
                f"one of {', '.join(names)}",
                f"name a corner, or drop {name!r}",
            )
    yield from _tie_faults(enclosure)


def _tie_faults(enclosure: Data) -> Iterator[Fault]:
    marks = mark_names(enclosure)
    listed = f"two of {', '.join(marks)}"
    for key in table(enclosure, "ties"):
        path: KeyPath = (*HERE, "ties", key)
        read = marks_of_tie(key, marks)
        if not read:
            yield Fault(path, _unread(key, marks), listed, _remedy(marks))
        elif len(read) > 1:
            ways = " or ".join(f"{first} and {second}" for first, second in read)
            yield Fault(
                path,
                f"tie {key!r} may mean {ways}",
                "a key that names two marks in one way only",
                "put a hyphen between the two marks, or use single letters",
            )
        elif read[0][0] == read[0][1]:
            yield Fault(
                path,
                f"a tie from {read[0][0]} to itself",
                "a distance between two marks",
                "name the mark the tape was run to",
            )


def _unread(key: str, marks: list[str]) -> str:
    """Return what is wrong with a key: a mark that nobody knows, or no two marks at all."""
    for name in marks:
        for joint in JOINTS:
            if key.startswith(name + joint) and (rest := key[len(name + joint) :]):
                return f"{key} runs to {rest.strip()!r}, which is no mark"
    return f"tie {key!r} names no two marks"


def _remedy(marks: list[str]) -> str:
    example = "".join(marks[:2]) if all(len(name) == 1 for name in marks[:2]) else "A-oak"
    return f"write the two marks joined, such as {example}, or add the mark under marks"
