"""Runs the commands of ``console`` blocks and compares what they print.

A block quotes whole paragraphs (parts between empty lines) of the output, in their order; a line
``…`` stands for paragraphs left out. ``$ bedplan …`` is run inside this process, in a folder
of the test's own, with lines 100 characters wide.
"""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from bedplan.cli import main

LEFT_OUT = "…"


@dataclass(frozen=True)
class Command:
    """One command line of a block and the output quoted below it."""

    line: str
    quoted: str


def commands(block: str) -> list[Command]:
    """Return the command lines of a block with what is quoted below each."""
    found: list[Command] = []
    for part in ("\n" + block).split("\n$ ")[1:]:
        line, _, quoted = part.partition("\n")
        found.append(Command(line, quoted.strip("\n")))
    return found


def written(made: Sequence[Command]) -> str:
    """Return commands as the text of a block."""
    return "\n".join(
        f"$ {each.line}\n{each.quoted}\n" if each.quoted else f"$ {each.line}\n" for each in made
    )


def run(
    line: str, folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> str:
    """Return what a command prints, results and messages in that order."""
    words = shlex.split(line)
    assert words[0] == "bedplan", f"a page may only run bedplan, not {line!r}"
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setattr(sys, "argv", words)
    with pytest.raises(SystemExit):
        main()
    printed = capsys.readouterr()
    output = (printed.out + printed.err).rstrip("\n")
    assert "This is a bug in bedplan" not in output
    return output


def mismatch(quoted: str, output: str) -> str:
    """Return what of a quotation the output does not bear out; empty if it does."""
    if not quoted:
        return ""
    wanted, given = quoted.split("\n\n"), output.split("\n\n")
    place, skipping = 0, False
    for paragraph in wanted:
        if paragraph == LEFT_OUT:
            skipping = True
            continue
        there = [i for i in range(place, len(given)) if given[i] == paragraph]
        if not there or (not skipping and there[0] != place):
            return paragraph
        place, skipping = there[0] + 1, False
    return "" if skipping or place == len(given) else f"the end, after:\n{wanted[-1]}"


def requoted(quoted: str, output: str) -> str:
    """Return a quotation with each paragraph as the output now has it, found by its first line."""
    by_head = {paragraph.splitlines()[0]: paragraph for paragraph in output.split("\n\n")}
    if LEFT_OUT not in quoted:
        return output if quoted else ""
    return "\n\n".join(
        by_head.get(paragraph.splitlines()[0], paragraph) for paragraph in quoted.split("\n\n")
    )
