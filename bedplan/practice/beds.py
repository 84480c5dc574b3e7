"""Rules for beds and plants: reach, depth of mulch, height of boards, stems (layer: practice)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiLineString, Polygon

from bedplan.edging.model import BedEdging
from bedplan.edging.runs import Served, edges_of
from bedplan.errors import Finding
from bedplan.geometry.polygons import touching
from bedplan.geometry.tolerance import GRID_M, SNAP_M
from bedplan.model.layout import Layer
from bedplan.model.site import PlacedBed, PlacedPlant
from bedplan.practice.subject import Subject

REACH_M: Final = 0.6096
"""Half of a 4 ft bed worked from two sides [m]."""
REACH_SOURCE: Final = (
    "K-State Research & Extension horticulture column, 2021: beds worked from "
    "two sides are at most 4 ft wide"
)
BORDER_REACH_M: Final = 0.762
"""A border worked from one side [m]: 2 to 2-1/2 ft."""
BORDER_SOURCE: Final = "common extension advice, 2 to 2-1/2 ft (from memory)"

FINE_M: Final = 5e-4
"""Reach is sought on ever finer spots down to this spacing [m]."""
AROUND: Final = np.array([(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)], dtype=float)

MULCH_M: Final = (0.05, 0.1016)
"""Least and greatest mulch [m]: 2 in (50 mm) to 4 in."""
MULCH_SOURCE: Final = (
    "Penn State Cooperative Extension, 2007, and NJ DEP Parks & Forestry: 2 to 4 in in all"
)
STEM_RING_M: Final = 0.0762
"""Least ring without mulch round a stem [m]: 3 in."""
STEM_SOURCE: Final = (
    "Penn State Cooperative Extension, 2007: 3 to 4 in; Iowa State University "
    "Extension asks for 6 in round trees"
)


def check_beds(subject: Subject) -> Iterator[Finding]:
    """Yield every finding about beds and the plants in them."""
    fence = Served([subject.site.enclosure.polygon])
    outlines = [bed.outline for bed in subject.site.beds]
    near = touching(outlines, SNAP_M)
    for number, (bed, edging) in enumerate(zip(subject.site.beds, subject.edging, strict=True)):
        neighbours = Served([outlines[other] for other in near[number]])
        yield from _reach(subject, bed, [fence, neighbours])
        yield from _mulch_depth(subject, bed)
        yield from _board_height(subject, bed, edging)
        yield from _plants_in_bed(subject, bed, edging.planting)
    yield from _plants_in_no_bed(subject)


def _reach(subject: Subject, bed: PlacedBed, served: Sequence[Served]) -> Iterator[Finding]:
    """Compare the farthest spot of a bed from where one can stand with an arm's reach."""
    rings = edges_of(bed.outline, served)
    edges = [edge for ring in rings for edge in ring]
    sides = [(edge.line.point(a), edge.line.point(b)) for edge in edges for a, b in edge.spans]
    if not sides:
        yield Finding(
            "bed-reach",
            "warning",
            bed.spec.name,
            "no edge on a path",
            "one edge at least",
            REACH_SOURCE,
            "leave a path along one side of the bed",
        )
        return
    all_round = len(sides) == len(edges)
    limit_m, source = (REACH_M, REACH_SOURCE) if all_round else (BORDER_REACH_M, BORDER_SOURCE)
    reach_m = farthest_m(bed.outline, MultiLineString(sides))
    if reach_m > limit_m + 0.001:
        yield Finding(
            "bed-reach",
            "warning",
            bed.spec.name,
            subject.length(reach_m),
            f"at most {subject.length(limit_m)}",
            source,
            "make the bed narrower or lay a stepping place in it",
        )


def farthest_m(outline: Polygon, access: MultiLineString, spacing_m: float = 0.05) -> float:
    """Return how far the farthest spot of a bed lies from the edges one can stand at [m].

    The outline and a grid of at most 40 × 40 spots are tried, then ever finer spots round the
    farthest few: good to a millimetre.
    """
    x0, y0, x1, y1 = outline.bounds
    xs = np.linspace(x0, x1, min(40, 2 + int((x1 - x0) / spacing_m)))
    ys = np.linspace(y0, y1, min(40, 2 + int((y1 - y0) / spacing_m)))
    grid = np.column_stack([axis.ravel() for axis in np.meshgrid(xs, ys)])
    edge = shapely.get_coordinates(outline.segmentize(spacing_m))
    shapely.prepare(outline)
    spots = _farthest(np.concatenate([grid, edge]), outline, access)
    step_m = max(xs[1] - xs[0], ys[1] - ys[0])
    while step_m > FINE_M:
        near = (spots[:, None] + step_m * AROUND).reshape(-1, 2)
        spots = _farthest(np.concatenate([spots, near]), outline, access)
        step_m /= 2.0
    return float(shapely.distance(shapely.points(spots), access).max())


def _farthest(
    spots: NDArray[np.float64], outline: Polygon, access: MultiLineString
) -> NDArray[np.float64]:
    """Return the few spots of a bed that lie farthest from its access."""
    inside = spots[shapely.dwithin(outline, shapely.points(spots), GRID_M)]
    order = np.argsort(-shapely.distance(shapely.points(inside), access), kind="stable")
    few: NDArray[np.float64] = inside[order[:8]]
    return few


def _mulch_depth(subject: Subject, bed: PlacedBed) -> Iterator[Finding]:
    mulch = bed.spec.mulch
    if mulch is not None and not MULCH_M[0] - 1e-6 <= mulch.depth_m <= MULCH_M[1] + 1e-6:
        least, most = map(subject.length, MULCH_M)
        yield Finding(
            "mulch-depth",
            "warning",
            bed.spec.name,
            subject.length(mulch.depth_m),
            f"{least} to {most}",
            MULCH_SOURCE,
            _depth_remedy(mulch) if mulch.from_heap else "change the mulch depth",
        )


def _depth_remedy(mulch: Layer) -> str:
    """Return what to do about mulch that goes as far as a heap gives."""
    if mulch.depth_m > MULCH_M[1]:
        return "set a depth here; the heap gives more than is wanted"
    if mulch.depth_m <= mulch.there_m + 1e-6:
        return f"nothing on hand of {mulch.material} is left for this bed; set a depth and buy it"
    return "set a depth and buy the rest, or spread the heap over fewer beds"


def _board_height(subject: Subject, bed: PlacedBed, edging: BedEdging) -> Iterator[Finding]:
    filled_m = sum(layer.depth_m for layer in bed.spec.layers)
    filled_m += bed.spec.mulch.depth_m if bed.spec.mulch else 0.0
    if edging.board is not None and filled_m > edging.height_m + 1e-6:
        yield Finding(
            "fill-height",
            "warning",
            bed.spec.name,
            f"{subject.length(filled_m)} of fill",
            f"{'boards' if edging.tiers > 1 else 'board'} {subject.length(edging.height_m)} high",
            "first principles: fill above the board spills over it",
            "use a higher board, sink the fill below grade, or fill less",
        )


def _plants_in_bed(subject: Subject, bed: PlacedBed, planting: Polygon) -> Iterator[Finding]:
    for plant in _inside(subject.site.plants, bed.outline):
        if bed.spec.mulch is not None and plant.plant.keep_clear_m < STEM_RING_M - 1e-6:
            yield Finding(
                "mulch-on-stem",
                "warning",
                plant.plant.name,
                f"{subject.length(plant.plant.keep_clear_m)} clear",
                f"at least {subject.length(STEM_RING_M)}",
                STEM_SOURCE,
                "give the plant a keep_clear ring",
            )
        if plant.plant.ring_m > 0.0 and not planting.buffer(1e-6).covers(plant.ring):
            yield Finding(
                "stem-clearance",
                "warning",
                plant.plant.name,
                f"clear ring of {subject.length(plant.plant.ring_m)} meets the edging",
                "stem and ring inside the boards",
                "first principles: a board set there cuts into the clear ring",
                "move the edge of the bed away from the stem",
            )


def _plants_in_no_bed(subject: Subject) -> Iterator[Finding]:
    outlines = [bed.outline for bed in subject.site.beds]
    for plant in subject.site.plants:
        if not any(outline.covers(shapely.Point(plant.at)) for outline in outlines):
            yield Finding(
                "plant-in-no-bed",
                "warning",
                plant.plant.name,
                "in no bed",
                "existing plants in beds",
                "common practice, no source",
                "draw a bed around it; pavers keep off its clear ring meanwhile",
            )


def _inside(plants: Sequence[PlacedPlant], outline: Polygon) -> list[PlacedPlant]:
    return [plant for plant in plants if outline.covers(shapely.Point(plant.at))]
