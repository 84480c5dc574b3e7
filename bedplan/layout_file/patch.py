"""Changes values of a layout file and leaves every other byte as it was (layer: layout_file).

Comments, order, spacing and line ends stay. The changed text is read again and compared with
what was meant before anyone may write it.

Public entry points: `with_values` for the keys of one table, `with_value_at` for a value wherever
it stands.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bedplan.errors import Fault, LayoutError
from bedplan.layout_file.positions import KeyPath, Positions

if TYPE_CHECKING:
    from tree_sitter import Node


Value = str | float | None
"""What a key is set to; None takes the key out."""


def with_values(text: bytes, kind: str, row: int, values: Mapping[str, Value]) -> bytes:
    r"""Return a TOML text with some values of one ``[[kind]]`` table set or taken out.

    Parameters
    ----------
    text
        The file's bytes, sound TOML in UTF-8.
    kind, row
        Which table: ``("path", 0)`` is the first ``[[path]]``.
    values
        Key and new value. A key that is there keeps its place and its comment; a new one is
        put after the table's first key. A key set to None goes with its line; a comment on that
        line stays.

    Raises
    ------
    LayoutError
        If the table is not written as ``[[kind]]``, so that there is no line to change, or a
        value cannot be written in TOML.

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
    meant[kind][row] = {key: value for key, value in meant[kind][row].items() if value is not None}
    if not _says(changed, meant):
        raise _unchangeable(kind, row)
    return changed


def with_value_at(text: bytes, path: KeyPath, value: str | float) -> bytes:
    r"""Return a TOML text with one value that is there already set to another.

    Parameters
    ----------
    text
        The file's bytes, sound TOML in UTF-8.
    path
        Keys from the top of the file, elements of lists counted from 0.
    value
        What it is set to.

    Raises
    ------
    LayoutError
        If no value is written under this path, or the new one cannot be written in TOML.

    Examples
    --------
    >>> with_value_at(b'mulch = { depth = "2 in" } # bark\n', ("mulch", "depth"), "3 in").decode()
    'mulch = { depth = "3 in" } # bark\n'
    """
    bare = text.removeprefix(b"\xef\xbb\xbf")
    span = Positions(bare).span(path)
    if span is None:
        raise _unwritten(path)
    changed = bare[: span[0]] + _written(value) + bare[span[1] :]
    meant = tomllib.loads(bare.decode())
    holder: Any = meant
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = value
    if not _says(changed, meant):
        raise _unwritten(path)
    return text[: len(text) - len(bare)] + changed


def _unwritten(path: KeyPath) -> LayoutError:
    return LayoutError.of(
        path,
        "a value that cannot be changed in its place",
        "a value written in the file, and a new one that TOML can hold",
        "change the file by hand",
    )


def _says(text: bytes, meant: dict[str, Any]) -> bool:
    """Tell whether a text is TOML and holds just what is meant."""
    try:
        return tomllib.loads(text.removeprefix(b"\xef\xbb\xbf").decode()) == meant
    except ValueError:  # no TOML, or no UTF-8
        return False


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
        if node.type == "table_array_element" and _name(node.named_children[0]) == kind
    ]
    if row >= len(found):
        raise _unchangeable(kind, row)
    return found[row]


def _name(key: Node) -> str:
    """Return a key as TOML reads it, without its quotes; a dotted one as it is written."""
    written = (key.text or b"").decode()
    return next(iter(tomllib.loads(f"{written} = 0"))) if key.type == "quoted_key" else written


def _changes(
    text: bytes, table: Node, values: Mapping[str, Value]
) -> list[tuple[int, int, bytes]]:
    """Return the spans to replace: values that are there, and one place for all new keys."""
    pairs = {
        _name(pair.named_children[0]): pair for pair in table.named_children if pair.type == "pair"
    }
    changes = []
    for key in pairs.keys() & values.keys():
        old, written = pairs[key].named_children[1], _written(values[key])
        if values[key] is None:
            changes.append(_removed(text, pairs[key]))
        elif old.text != written:
            changes.append((old.start_byte, old.end_byte, written))
    new_lines = [
        key.encode() + b" = " + _written(value)
        for key, value in values.items()
        if key not in pairs and value is not None
    ]
    if new_lines:
        # a table without keys of its own, or soon without, has its heading alone
        kept = [pair for key, pair in pairs.items() if values.get(key, "") is not None]
        first = next(iter(kept), table.named_children[0])
        changes.append(_inserted(text, first.end_byte, new_lines))
    return changes


def _removed(text: bytes, pair: Node) -> tuple[int, int, bytes]:
    """Return the change that takes a pair out, with its line if nothing else stands there."""
    value = pair.named_children[1]  # a pair's own end lies beyond its comment
    start = text.rfind(b"\n", 0, pair.start_byte) + 1
    end = text.find(b"\n", value.end_byte) + 1 or len(text)
    rest = text[value.end_byte : end]
    if rest.strip():  # a comment: it may be about more than the key
        return pair.start_byte, value.end_byte + len(rest) - len(rest.lstrip()), b""
    return start, end, b""


def _inserted(text: bytes, after: int, lines: list[bytes]) -> tuple[int, int, bytes]:
    """Return the change that puts lines below the line of a place, a last line left unended."""
    at = text.find(b"\n", after) + 1
    if not at:
        return len(text), len(text), b"".join(_line_end(text) + line for line in lines)
    end = b"\r\n" if text[:at].endswith(b"\r\n") else b"\n"
    return at, at, b"".join(line + end for line in lines)


def _written(value: Value) -> bytes:
    """Return a value in TOML: as in JSON, but for one sign that TOML wants escaped."""
    shown = json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    # a text that is no Unicode is found when the changed file is read again
    return shown.encode(errors="surrogatepass")


def _line_end(text: bytes) -> bytes:
    return b"\r\n" if b"\r\n" in text else b"\n"
