"""One TOML file as read from disk (layer: layout_file).

Public entry points: `read_source`, `parse_source`.
"""

from __future__ import annotations

import codecs
import re
import tomllib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from bedplan.errors import Fault, LayoutError
from bedplan.layout_file.positions import KeyPath, Positions

LARGEST_B: Final = 20_000_000
"""A layout of ten thousand beds has 3 MB; whatever is larger than this is something else."""

_PLACE: Final = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_SYNTAX: Final[tuple[tuple[str, str, str], ...]] = (
    # how tomllib's sentence begins, what was wanted, the remedy
    ("Cannot overwrite a value", "each key once in a table", "take one of the two out"),
    ("Cannot declare", "each table once", "join the two tables, or write [[ ]] for a list"),
    ("Cannot mutate", "each table in one place", "put the keys into the table's first place"),
    ("Duplicate inline table key", "each key once in a table", "take one of the two out"),
    ("Cannot redefine", "each table once", "join the two tables"),
    ("Unclosed array", "a list closed by ]", "add the missing ] or comma"),
    (
        "Unclosed inline table",
        "a table { … } on one line",
        "add the missing } or comma, and keep it on one line",
    ),
    ("Unterminated string", "a text closed by its quote", "add the missing quote"),
    (
        "Illegal character",
        "texts and keys that end on their own line",
        "add the missing quote, or take the character out",
    ),
    (
        "Unescaped",
        'a backslash only before \\\\, \\" or a letter code',
        "double the backslash, or put the text in single quotes",
    ),
    ("Expected newline", "one key to a line", "start a new line for the next key"),
    ("Expected '=' after a key", "key = value", "add the missing = or quotes"),
    ("Expected ']", "a table's name closed by ] or ]]", "add the missing bracket"),
    ("Invalid initial character for a key", "a key, bare or in quotes", "put the name in quotes"),
    (
        "Invalid value",
        "a number, a text in quotes, true, false, [ … ] or { … }",
        "put a text in quotes",
    ),
)


@dataclass(frozen=True)
class SourceFile:
    """A file that is sound TOML: its name for messages, its bytes and its data."""

    name: str
    text: bytes
    data: dict[str, Any]

    @cached_property
    def positions(self) -> Positions:
        """Line of every key; made when the first fault asks for it."""
        return Positions(self.text)

    def place(self, fault: Fault) -> Fault:
        """Return a fault of this file with its line."""
        path: KeyPath = fault.path
        return fault.at(self.name, self.positions.line(path))


def read_source(path: Path, name: str) -> SourceFile:
    """Return a file's data.

    Raises
    ------
    LayoutError
        If it cannot be opened, is no UTF-8 text or no TOML.
    """
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_B + 1)
    except (OSError, ValueError) as error:
        raise LayoutError([_unreadable(path, error).at(name, 0)]) from None
    if len(content) > LARGEST_B:
        raise LayoutError(
            [
                Fault(
                    (),
                    f"a file of more than {LARGEST_B // 1_000_000} MB",
                    "a layout file",
                    "name the right file",
                    name,
                )
            ]
        )
    return parse_source(content, name)


def _unreadable(path: Path, error: OSError | ValueError) -> Fault:
    if isinstance(error, IsADirectoryError):
        return Fault(
            (),
            f"{path} is a folder",
            "a layout file",
            "name the file inside it, such as layout.toml",
        )
    if isinstance(error, FileNotFoundError | NotADirectoryError | ValueError):
        return Fault(
            (), f"no file {str(path)!r}", "a layout file that exists", "check its name and folder"
        )
    reason = error.strerror or type(error).__name__
    return Fault(
        (),
        f"{path} cannot be read ({reason})",
        "a file that may be read",
        "check its name and its access rights",
    )


def parse_source(content: bytes, name: str) -> SourceFile:
    """Return the data of a file's bytes; a byte order mark is passed over.

    Raises
    ------
    LayoutError
        If they are no UTF-8 text or no TOML.
    """
    content = content.removeprefix(codecs.BOM_UTF8)
    text = _decoded(content, name)
    try:
        return SourceFile(name, content, tomllib.loads(text))
    except RecursionError:
        fault = Fault(
            (),
            "lists or tables nested too deep",
            "at most a few levels",
            "write the layout with fewer brackets",
            name,
            1,
        )
    except ValueError as error:  # also a whole number of thousands of digits
        fault = _syntax_fault(str(error), text).at(name, _syntax_line(str(error), text))
    raise LayoutError([fault])


def _decoded(content: bytes, name: str) -> str:
    try:
        return content.decode()
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        wide = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        got = "UTF-16 text" if wide else f"a byte that is no UTF-8 (0x{content[error.start]:02x})"
        raise LayoutError(
            [Fault((), got, "a text file in UTF-8", "save the file as UTF-8", name, line)]
        ) from None


def _syntax_line(message: str, text: str) -> int:
    """Return the line of a syntax error: as told, or else the last line that holds anything."""
    match = _PLACE.search(message)
    if match and match[1]:
        return int(match[1])
    # TOML breaks lines at line feeds alone; Python's own splitting knows many more breaks
    return text.rstrip(" \t\r\n").count("\n") + 1


def _syntax_fault(message: str, text: str) -> Fault:
    lines = text.split("\n")
    line = _syntax_line(message, text)
    culprit = lines[line - 1].strip() if line <= len(lines) else ""
    shown = culprit if len(culprit) <= 60 else culprit[:57] + "..."
    reason = _PLACE.sub("", message)
    for start, wanted, remedy in _SYNTAX:
        if reason.startswith(start):
            return Fault((), f"{shown or 'the end of the file'}: {_lower(reason)}", wanted, remedy)
    return Fault(
        (),
        f"{shown or 'the end of the file'}: {_lower(reason)}",
        "sound TOML",
        "correct this line",
    )


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
