"""Modules and functions stay short enough to read in one go."""

from __future__ import annotations

import ast
import statistics
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "bedplan"
MODULES = sorted(PACKAGE.rglob("*.py"))

LONGEST_MODULE, LONGEST_BODY = 350, 60
MEDIAN_BODY, P90_BODY = 8, 30


def functions(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [
        node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]


def body_lines(function):
    """Return the lines of a function's body, docstring and signature left out."""
    body = function.body
    if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        body = body[1:]
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


LENGTHS = [body_lines(function) for path in MODULES for function in functions(path)]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_module_is_too_long_to_read(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_function_is_too_long_to_read(path):
    long = {
        function.name: body_lines(function)
        for function in functions(path)
        if body_lines(function) > LONGEST_BODY
    }
    assert not long


def test_most_functions_are_short():
    assert len(LENGTHS) > 300
    assert statistics.median(LENGTHS) < MEDIAN_BODY
    assert statistics.quantiles(LENGTHS, n=10)[-1] < P90_BODY


def test_bodies_are_measured_without_their_docstring():
    source = 'def f():\n    """One.\n\n    Two.\n    """\n    a = 1\n    return (a,\n        2)\n'
    (function,) = ast.parse(source).body
    assert body_lines(function) == 3


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_every_module_says_its_layer(path):
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    assert text, "no docstring"
    assert path.stem in ("__init__", "__main__", "_version") or "ayer" in text


@pytest.mark.parametrize("name", ["utils", "helpers", "manager", "misc", "common"])
def test_no_drawer_for_everything(name):
    assert not [path for path in MODULES if name in path.stem]
