"""What a free laying is laid of, and what every part of its search knows (layer: paving engine).

Public entry point: `Ground`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.bonds import stack
from bedplan.paving.free_frame import TOUCH_M, Frame, frame_of
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.sides import directions

_FRAMES_KEPT: Final = 24


@dataclass(frozen=True)
class Ground:
    """The region, the unit and its joint.

    Parameters
    ----------
    region
        Where units may lie [m].
    length_m, width_m
        Face of the unit [m].
    joint_m
        Least gap between units [m].
    favoured_deg
        Direction of the laying that was given [deg].
    """

    region: BaseGeometry
    length_m: float
    width_m: float
    joint_m: float
    favoured_deg: float

    @property
    def face_m(self) -> tuple[float, float]:
        """Length and width of the unit [m]."""
        return self.length_m, self.width_m

    @property
    def square(self) -> bool:
        """True if the unit is the same turned by a right angle."""
        return abs(self.length_m - self.width_m) < FIT_M

    @cached_property
    def diagonal_m(self) -> float:
        """Diagonal of a unit with its joint [m]."""
        return math.hypot(self.length_m + self.joint_m, self.width_m + self.joint_m)

    @cached_property
    def angles(self) -> tuple[float, ...]:
        """Directions worth trying, the favoured one first, 0 ≤ angle < 90 [deg]."""
        return tuple(dict.fromkeys((self.favoured_deg % 90.0, *directions(self.region))))

    @cached_property
    def _frames(self) -> dict[float, Frame]:
        return {}

    def frame(self, direction_deg: float) -> Frame:
        """Return the frame of the whole region along a direction, made once."""
        direction_deg %= 90.0
        if direction_deg not in self._frames:
            if len(self._frames) >= _FRAMES_KEPT:
                self._frames.pop(next(iter(self._frames)))
            self._frames[direction_deg] = frame_of(
                self.region, self.face_m, self.joint_m, direction_deg
            )
        return self._frames[direction_deg]

    def outlines(self, units: Sequence[Placement]) -> list[BaseGeometry]:
        """Return the ground each unit takes from others, joint included.

        It is wider by what units may press into the edge of their ground, so that they keep the
        joint from each other to half of `TOUCH_M`.
        """
        more_m = 2.0 * (self.joint_m + FIT_M) - TOUCH_M
        wide = stack(self.length_m + more_m, self.width_m + more_m)
        plain = Laying(wide, 0.0, 0.0, (0.0, 0.0), (), (), proven=False)
        return list(replace(plain, units=tuple(units), faces=(0,) * len(units)).outlines())
