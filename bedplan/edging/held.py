"""Where along a run stakes have to hold boards besides its own ends (layer: engines).

Splices that nothing else holds, in any tier, and the ends of boards under a level one.

Public entry points: `unheld`, `free_below`.
"""

from __future__ import annotations

from collections.abc import Sequence

from bedplan.edging.pieces import CutRun
from bedplan.edging.stretches import is_part
from bedplan.geometry.tolerance import SNAP_M


def unheld(tiers: Sequence[Sequence[CutRun]]) -> dict[int, list[float]]:
    """Return where the splices of every run are that a stake has to hold, in all tiers [m]."""
    found: dict[int, list[float]] = {}
    for run in (run for tier in tiers for run in tier):
        found.setdefault(run.run, []).extend(
            splice.station_m + run.stretch.span[0]
            for splice in run.splices
            if splice.held_by == "nothing"
        )
    return found


def free_below(tiers: Sequence[Sequence[CutRun]], inset_m: float) -> dict[int, list[float]]:
    """Return where stakes hold the ends of boards that the first tier goes past, by run [m]."""
    whole = {run.run: run.stretch.extent_m for run in tiers[0]}
    found: dict[int, list[float]] = {}
    for run in (run for tier in tiers[1:] for run in tier if is_part(run.stretch)):
        (low, high), (first, last) = whole[run.run], run.stretch.extent_m
        if run.stretch.start.joint == "square" and first > low + SNAP_M:
            found.setdefault(run.run, []).append(first + inset_m)
        if run.stretch.end.joint == "square" and last < high - SNAP_M:
            found.setdefault(run.run, []).append(last - inset_m)
    return found
