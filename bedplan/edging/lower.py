"""Boards under a level one where the ground falls away, tier by tier (layer: engines).

The first tier goes all round at the top; each tier below it only along the stretches that need
it. A stretch that reaches a corner meets a board round it, so every tier closes there like the
first; its other ends are free and cut square. No stretch is shorter than a piece may be, and
none has a gap shorter than that beside it. First principles.

Public entry points: `lower_tiers`, `stretches_of`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bedplan.edging.job import BedJob
from bedplan.edging.joints import sawn, square_cut
from bedplan.edging.model import LowerBoard
from bedplan.edging.pieces import CutRun
from bedplan.edging.runs import Span
from bedplan.edging.stretches import RUN_KEY, Key, Stretch
from bedplan.geometry.tolerance import SNAP_M

LEAST_THICK: Final = 4.0
"""No stretch is shorter than so many thicknesses: it has to hold at a corner [-]."""

Parts = dict[int, list[Span]]
"""Stretches of runs, by their number: stations from the run's start, in order and apart [m]."""


@dataclass(frozen=True)
class _Whole:
    """A run in one tier as it would go along its whole length, and where the run starts [m]."""

    number: int
    stretch: Stretch
    origin_m: float

    @property
    def length_m(self) -> float:
        return self.stretch.span[1] - self.stretch.span[0]

    def at_start(self, parts: Sequence[Span]) -> bool:
        """Tell whether the first of its stretches goes to the run's own cut."""
        slant_m = max(face[0] for face in self.stretch.ends_m) - self.origin_m
        return bool(parts) and parts[0][0] <= max(0.0, slant_m) + SNAP_M

    def at_end(self, parts: Sequence[Span]) -> bool:
        """Tell whether the last of its stretches goes to the run's own cut."""
        slant_m = min(face[1] for face in self.stretch.ends_m) - self.origin_m
        return bool(parts) and parts[-1][1] >= min(self.length_m, slant_m) - SNAP_M

    def cut(self, part: int, parts: Sequence[Span]) -> Stretch:
        """Return one of its stretches, free ends cut square."""
        first_m, last_m = (self.origin_m + station for station in parts[part])
        made = replace(self.stretch, key=(*self.stretch.key, part))
        if part > 0 or not self.at_start(parts):
            start = sawn("square", square_cut(made.edge, first_m))
            made = replace(made, start=start, corners=(False, made.corners[1]))
        if part < len(parts) - 1 or not self.at_end(parts):
            end = sawn("square", square_cut(made.edge, last_m))
            made = replace(made, end=end, corners=(made.corners[0], False))
        return made


def lower_tiers(
    job: BedJob, laps: Sequence[Sequence[Stretch]], numbers: Mapping[Key, int]
) -> list[list[Stretch]]:
    """Return the stretches of every tier below the first, from the second down.

    Parameters
    ----------
    job
        The bed, its board, and where boards are wanted.
    laps
        The runs of a whole tier, as corners lap in the first and in the second.
    numbers
        Number of every run.
    """
    origins = {numbers[each.key]: each.span[0] for each in laps[0]}
    least_m = max(job.board.least_piece_m, LEAST_THICK * job.board.thickness_m)
    made: list[list[Stretch]] = []
    below: Parts = {}
    # a board that stands on another needs one there, so the lowest tier comes first
    for tier in range(job.tiers, 1, -1):
        wholes = [
            _Whole(number, each, origins.get(number, each.span[0]))
            for each in laps[(tier - 1) % 2]
            for number in (numbers[each.key],)
        ]
        below = {
            each.number: _grown(_wanted(job, each, tier, below), each, least_m) for each in wholes
        }
        _close(wholes, below, least_m)
        made.append([part for each in wholes for part in _cut(each, below[each.number])])
    return made[::-1]


def stretches_of(runs: Iterable[CutRun]) -> tuple[LowerBoard, ...]:
    """Return where the boards of lower tiers stand, from each run's start."""
    found = []
    for run in runs:
        first_m, last_m = run.stretch.span
        low_m, high_m = run.stretch.extent_m
        start_m, end_m = max(low_m, first_m) - first_m, min(high_m, last_m) - first_m
        found.append(LowerBoard(run.run, run.pieces[0].tier, start_m, end_m))
    return tuple(found)


def _wanted(job: BedJob, whole: _Whole, tier: int, below: Parts) -> list[Span]:
    """Return where a tier is wanted: as asked, and over the boards of the tier below it."""
    asked = job.lower.get((job.bed.spec.name, whole.number, tier), ())
    return sorted([*asked, *below.get(whole.number, ())])


def _grown(spans: Iterable[Span], whole: _Whole, least_m: float) -> list[Span]:
    """Return stretches no shorter than a piece may be, with no shorter gap between them."""
    length_m = whole.length_m
    grown: list[Span] = []
    for first, last in (span for span in spans if span[1] - span[0] > SNAP_M):
        more_m = max(0.0, least_m - (last - first)) / 2.0
        start_m = max(0.0, min(first - more_m, length_m - least_m))
        end_m = min(length_m, max(last + more_m, start_m + least_m))
        if grown and start_m - grown[-1][1] < least_m:
            grown[-1] = (grown[-1][0], max(end_m, grown[-1][1]))
        else:
            grown.append((start_m, end_m))
    return grown


def _close(wholes: Sequence[_Whole], parts: Parts, least_m: float) -> None:
    """Lengthen stretches until every one that reaches a corner meets another there."""
    starting = {each.stretch.edge.start: each for each in wholes if each.stretch.corners[0]}
    ending = {each.stretch.edge.end: each for each in wholes if each.stretch.corners[1]}
    pairs = [(ending[corner], starting[corner]) for corner in ending if corner in starting]
    open_left = True
    while open_left:
        open_left = False
        for arriving, leaving in pairs:
            reached = arriving.at_end(parts[arriving.number])
            if reached == leaving.at_start(parts[leaving.number]):
                continue
            short = leaving if reached else arriving
            length_m = short.length_m
            more = (0.0, least_m) if reached else (length_m - least_m, length_m)
            parts[short.number] = _grown(sorted([*parts[short.number], more]), short, least_m)
            open_left = True


def _cut(whole: _Whole, parts: Sequence[Span]) -> list[Stretch]:
    assert len(whole.stretch.key) == RUN_KEY
    return [whole.cut(part, parts) for part in range(len(parts))]
