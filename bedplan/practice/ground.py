"""Rules for heights: fall of walks, spots to doubt, roots, boards on a slope (layer: practice)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely

from bedplan.errors import Finding
from bedplan.geometry.tolerance import SNAP_M
from bedplan.ground.plane import fall_to_side
from bedplan.ground.works import BedWorks, PathWorks, Works
from bedplan.model.site import PlacedPath, Side
from bedplan.practice.subject import Subject
from bedplan.units import format_area, format_volume

FALL: Final = 0.02
"""Least fall of a walk [-]: 2 %."""
FALL_SOURCE: Final = (
    "Interlocking Concrete Pavement Institute, Construction Tolerances and "
    "Recommendations: 2 % at least, 2.4 in over 10 ft"
)
CROSS: Final = 1.0 / 48.0
"""Greatest fall across an accessible walk [-]: 1:48, which is 1/4 in per ft."""
CROSS_SOURCE: Final = (
    "US Access Board, outdoor summary: 1:48 across a paved walk (binding only where an "
    "accessible route is required)"
)
RAMP: Final = 1.0 / 20.0
"""Greatest fall along a walk that is no ramp [-]: 1:20."""
RAMP_SOURCE: Final = (
    "US Access Board, outdoor summary, table 3 and 1016.7: 1:20 (binding only where an "
    "accessible route is required)"
)
NEAR_M: Final = 3.048
"""Water within this of a building runs to its wall [m]: 10 ft."""
BUILDING_SOURCE: Final = (
    "Interlocking Concrete Pavement Institute, slope attribute: 2 % away from a building over "
    "10 ft; first principles: water runs down the fall"
)
GUESSED_M2: Final = 0.1
"""Less ground than this beyond the spot heights is not told [m^2]."""
ROOT_SOURCE: Final = "common practice, no source: most roots lie under the crown, in the top foot"
EVEN: Final = 1e-6
"""Falls nearer than this are one fall [-]."""


def check_ground(subject: Subject, works: Works | None) -> Iterator[Finding]:
    """Yield every finding about heights; none for a layout without them."""
    if works is None:
        return
    placed = {path.spec.name: path for path in subject.site.paths}
    for path in works.paths:
        yield from _slope(path, placed[path.path])
        yield from _to_building(subject, path, placed[path.path])
        yield from _guessed(subject, path)
        yield from _roots(subject, path)
    for bed in works.beds:
        yield from _tiers(subject, bed)
    yield from _spots(subject, works)
    yield from _wanting(subject, works)


def percent(slope: float) -> str:
    """Return a fall in words.

    Examples
    --------
    >>> percent(0.02), percent(1 / 48)
    ('2 %', '2.08 %')
    """
    return f"{100.0 * slope:.2f}".rstrip("0").rstrip(".") + " %"


def _slope(path: PathWorks, placed: PlacedPath) -> Iterator[Finding]:
    slope = path.finish.slope
    if placed.spec.paving is not None and slope < FALL - EVEN:
        yield Finding(
            "fall-least",
            "warning",
            path.path,
            f"falls {percent(slope)}" if slope else "lies level",
            f"at least {percent(FALL)}",
            FALL_SOURCE,
            'give it a fall, as in fall = { toward = "AB", slope = "2 %" }',
        )
    limit, source = (RAMP, RAMP_SOURCE) if slope > RAMP + EVEN else (CROSS, CROSS_SOURCE)
    if slope > limit + EVEN:
        yield Finding(
            "fall-most",
            "note" if limit == CROSS else "warning",
            path.path,
            f"falls {percent(slope)}",
            f"at most {percent(limit)} {'across' if limit == CROSS else 'along'} the walk",
            source,
            "lessen the slope, or lay the walk in steps",
        )


def _to_building(subject: Subject, path: PathWorks, placed: PlacedPath) -> Iterator[Finding]:
    for side in _building(subject):
        toward = fall_to_side(path.finish, side)
        if toward <= EVEN:
            continue
        away_m = _wall_distance_m(placed, side)
        yield Finding(
            "fall-to-building",
            "error" if away_m <= NEAR_M else "warning",
            path.path,
            f"falls {percent(toward)} towards the building on side {side.name}",
            f"away from it, {percent(FALL)} at least",
            BUILDING_SOURCE,
            "turn the fall to another side, or lead the water off before it meets the wall",
        )


def _building(subject: Subject) -> Iterator[Side]:
    ground = subject.layout.ground
    for name in ground.building if ground is not None else ():
        side = subject.site.enclosure.side(name)
        if side is not None:
            yield side


def _wall_distance_m(placed: PlacedPath, side: Side) -> float:
    return float(placed.area.distance(shapely.LineString([side.start, side.end])))


def _guessed(subject: Subject, path: PathWorks) -> Iterator[Finding]:
    if path.guessed_m2 > GUESSED_M2:
        yield Finding(
            "ground-guessed",
            "note",
            path.path,
            f"{format_area(path.guessed_m2, subject.show)} beyond the outermost spot heights",
            "spot heights all round the path",
            "first principles: no height was measured there, it is carried on level",
            "take spot heights at the path's ends and at the fence corners",
        )


def _roots(subject: Subject, path: PathWorks) -> Iterator[Finding]:
    for plant, cut_m in path.roots.items():
        yield Finding(
            "root-cut",
            "warning",
            plant,
            f"{subject.length(cut_m)} of digging for path {path.path!r} under its crown",
            "no digging under the crown of an existing plant",
            ROOT_SOURCE,
            "raise the finish, move the path, or dig by hand and bridge the roots",
        )


def _tiers(subject: Subject, bed: BedWorks) -> Iterator[Finding]:
    short = bed.short_runs
    if not short:
        return
    most = max(run.most for run in short)
    length_m = sum(
        span.end_m - span.start_m for run in short for span in run.spans if span.tiers > bed.tiers
    )
    if length_m <= SNAP_M:
        return
    runs = ", ".join(str(run.run) for run in short)
    yield Finding(
        "board-tiers",
        "warning",
        bed.bed,
        f"the ground falls away under {subject.length(length_m)} of its boards "
        f"(run {runs}): {most} boards stacked",
        f"{bed.tiers} stacked all round",
        "first principles: a level board top, and no gap under the lowest board",
        f'set tiers = {most}, or tiers = "ground" for boards only where they are needed',
    )


def _spots(subject: Subject, works: Works) -> Iterator[Finding]:
    for spot in works.doubtful:
        yield Finding(
            "spot-doubtful",
            "warning",
            f"spot {spot.number + 1}",
            f"{subject.length(spot.height_m)}, {spot.reason}",
            f"near {subject.length(spot.expected_m)}",
            "first principles: beside the spots round it",
            "measure it again, or leave it if the ground is so",
        )


def _wanting(subject: Subject, works: Works) -> Iterator[Finding]:
    if works.spoil.wanting_m3 > 1e-3:
        yield Finding(
            "soil-wanting",
            "note",
            "all paths",
            f"{format_volume(works.spoil.wanting_m3, subject.show)} of made-up ground more than "
            "the cut gives",
            "cut that makes its fill",
            "first principles: mass balance with the soil's shrinkage",
            'lower the finish, as in level = "balance", or buy fill',
        )
