"""What a side of a path lies on: the fence or a bed (layer: plan).

Public entry point: `lies_on`.
"""

from __future__ import annotations

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.site import Site
from bedplan.paving.margins import Margin


def lies_on(site: Site, margin: Margin) -> str | None:
    """Return the name of the bed or the fence side along which a margin runs.

    None where it runs along neither: beside another path, a post, or open ground. A bed on the
    fence hides the fence, so beds come first.
    """
    side = LineString([margin.start, margin.end])
    for bed in site.beds:
        if _runs_along(side, bed.outline.exterior):
            return bed.spec.name
    for fence in site.enclosure.sides:
        if _runs_along(side, LineString([fence.start, fence.end])):
            return fence.name
    return None


def _runs_along(side: LineString, border: BaseGeometry) -> bool:
    """Tell whether both ends and the middle of a side lie on a border."""
    points = [*side.boundary.geoms, side.interpolate(0.5, normalized=True)]
    return bool((shapely.distance(points, border) <= 2.0 * SNAP_M).all())
