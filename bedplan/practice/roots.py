"""Rules for roots: no digging near the stem of a plant that stays (layer: practice).

Public entry points: `check_roots`, `critical_radius_m`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely

from bedplan.errors import Finding
from bedplan.geometry.tolerance import SNAP_M
from bedplan.practice.subject import Subject

LEAST_STEMS: Final = 12.0
"""Root protection radius in stem diameters [-]: 1 ft for each inch."""
MOST_STEMS: Final = 18.0
"""The widest of the published radii [-]: 1.5 ft for each inch."""
ROOT_SOURCE: Final = (
    "Vancouver (Washington) Municipal Code 20.170.100: 1 ft for each inch of trunk; NC State "
    "Extension, tree protection zone guidelines, figure 3: at least 1.25 ft; City of Edina "
    "(Minnesota): 1.5 ft, trunks measured at breast height"
)


def critical_radius_m(stem_m: float) -> float:
    """Return the least published radius of the roots that must not be cut [m].

    Examples
    --------
    >>> round(critical_radius_m(0.254) / 0.3048, 9)  # a stem of 10 in: 10 ft
    10.0
    """
    return LEAST_STEMS * stem_m


def check_roots(subject: Subject) -> Iterator[Finding]:
    """Yield a note for every path dug for its layers within the roots of a plant that stays."""
    standing = [plant for plant in subject.site.plants if plant.plant.existing]
    for path in subject.site.paths:
        dug_m = sum(layer.depth_m for layer in path.spec.layers)
        for plant in standing if dug_m else ():
            radius_m = critical_radius_m(plant.plant.stem_m)
            near_m = float(path.area.distance(shapely.Point(plant.at)))
            if near_m < radius_m - SNAP_M:
                widest = subject.length(MOST_STEMS * plant.plant.stem_m)
                yield Finding(
                    "root-zone",
                    "note",
                    f"{path.spec.name}, {plant.plant.name}",
                    f"{subject.length(dug_m)} of layers {subject.length(near_m)} from the stem",
                    f"{subject.length(radius_m)} to {widest}",
                    ROOT_SOURCE,
                    "dig by hand there and cut no thick root, lay the path on top of the ground, "
                    "or keep it away",
                )
