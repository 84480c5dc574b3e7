"""docs/validation.md is made from the validation tests: their rows, and what we got for each."""

from __future__ import annotations

import ast
import csv
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from docs_pages import ROOT, hold_part, table_rows

TESTS = ROOT / "tests" / "validation"
TABLE = ROOT / "tests" / "data" / "check-values.csv"
HEAD = "| row | case | published | ours | source | test |\n|---|---|---|---|---|---|\n"


@pytest.fixture(scope="module")
def notes(tmp_path_factory):
    """Run the published figures once, noting what each is compared with."""
    target = tmp_path_factory.mktemp("validation") / "notes.json"
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-p",
            "record_figures",
            "-p",
            "no:cacheprovider",
            "tests/validation/test_check_values.py",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={
            **os.environ,
            "RECORD_FIGURES": str(target),
            "PYTHONPATH": str(Path(__file__).parent),
        },
    )
    assert done.returncode == 0, done.stdout[-3000:]
    return list(json.loads(target.read_text(encoding="utf-8")).values())


def figures(text: str) -> list[float]:
    return [float(each) for each in re.findall(r"\d+\.?\d*", text)]


def cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def ours(row: dict[str, str], tests: list[dict]) -> str:
    """Return for each published figure of a row what it was compared with."""
    seen = [pair for each in tests for pair in each["seen"]]
    got = []
    for figure in figures(row["expected"]):
        values = [value for published, value in seen if published == figure]
        nearest = min(values, key=lambda value: abs(value - figure), default=None)
        got.append("–" if nearest is None else f"{nearest:.7g}")
    return "; ".join(got) if set(got) - {"–"} else "in other terms"


def source(row: dict[str, str]) -> str:
    where = row["section"].split(" [")[0].strip("[] ")
    year = row["year"] if re.match(r"\d", row["year"]) else ""
    words = [row["source"], "" if where == "exact identity" else where, year]
    read = ", from memory" if row["seen_or_memory"] == "memory" else ""
    return cell(", ".join(word for word in words if word.strip(" -")) + read)


def published_rows(notes) -> list[str]:
    made = []
    for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()):
        tests = [each for each in notes if row["id"] in each["rows"]]
        if tests:
            names = ", ".join(dict.fromkeys(f"`{each['test']}`" for each in tests))
            made.append(
                f"| {row['id']} | {cell(row['quantity'])}: {cell(row['inputs'])} "
                f"| {cell(row['expected'])} {cell(row['unit'])} | {ours(row, tests)} "
                f"| {source(row)} | {names} |"
            )
    return made


def comment_of(lines: list[str], function: ast.FunctionDef) -> str:
    """Return the comments of a test, its decorators among them, as one text."""
    first = min([function.lineno, *(each.lineno for each in function.decorator_list)])
    said = [
        match[1]
        for line in lines[first - 1 : function.end_lineno]
        if (match := re.match(r"\s*# (.*)", line))
    ]
    return cell(" ".join(said))


def other_rows() -> list[str]:
    """Return every other test of the folder that says in a comment what it rests on."""
    made = []
    for file in sorted(TESTS.glob("test_*.py")):
        if file.stem == "test_check_values":
            continue
        text = file.read_text(encoding="utf-8")
        for node in ast.parse(text).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                said = comment_of(text.splitlines(), node) or cell(
                    (ast.get_docstring(ast.parse(text)) or "").split("\n\n")[-1]
                )
                words = node.name.removeprefix("test_").replace("_", " ")
                made.append(f"| {words} | {said} | `{file.stem}` |")
    return made


def test_published_figures_on_the_page_are_those_of_the_tests(notes):
    hold_part("validation.md", "published", HEAD + "\n".join(published_rows(notes)))


def test_other_checks_on_the_page_are_those_of_the_tests():
    head = "| case | what it is held against | test file |\n|---|---|---|\n"
    hold_part("validation.md", "others", head + "\n".join(other_rows()))


def test_rows_are_really_compared(notes):
    rows = table_rows(HEAD + "\n".join(published_rows(notes)))
    assert len(rows) >= 40
    compared = [row for row in rows if row[3] != "in other terms"]
    assert len(compared) >= 0.7 * len(rows)


def test_every_row_of_the_table_is_used(notes):
    used = {row for each in notes for row in each["rows"]}
    known = {row["id"] for row in csv.DictReader(TABLE.read_text("utf-8").splitlines())}
    assert used <= known
    assert len(used) >= 0.8 * len(known)
