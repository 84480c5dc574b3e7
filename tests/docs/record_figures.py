"""A pytest plugin that notes every comparison of a published figure in ``test_check_values``.

Run by `test_docs_validation` in a process of its own: the figures a test takes from its table are
exchanged for numbers that remember what they are compared with. The notes are written, as JSON, to
the file named by ``RECORD_FIGURES``: for each test the rows it names, and pairs of published
figure and ours.
"""

from __future__ import annotations

import ast
import inspect
import json
import os
import textwrap
from pathlib import Path
from typing import Any, ClassVar

import pytest

MODULE = "test_check_values"


class Published(float):
    """A published figure that notes what it is compared with."""

    seen: ClassVar[list[tuple[float, float]]] = []

    def __eq__(self, ours: object) -> bool:
        if isinstance(ours, int | float):
            self.seen.append((float(self), float(ours)))
        return super().__eq__(ours)

    __hash__ = float.__hash__


class Recorder:
    """Hooks into one run of the tests."""

    def __init__(self, target: Path) -> None:
        self.target = target
        self.notes: dict[str, dict[str, Any]] = {}

    def pytest_collection_modifyitems(self, items: list[pytest.Function]) -> None:
        """Put noting figures in the place of the module's and the parameters' own."""
        for module in {item.module for item in items if item.module.__name__ == MODULE}:
            plain = module.figures
            module.figures = lambda row, plain=plain: [Published(each) for each in plain(row)]
        for item in items:
            if hasattr(item, "callspec"):
                for name, value in item.callspec.params.items():
                    item.callspec.params[name] = _noting(value)

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_call(self, item: pytest.Function) -> Any:
        """Note the comparisons of one test."""
        Published.seen = []
        outcome = yield
        outcome.get_result()
        known = set(getattr(item.module, "ROWS", ()))
        self.notes[item.nodeid] = {
            "test": item.originalname,
            "module": item.module.__name__,
            "rows": _rows(item, known),
            "seen": Published.seen,
        }

    def pytest_sessionfinish(self) -> None:
        """Write the notes."""
        self.target.write_text(json.dumps(self.notes), encoding="utf-8")


def _noting(value: Any) -> Any:
    if isinstance(value, list):
        return [_noting(each) for each in value]
    return Published(value) if type(value) is float else value


def _rows(item: pytest.Function, known: set[str]) -> list[str]:
    """Return the rows a test names: in its parameters and body, or else in its decorators."""
    function = ast.parse(textwrap.dedent(inspect.getsource(item.function))).body[0]
    named = {
        value
        for value in getattr(getattr(item, "callspec", None), "params", {}).values()
        if isinstance(value, str)
    }
    named |= {
        node.value
        for part in function.body
        for node in ast.walk(part)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    if not named & known:
        named = {
            node.value
            for part in function.decorator_list
            for node in ast.walk(part)
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        }
    return sorted(named & known)


def pytest_configure(config: pytest.Config) -> None:
    """Start recording where a file is named for it."""
    if target := os.environ.get("RECORD_FIGURES"):
        config.pluginmanager.register(Recorder(Path(target)))
