"""Units of separate walks kept a joint apart (layer: plan).

Each separate walk is laid by itself. Where two come nearer to each other than a joint (they
meet at a corner, a board thinner than the joint parts them, or two paths share a border), the
one laid later leaves a joint to the units that lie already.

Public entry points: `Beside`, `clear_of`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.polygons import minus
from bedplan.geometry.tolerance import GRID_M


class Beside(NamedTuple):
    """Units of another walk: their outlines, and the joint that path asks for [m]."""

    outlines: tuple[Polygon, ...]
    joint_m: float


def clear_of(ground: BaseGeometry, beside: Sequence[Beside], joint_m: float) -> BaseGeometry:
    """Return the part of a ground in which units keep a joint from units laid elsewhere.

    Parameters
    ----------
    ground
        Where units may lie [m].
    beside
        Units of other walks. Of two paths with different joints the wider holds between them.
    joint_m
        Least joint of the units to be laid in the ground [m].

    Notes
    -----
    A unit is grown by the joint with square corners, so that past a corner a little more than
    the joint is kept. Ground that no unit comes near is returned as it is.
    """
    grown = [
        outline
        for other in beside
        for outline in _grown(ground, other, max(joint_m, other.joint_m))
    ]
    return minus(ground, *grown) if grown else ground


def _grown(ground: BaseGeometry, other: Beside, gap_m: float) -> list[BaseGeometry]:
    """Return the units nearer to a ground than a gap, grown by it."""
    outlines = np.array(other.outlines, dtype=object)
    near = outlines[shapely.distance(outlines, ground) < gap_m - GRID_M]
    return list(shapely.buffer(near, gap_m, join_style="mitre"))
