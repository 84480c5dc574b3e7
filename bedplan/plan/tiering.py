"""Boards that the ground asks for under a level board top, run by run (layer: plan).

Public entry points: `boards_needed`, `lower_boards`, `on_ground`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from shapely.geometry import Polygon

from bedplan.edging import BedEdging, LowerBoards, edge_beds
from bedplan.geometry.tolerance import SNAP_M
from bedplan.ground.surface import Surface, surface_of
from bedplan.ground.tiers import (
    Segment,
    TierSpan,
    board_top,
    profile,
    tier_spans,
    tiers_needed,
)
from bedplan.ground.works import RunTiers
from bedplan.model.ground import GroundSpec
from bedplan.model.layout import Layout
from bedplan.model.site import PlacedBed, Site
from bedplan.site.heights import place_spots


def boards_needed(
    layout: Layout, surface: Surface, bed: PlacedBed, edged: BedEdging
) -> tuple[float, tuple[RunTiers, ...]]:
    """Return the height of a bed's level board top [m], and the boards needed along every run.

    Parameters
    ----------
    layout, surface
        Boards and the wishes of ``[ground]``; the ground.
    bed, edged
        A bed with boards.
    """
    assert layout.ground is not None
    board_m = layout.boards[edged.board or ""].height_m
    ground = layout.ground
    lines = {run.number: _lines(run.start, run.end, bed.outline) for run in edged.runs}
    every = [line for each in lines.values() for line in each]
    top_m = _top_m(surface, every, ground, edged)
    runs = tuple(
        RunTiers(
            run.number,
            run.length_m,
            _joined(
                [
                    tiers_needed(surface, line, top_m, board_m, ground.bury_m)
                    for line in lines[run.number]
                ]
            ),
        )
        for run in edged.runs
    )
    return top_m, runs


def lower_boards(layout: Layout, site: Site) -> LowerBoards:
    """Return where boards are wanted under the first tier of beds that follow the ground.

    Raises
    ------
    LayoutError, StockError
        As for `bedplan.edging.edge_beds`; spots that cannot be placed.
    """
    if not any(_follows(bed) for bed in site.beds):
        return {}
    surface = _surface(layout, site)
    wanted = {}
    for bed, edged in zip(site.beds, edge_beds(site, layout.boards, layout.stakes), strict=True):
        if not _follows(bed) or not edged.runs:
            continue
        for run in boards_needed(layout, surface, bed, edged)[1]:
            for tier in range(2, run.most + 1):
                wanted[(bed.spec.name, run.run, tier)] = tier_spans(run.spans, tier)
    return wanted


def on_ground(layout: Layout, site: Site, edging: Sequence[BedEdging]) -> tuple[BedEdging, ...]:
    """Return the edging with the stakes of beds that follow the ground as deep as they stand.

    A stake reaches down from the level board top, past as much air as there is at its place.
    """
    if not any(_follows(bed) for bed in site.beds):
        return tuple(edging)
    surface = _surface(layout, site)
    return tuple(
        _staked(layout, surface, bed, edged) if _follows(bed) and edged.stakes else edged
        for bed, edged in zip(site.beds, edging, strict=True)
    )


def _follows(bed: PlacedBed) -> bool:
    return bed.spec.tiers == "ground" and bed.spec.edging is not None


def _surface(layout: Layout, site: Site) -> Surface:
    assert layout.ground is not None
    return surface_of(place_spots(site.enclosure, layout.ground.spots), site.enclosure.polygon)


def _staked(layout: Layout, surface: Surface, bed: PlacedBed, edged: BedEdging) -> BedEdging:
    top_m, _ = boards_needed(layout, surface, bed, edged)
    ground = surface.heights_at(np.array([stake.at for stake in edged.stakes]))
    stakes = tuple(
        replace(stake, below_m=stake.below_m + edged.height_m - (top_m - height_m))
        for stake, height_m in zip(edged.stakes, ground.tolist(), strict=True)
    )
    return replace(edged, stakes=stakes)


def _joined(lines: Sequence[Sequence[TierSpan]]) -> tuple[TierSpan, ...]:
    """Return stretches of lines end to end as those of one run."""
    found: list[TierSpan] = []
    for spans in lines:
        start_m = found[-1].end_m if found else 0.0
        for span in spans:
            last = found[-1] if found else None
            if last is not None and last.tiers == span.tiers:
                found[-1] = replace(last, end_m=start_m + span.end_m)
            else:
                found.append(TierSpan(start_m + span.start_m, start_m + span.end_m, span.tiers))
    return tuple(found)


def _top_m(
    surface: Surface, lines: Sequence[Segment], ground: GroundSpec, edged: BedEdging
) -> float:
    """Return the height of a bed's level board top [m].

    Where no reveal is asked the boards stand on the lowest ground and are dug in uphill, unless
    the highest ground would then stand over them: then the top is flush with it.
    """
    if ground.reveal_m is not None:
        return board_top(surface, lines, ground.reveal_m)
    lowest_m = min(height for line in lines for _, height in profile(surface, line))
    return max(board_top(surface, lines), lowest_m + edged.height_m - ground.bury_m)


def _lines(
    start: tuple[float, float], end: tuple[float, float], outline: Polygon
) -> list[Segment]:
    """Return a straight run as one line; a bent one runs round the whole outline."""
    if math.dist(start, end) > SNAP_M:
        return [(start, end)]
    ring = [(float(x), float(y)) for x, y in outline.exterior.coords]
    return [pair for pair in pairwise(ring) if math.dist(*pair) > SNAP_M]
