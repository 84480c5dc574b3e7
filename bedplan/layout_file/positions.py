"""Which line of the file a key stands on (layer: layout_file).

Python's own TOML reader forgets lines, so the file is parsed a second time by tree-sitter, and
only when a fault has to be placed. A *key path* is the way from the top of the file to a value,
``("bed", 2, "width")``; elements of lists and of arrays of tables are counted from 0.

Public entry point: `Positions`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tree_sitter import Node

KeyPath = tuple[str | int, ...]


class Positions:
    r"""Line numbers of every key path of one TOML file.

    Examples
    --------
    >>> lines = Positions(b'title = "x"\n[[bed]]\nname = "y"\n[[bed]]\nsize = [1,\n2]\n')
    >>> lines.line(("bed", 1, "size", 1)), lines.line(("bed", 1, "width"))
    (6, 4)
    """

    def __init__(self, text: bytes) -> None:
        import tree_sitter_toml  # noqa: PLC0415 - 38 ms that only a faulty file needs
        from tree_sitter import Language, Parser  # noqa: PLC0415 - as above

        self._arrays: dict[KeyPath, int] = {}
        self._lines: dict[KeyPath, int] = {(): 1}
        self._spans: dict[KeyPath, tuple[int, int]] = {}
        parser = Parser(Language(tree_sitter_toml.language()))
        self._read_document(parser.parse(text).root_node)

    @property
    def lines(self) -> Mapping[KeyPath, int]:
        """Line of every key path, counted from 1."""
        return self._lines

    def line(self, path: KeyPath) -> int:
        """Return the line of a key path, or of the nearest table or list that holds it."""
        while path not in self._lines:
            path = path[:-1]
        return self._lines[path]

    def span(self, path: KeyPath) -> tuple[int, int] | None:
        """Return first byte and end of the value at a key path; None where none is written."""
        return self._spans.get(path)

    def _read_document(self, root: Node) -> None:
        for node in root.named_children:
            if node.type == "pair":
                self._read_pair(node, ())
            elif node.type in ("table", "table_array_element"):
                self._read_table(node)

    def _read_table(self, node: Node) -> None:
        header = node.named_children[0] if node.named_children else None
        keys = _keys(header) if header is not None else ()
        if not keys:
            return
        path = self._resolve(keys[:-1], node)
        if node.type == "table_array_element":
            path = self._next_element((*path, keys[-1]), node)
        else:
            path = self._resolve(keys, node)
        for child in node.named_children[1:]:
            if child.type == "pair":
                self._read_pair(child, path)

    def _resolve(self, keys: KeyPath, node: Node) -> KeyPath:
        """Return the path of a header: inside an array of tables, in its latest element."""
        path: KeyPath = ()
        for key in keys:
            path = (*path, key)
            self._note(path, node)
            if path in self._arrays:
                path = (*path, self._arrays[path])
        return path

    def _next_element(self, path: KeyPath, node: Node) -> KeyPath:
        self._note(path, node)
        self._arrays[path] = self._arrays.get(path, -1) + 1
        element = (*path, self._arrays[path])
        self._note(element, node)
        return element

    def _read_pair(self, node: Node, path: KeyPath) -> None:
        children = [child for child in node.named_children if child.type != "comment"]
        if len(children) != 2:
            return  # a broken pair; the syntax fault has its own line
        for key in _keys(children[0]):
            path = (*path, key)
            self._note(path, node)
        self._spans[path] = children[1].start_byte, children[1].end_byte
        self._read_value(children[1], path)

    def _read_value(self, value: Node, path: KeyPath) -> None:
        for child, inner in _nested(value, path):
            if child.type == "pair":
                self._read_pair(child, inner)
            else:
                self._note(inner, child)
                self._spans[inner] = child.start_byte, child.end_byte
                self._read_value(child, inner)

    def _note(self, path: KeyPath, node: Node) -> None:
        self._lines.setdefault(path, node.start_point.row + 1)


def _nested(value: Node, path: KeyPath) -> Iterator[tuple[Node, KeyPath]]:
    """Yield the elements of a list, each with its own path, or the pairs of an inline table."""
    if value.type == "array":
        elements = (child for child in value.named_children if child.type != "comment")
        for index, child in enumerate(elements):
            yield child, (*path, index)
    elif value.type == "inline_table":
        for child in value.named_children:
            if child.type == "pair":
                yield child, path


def _keys(node: Node) -> tuple[str, ...]:
    """Return the names of a bare, quoted or dotted key."""
    if node.type == "dotted_key":
        return tuple(key for child in node.named_children for key in _keys(child))
    text = (node.text or b"").decode()
    if node.type != "quoted_key":
        return (text,)
    return tuple(tomllib.loads(f"{text} = 0"))
