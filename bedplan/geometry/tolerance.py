"""The one set of tolerances (layer: geometry).

A tape is read to 1/16 in or 1 mm. Everything here is far below that and far above the
rounding of a 64-bit float at garden size (about 1e-15 m per metre), so a tolerance never
decides anything a builder could measure.
"""

from typing import Final

GRID_M: Final = 1e-9
"""Snap grid of every overlay [m]: near-coincident edges come out exact (shapely issue 1871)."""

SNAP_M: Final = 1e-4
"""Two places nearer than this are one place: a bed edge 0.1 mm off the fence lies on it [m]."""

FIT_M: Final = 1e-5
"""A unit may press this far into the edge of its region [m].

Without it, a walk exactly ten units wide would hold ten or nine as rounding falls.
"""

AREA_M2: Final = 1e-6
"""Smallest area that counts: 1 mm² [m^2]."""

ANGLE_DEG: Final = 1e-6
"""Two directions nearer than this are one direction [deg]."""
