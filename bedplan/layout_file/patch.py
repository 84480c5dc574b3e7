"""Changes values of a layout file and leaves every other byte as it was (layer: layout_file).

Comments, order, spacing and line ends stay. The changed text is read again and compared with
what was meant before anyone may write it.

Public entry point: `with_values`.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bedplan.errors import Fault, LayoutError

if TYPE_CHECKING:
    from tree_sitter import Node


def with_values(text: bytes, kind: str, row: int, values: Mapping[str, str | float]) -> bytes:
    r"""Return a TOML text with some values of one ``[[kind]]`` table set.

    Parameters
    ----------
    text
        The file's bytes, sound TOML in UTF-8.
    kind, row
        Which table: ``("path", 0)`` is the first ``[[path]]``.
    values
        Key and new value. A key that is there keeps its place and its comment; a new one is
        put after the table's first key.

    Raises
    ------
    LayoutError
        If the table is not written as ``[[kind]]``, so that there is no line to change.

    Examples
    --------
    >>> with_values(b'[[path]]\nname = "walk"\nbond = "stack" # plain\n', "path", 0,
    ...             {"bond": "running"}).decode()
    '[[path]]\nname = "walk"\nbond = "running" # plain\n'
    """
    node = _table(text, kind, row)
    changes = sorted(_changes(text, node, values), reverse=True)
    changed = text
    for start, end, new in changes:
        changed = changed[:start] + new + changed[end:]
    meant = tomllib.loads(text.removeprefix(b"\xef\xbb\xbf").decode())
    meant[kind][row] |= dict(values)
    if tomllib.loads(changed.removeprefix(b"\xef\xbb\xbf").decode()) != meant:
        raise _unchangeable(kind, row)
    return changed


def _unchangeable(kind: str, row: int) -> LayoutError:
    return LayoutError(
        [
            Fault(
                (kind, row),
                "a table that cannot be changed line by line",
                f"a table under its own [[{kind}]] heading",
                "change the file by hand",
            )
        ]
    )


def _table(text: bytes, kind: str, row: int) -> Node:
    """Return the syntax node of a table of a list of tables."""
    import tree_sitter_toml  # noqa: PLC0415 - only a command that writes needs it
    from tree_sitter import Language, Parser  # noqa: PLC0415 - as above

    root = Parser(Language(tree_sitter_toml.language())).parse(text).root_node
    found = [
        node
        for node in root.named_children
        if node.type == "table_array_element"
        and (node.named_children[0].text or b"").decode() == kind
    ]
    if row >= len(found):
        raise _unchangeable(kind, row)
    return found[row]


def _changes(
    text: bytes, table: Node, values: Mapping[str, str | float]
) -> list[tuple[int, int, bytes]]:
    """Return the spans to replace: values that are there, and one place for all new keys."""
    pairs = {
        (pair.named_children[0].text or b"").decode(): pair
        for pair in table.named_children
        if pair.type == "pair"
    }
    changes = []
    new_lines = b""
    for key, value in values.items():
        written = _written(value)
        if key in pairs:
            old = pairs[key].named_children[1]
            if old.text != written:
                changes.append((old.start_byte, old.end_byte, written))
        else:
            new_lines += key.encode() + b" = " + written + _line_end(text)
    if new_lines:
        first = next(iter(pairs.values()))
        after = text.find(b"\n", first.end_byte)
        at = len(text) if after < 0 else after + 1
        changes.append((at, at, new_lines if after >= 0 else _line_end(text) + new_lines))
    return changes


def _written(value: str | float) -> bytes:
    shown: Any = json.dumps(value, ensure_ascii=False)
    return str(shown).encode()


def _line_end(text: bytes) -> bytes:
    return b"\r\n" if b"\r\n" in text else b"\n"
