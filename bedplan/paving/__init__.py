"""Whole units laid in a region, none cut (layer: engine).

`best_shift` lays one bond in one direction, `best_laying` tries bonds and directions,
`open_joints` shares slack out into the joints. `best_courses` slides every row on its own,
`lay_free` keeps no pattern at all, and `pack_rectangle` packs a rectangle without one.
`upper_bound` says how many units any layout at all could hold, `line_bound` any in which all
units are turned alike, `mixed_bound` any in which they lie along or across one direction,
`direction_bound` any in which they share one direction, whichever.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bedplan.paving.bonds import (
        Bond,
        basket_weave,
        herringbone,
        pinwheel,
        running,
        stack,
    )
    from bedplan.paving.bound_alike import line_bound
    from bedplan.paving.bound_any import upper_bound
    from bedplan.paving.bound_directions import direction_bound
    from bedplan.paving.bound_mixed import mixed_bound
    from bedplan.paving.courses import best_courses, courses_along
    from bedplan.paving.free import lay_free
    from bedplan.paving.gaps import least_gap_m
    from bedplan.paving.joints import open_joints
    from bedplan.paving.laying import Laying, Placement
    from bedplan.paving.rectangle import pack_rectangle
    from bedplan.paving.shift import best_shift
    from bedplan.paving.sides import best_laying, directions

_HOMES = {
    "Bond": "bonds",
    "Laying": "laying",
    "Placement": "laying",
    "basket_weave": "bonds",
    "best_courses": "courses",
    "best_laying": "sides",
    "best_shift": "shift",
    "courses_along": "courses",
    "direction_bound": "bound_directions",
    "directions": "sides",
    "herringbone": "bonds",
    "lay_free": "free",
    "least_gap_m": "gaps",
    "line_bound": "bound_alike",
    "mixed_bound": "bound_mixed",
    "open_joints": "joints",
    "pack_rectangle": "rectangle",
    "pinwheel": "bonds",
    "running": "bonds",
    "stack": "bonds",
    "upper_bound": "bound_any",
}

__all__ = [
    "Bond",
    "Laying",
    "Placement",
    "basket_weave",
    "best_courses",
    "best_laying",
    "best_shift",
    "courses_along",
    "direction_bound",
    "directions",
    "herringbone",
    "lay_free",
    "least_gap_m",
    "line_bound",
    "mixed_bound",
    "open_joints",
    "pack_rectangle",
    "pinwheel",
    "running",
    "stack",
    "upper_bound",
]


def __getattr__(name: str) -> object:
    """Import an entry point when it is first asked for, to keep the package's import light."""
    if name not in _HOMES:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
