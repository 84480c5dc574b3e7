"""Boards stacked on the low side of a bed whose top is level (layer: engines).

The top board runs level all round. Where the ground falls away under it, tiers are added from
the top down, each so that the lowest board stands in the ground by no less than `bury_m`. Public
entry points: `profile`, `board_top`, `tiers_needed`, `tier_spans`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point, through
from bedplan.geometry.tolerance import FIT_M, GRID_M, SNAP_M
from bedplan.ground.surface import Surface

Segment = tuple[Point, Point]


@dataclass(frozen=True)
class TierSpan:
    """A stretch of a line, by stations from its start [m], and the tiers it needs."""

    start_m: float
    end_m: float
    tiers: int


def profile(surface: Surface, line: Segment) -> list[tuple[float, float]]:
    """Return the ground along a line: stations from its start and heights [m], straight between.

    Parameters
    ----------
    surface
        The ground.
    line
        Its start and end [m].

    Raises
    ------
    GeometryError
        If the line has no length.

    Examples
    --------
    >>> from shapely import box
    >>> from bedplan.ground.surface import surface_of
    >>> ground = surface_of([(0, 0, 0.0), (2, 0, 1.0), (4, 0, 1.0)], box(0, -1, 5, 1))
    >>> [(round(s, 6), round(z, 6)) for s, z in profile(ground, ((1, 0.5), (5, 0.5)))]
    [(0.0, 0.5), (1.0, 1.0), (4.0, 1.0)]
    """
    start, end = line
    length_m = math.dist(start, end)
    if length_m <= SNAP_M:
        message = f"a line from {start} to {end} has no length to walk along"
        raise GeometryError(message)
    drawn = shapely.LineString(line)
    numbers = surface.tree.query(drawn, predicate="intersects")
    edges = shapely.linestrings(surface.triangles[numbers][:, [[0, 1], [1, 2], [2, 0]]])
    met = shapely.get_coordinates(shapely.intersection(edges, drawn))
    walk = through(start, end)
    found = sorted(walk.station((float(x), float(y))) for x, y in met)
    # the places where triangles meet; ends that are neighbours' rounding of one place count once
    inner = [at for at in found if FIT_M < at < length_m - FIT_M]
    apart = [at for before, at in pairwise([0.0, *inner]) if at - before > FIT_M]
    stations = [0.0, *apart, length_m]
    heights = surface.heights_at([walk.point(at) for at in stations])
    return _bends(list(zip(stations, heights.tolist(), strict=True)))


def _bends(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a profile without the points on a straight stretch, its ends kept."""
    kept = points[:1]
    for (at, height), (next_at, next_height) in pairwise(points[1:]):
        before_at, before = kept[-1]
        share = (at - before_at) / (next_at - before_at)
        if abs(before + share * (next_height - before) - height) > GRID_M:
            kept.append((at, height))
    return [*kept, points[-1]]


def board_top(surface: Surface, lines: Iterable[Segment], reveal_m: float = 0.0) -> float:
    """Return the height of a level board top that clears the ground along all its runs [m].

    Parameters
    ----------
    surface
        The ground.
    lines
        The runs of a bed, start and end [m].
    reveal_m
        How far it stands above the highest ground along them [m].

    Raises
    ------
    GeometryError
        If there is no run.
    """
    heights = [height for line in lines for _, height in profile(surface, line)]
    if not heights:
        message = "a bed with no run of boards has no board top"
        raise GeometryError(message)
    return max(heights) + reveal_m


def tiers_needed(
    surface: Surface, line: Segment, top_m: float, board_height_m: float, bury_m: float = 0.0
) -> tuple[TierSpan, ...]:
    """Return how many boards must be stacked along a run, and where that number steps.

    Parameters
    ----------
    surface
        The ground.
    line
        Start and end of the run [m].
    top_m
        Height of the level top of the uppermost board [m].
    board_height_m
        Height of one board [m], > 0.
    bury_m
        How deep the lowest board stands in the ground [m], at least.

    Returns
    -------
    spans
        In order along the run, end to end; no two neighbours have the same number. Ground that
        stands as high as the board top still has its one board.

    Raises
    ------
    GeometryError
        If a board has no height or the run no length.

    Examples
    --------
    >>> from shapely import box
    >>> from bedplan.ground.surface import surface_of
    >>> ground = surface_of([(0, 0, 0.0), (6, 0, -0.3)], box(0, -1, 6, 1))
    >>> for span in tiers_needed(ground, ((0, 0), (6, 0)), top_m=0.0, board_height_m=0.2):
    ...     print(f"{span.start_m:.3f} to {span.end_m:.3f} m: {span.tiers}")
    0.000 to 4.000 m: 1
    4.000 to 6.000 m: 2
    """
    if board_height_m <= 0.0:
        message = "boards without height hold no ground"
        raise GeometryError(message)
    boards = [
        (station, (top_m - height + bury_m) / board_height_m)
        for station, height in profile(surface, line)
    ]
    cuts = [0.0, *(at for pair in pairwise(boards) for at in _steps(*pair))]
    slack = FIT_M / board_height_m
    stations, needs = np.array(boards).T
    spans: list[TierSpan] = []
    for first, last in pairwise(cuts):
        need = float(np.interp((first + last) / 2.0, stations, needs))
        _append(spans, TierSpan(first, last, max(1, math.ceil(need - slack))))
    return tuple(spans)


def tier_spans(spans: Sequence[TierSpan], tier: int) -> tuple[tuple[float, float], ...]:
    """Return the stretches that carry one tier, by stations [m]; tier 1 is the uppermost."""
    joined: list[tuple[float, float]] = []
    for span in spans:
        if span.tiers < tier:
            continue
        if joined and joined[-1][1] == span.start_m:
            joined[-1] = (joined[-1][0], span.end_m)
        else:
            joined.append((span.start_m, span.end_m))
    return tuple(joined)


def _steps(before: tuple[float, float], after: tuple[float, float]) -> list[float]:
    """Return where a straight stretch passes whole boards, then its end."""
    (start_m, low), (end_m, high) = before, after
    whole = range(math.ceil(min(low, high)), math.floor(max(low, high)) + 1)
    rise = high - low
    passed = sorted(start_m + (end_m - start_m) * (n - low) / rise for n in whole if rise)
    return [*(at for at in passed if start_m + FIT_M < at < end_m - FIT_M), end_m]


def _append(spans: list[TierSpan], span: TierSpan) -> None:
    """Append a stretch, or lengthen the last one of the same number."""
    if spans and spans[-1].tiers == span.tiers:
        spans[-1] = TierSpan(spans[-1].start_m, span.end_m, span.tiers)
    else:
        spans.append(span)
