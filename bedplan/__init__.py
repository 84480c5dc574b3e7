"""bedplan: edged beds, paved walks and their materials inside a fence as it was really built.

>>> import bedplan
>>> plan = bedplan.make_plan(bedplan.load_layout("layouts/tutorial.toml"))
>>> plan.layout.title
'First rectangle'

Attributes are imported when first used, so that ``import bedplan`` costs next to nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from bedplan._version import __version__

if TYPE_CHECKING:
    from bedplan.layout_file import load_layout, parse_layout
    from bedplan.plan import Plan, make_plan

_HOMES = {
    "load_layout": "bedplan.layout_file",
    "parse_layout": "bedplan.layout_file",
    "make_plan": "bedplan.plan",
    "Plan": "bedplan.plan",
}

__all__ = ["Plan", "__version__", "load_layout", "make_plan", "parse_layout"]


def __getattr__(name: str) -> object:
    """Import an entry point when it is first asked for."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name in ("paving", "stock"):
        return import_module(f"bedplan.{name}")
    message = f"module 'bedplan' has no attribute {name!r}"
    raise AttributeError(message)
