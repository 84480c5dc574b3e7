"""Reads the pages of docs/, and rewrites the parts that programs make.

With ``BEDPLAN_UPDATE_DOCS=1`` in the environment the tests of this folder write what they would
otherwise complain about; look at the difference before you keep it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
UPDATE = bool(os.environ.get("BEDPLAN_UPDATE_DOCS"))
HOW = "to write it anew: BEDPLAN_UPDATE_DOCS=1 .venv/bin/pytest tests/docs, then read the change"

_BLOCK = re.compile(
    r"(?:<!-- (?P<mark>[^>]*) -->\n)?```(?P<kind>\w*)\n(?P<text>.*?)^```$",
    re.DOTALL | re.MULTILINE,
)


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, the comment on the line above, and where its text stands."""

    kind: str
    mark: str
    text: str
    start: int
    end: int


def read(name: str) -> str:
    """Return a page."""
    return (DOCS / name).read_text(encoding="utf-8")


def blocks(page: str) -> Iterator[Block]:
    """Yield the fenced blocks of a page in order."""
    for found in _BLOCK.finditer(page):
        yield Block(found["kind"], found["mark"] or "", found["text"], *found.span("text"))


def prose(page: str) -> str:
    """Return a page without its fenced blocks."""
    return _BLOCK.sub("", page)


def replaced(page: str, changes: list[tuple[Block, str]]) -> str:
    """Return a page with new text in some of its blocks."""
    for block, text in sorted(changes, key=lambda change: -change[0].start):
        page = page[: block.start] + text + page[block.end :]
    return page


def part(page: str, name: str) -> str:
    """Return what stands between the two marks of a made part."""
    return page.partition(_opening(name))[2].partition(_closing(name))[0].strip("\n")


def with_part(page: str, name: str, text: str) -> str:
    """Return a page with a made part written anew."""
    before, rest = page.split(_opening(name))
    after = rest.split(_closing(name))[1]
    return f"{before}{_opening(name)}\n{text}\n{_closing(name)}{after}"


def _opening(name: str) -> str:
    return f"<!-- {name}: made by tests/docs, do not edit -->"


def _closing(name: str) -> str:
    return f"<!-- end of {name} -->"


def hold_part(page_name: str, name: str, text: str) -> None:
    """Hold that a made part of a page is what it would be made now; or write it."""
    page = read(page_name)
    if UPDATE:
        (DOCS / page_name).write_text(with_part(page, name, text), encoding="utf-8")
        return
    assert part(page, name) == text, f"docs/{page_name}, {name}, is out of date; {HOW}"


def table_rows(text: str) -> list[list[str]]:
    """Return the rows of the pipe tables in a text, heads and rules left out."""
    rows: list[list[str]] = []
    lines = text.splitlines()
    for number, line in enumerate(lines):
        following = lines[number + 1] if number + 1 < len(lines) else ""
        if not line.startswith("|") or _is_rule(line) or _is_rule(following):
            continue
        rows.append([cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]])
    return rows


def _is_rule(line: str) -> bool:
    return bool(line) and not line.strip("|-: ")


def sections(page: str) -> dict[str, str]:
    """Return the text under each heading, by heading."""
    found: dict[str, str] = {}
    heading = ""
    for line in prose(page).splitlines():
        if line.startswith("#"):
            heading = line.lstrip("#").strip()
            found[heading] = ""
        elif heading:
            found[heading] += line + "\n"
    return found
