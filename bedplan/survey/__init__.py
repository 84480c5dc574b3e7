"""The survey engine: corners from taped distances, and stakes back to the ground (layer: engines).

`solve` places corners and other marks by least squares and names the tie that looks wrong.
`set_out` tells how to find points with a tape, `string_line` where to tie a string over an edge,
`frame` the sides and diagonals of a ring of stakes. `surveyed` gives a layout told by ties its
corners.
"""

from __future__ import annotations

from bedplan.survey.model import (
    Closure,
    CornerAngle,
    Ellipse,
    Mark,
    Rival,
    Survey,
    Suspect,
    TieCheck,
)
from bedplan.survey.solve import solve, solve_ring
from bedplan.survey.stakes import Means, Stake, set_out
from bedplan.survey.strings import Frame, StringLine, frame, string_line
from bedplan.survey.surveyed import surveyed

__all__ = [
    "Closure",
    "CornerAngle",
    "Ellipse",
    "Frame",
    "Mark",
    "Means",
    "Rival",
    "Stake",
    "StringLine",
    "Survey",
    "Suspect",
    "TieCheck",
    "frame",
    "set_out",
    "solve",
    "solve_ring",
    "string_line",
    "surveyed",
]
