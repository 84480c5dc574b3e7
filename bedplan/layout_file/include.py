"""Price lists that a layout includes, and what they include in turn (layer: layout_file).

Public entry point: `gather`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bedplan.errors import Fault, LayoutError
from bedplan.layout_file.references import GOODS, Data, table
from bedplan.layout_file.source import SourceFile, read_source


@dataclass
class Gathered:
    """All files of a layout.

    Parameters
    ----------
    lists
        The price lists, the one whose goods win over the others' last.
    faults
        What kept a list from being read, in place.
    """

    lists: list[SourceFile] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def goods(self, data: Data) -> Mapping[str, dict[str, Any]] | None:
        """Return all goods by kind, the layout's own over those of the lists.

        None where a list could not be read: nobody knows then what is defined.
        """
        if self.faults:
            return None
        files = [*(source.data for source in self.lists), data]
        return {
            kind: {name: row for file in files for name, row in table(file, kind).items()}
            for kind in GOODS
        }


def gather(source: SourceFile, folder: Path | None) -> Gathered:
    """Read every price list a file includes, and theirs; each is read once.

    Parameters
    ----------
    source
        The layout file.
    folder
        Where it lies; None for a layout that lies nowhere and can include nothing.
    """
    gathered = Gathered()
    if folder is None:
        for path, _ in _wanted(source.data):
            fault = Fault(
                path,
                "include in a layout that lies in no folder",
                "a layout file on disk",
                "save the layout beside its price list",
            )
            gathered.faults.append(source.place(fault))
        return gathered
    top = folder / Path(source.name).name
    _Gatherer(gathered).visit(source, folder, [(_key(top), source.name)])
    return gathered


class _Gatherer:
    """Walks from list to list; remembers what it has read, and the chain that led here."""

    def __init__(self, gathered: Gathered) -> None:
        self._gathered = gathered
        self._read: set[str] = set()

    def visit(self, source: SourceFile, folder: Path, chain: list[tuple[str, str]]) -> None:
        for path, name in _wanted(source.data):
            target = folder / name
            fault = self._take(target, chain)
            if fault is not None:
                self._gathered.faults.append(source.place(Fault(path, *fault)))

    def _take(self, target: Path, chain: list[tuple[str, str]]) -> tuple[str, str, str] | None:
        """Read one list and those it includes; return what is wrong with including it."""
        key = _key(target)
        way = " includes ".join([*(name for _, name in chain), str(target)])
        if key in {known for known, _ in chain}:
            return f"a circle of includes: {way}", "price lists that end", "take one include out"
        if key in self._read:
            return None
        self._read.add(key)
        try:
            source = read_source(target, str(target))
        except LayoutError as error:
            if error.faults[0].line:
                self._gathered.faults.extend(error.faults)
                return None
            return (
                f"{error.faults[0].got}: {way}",
                "a price list that can be read",
                error.faults[0].remedy,
            )
        self.visit(source, target.parent, [*chain, (key, str(target))])
        self._gathered.lists.append(source)
        return None


def _wanted(data: Data) -> list[tuple[tuple[str | int, ...], str]]:
    """Return the names a file includes with their key paths; wrong types are the schema's."""
    include = data.get("include")
    if isinstance(include, str):
        return [(("include",), include)]
    names = include if isinstance(include, list) else []
    return [(("include", i), name) for i, name in enumerate(names) if isinstance(name, str)]


def _key(path: Path) -> str:
    """Return what two ways of naming one file have in common."""
    try:
        return str(path.resolve())
    except (OSError, ValueError, RuntimeError):  # a nul in the name, a circle of links
        return str(path)
