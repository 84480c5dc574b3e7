"""Edging of a bed with straight sides, tier by tier (layer: engines).

Public entry point: `edge_straight`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.edging.job import BedJob, longest_m
from bedplan.edging.lower import lower_tiers, stretches_of
from bedplan.edging.model import BedEdging, Opening, Run, Shortfall, Splice
from bedplan.edging.pieces import CutRun, cut_tier
from bedplan.edging.runs import SHORTEST_RUN_M, Edge
from bedplan.edging.splices import SpliceRules, splice_stations
from bedplan.edging.stakes import StakesSet, set_stakes
from bedplan.edging.stretches import RUN_KEY, Key, Setting, Stretch, ring_quads, runs_of
from bedplan.geometry.lines import Point
from bedplan.geometry.polygons import EMPTY, minus, parts, union
from bedplan.geometry.tolerance import AREA_M2, FIT_M, SNAP_M

LEAST_POST_M2: Final = 1e-3
"""Ground that a post must take from a bed to count: less is a corner post's edge [m^2]."""

Stations = dict[int, tuple[float, ...]]
"""Where runs are spliced, by their number, along their edges [m]."""


@dataclass(frozen=True)
class _Tiers:
    """All runs of a bed, tier by tier."""

    runs: tuple[tuple[CutRun, ...], ...]

    @property
    def all(self) -> list[CutRun]:
        return [run for tier in self.runs for run in tier]


def edge_straight(job: BedJob, rings: Sequence[Sequence[Edge]], setting: Setting) -> BedEdging:
    """Return the edging of a bed with straight sides.

    Parameters
    ----------
    job
        The bed and its board.
    rings
        The edges of its outline, with the spans that carry boards.
    setting
        Posts and fence.

    Notes
    -----
    Where the boards have no room the planting area comes out empty.
    """
    tiers = _tiers(job, rings, setting)
    quads = list(ring_quads(rings, job.board))
    stakes = None
    if job.stake_kind is not None:
        stakes = set_stakes(tiers.runs, job.stake_kind, job.ground)
    runs = [_at_stakes(run, stakes) for run in tiers.all]
    openings = tuple(_openings(tiers.runs[0], quads, setting))
    return BedEdging(
        job.bed.spec.name,
        job.board.name,
        tuple(_runs(tiers)),
        tuple(piece for run in runs for piece in run.pieces),
        tuple(_held(splice, stakes) for run in runs for splice in run.splices),
        _planting(job, runs, quads, setting),
        job.tiers,
        job.height_m,
        tuple(block for run in runs for block in run.blocks),
        stakes.placed() if stakes else (),
        openings,
        (
            *_splice_shortfalls(job, tiers),
            *_gap_shortfalls(openings),
            *(stakes.shortfalls if stakes else ()),
        ),
        sum(_screwed_corners(tier) for tier in tiers.runs),
        stretches_of(run for tier in tiers.runs[1:] for run in tier) if job.follows_ground else (),
    )


def _tiers(job: BedJob, rings: Sequence[Sequence[Edge]], setting: Setting) -> _Tiers:
    laps = [runs_of(rings, setting)]
    if job.tiers > 1:
        laps.append(runs_of(rings, setting, swapped=True))
    keys = dict.fromkeys(stretch.key for lap in laps for stretch in lap)
    numbers = {key: number for number, key in enumerate(keys, start=1)}
    if job.follows_ground:
        laid = [laps[0], *lower_tiers(job, laps, numbers)]
        numbers |= {each.key: numbers[each.key[:RUN_KEY]] for lap in laid for each in lap}
    else:
        laid = [laps[tier % 2] for tier in range(job.tiers)]
    tiers: list[tuple[CutRun, ...]] = []
    beside: Stations = {}
    for tier, lap in enumerate(laid, start=1):
        stations = {each.key: _stations(job, each, numbers, tier, beside) for each in lap}
        tiers.append(tuple(cut_tier(lap, numbers, stations, job.board, job.place(tier))))
        beside = {}
        for key, here in stations.items():
            beside[numbers[key]] = beside.get(numbers[key], ()) + here
    return _Tiers(tuple(tiers))


def _stations(
    job: BedJob, stretch: Stretch, numbers: Mapping[Key, int], tier: int, beside: Stations
) -> tuple[float, ...]:
    """Return where a run is spliced, along its edge [m]: as chosen elsewhere, or evenly."""
    number = numbers[stretch.key]
    chosen = job.splices.get((job.bed.spec.name, number, tier))
    if chosen is not None:
        return tuple(stretch.span[0] + station for station in sorted(chosen))
    return splice_stations(*stretch.extent_m, _rules(job, beside.get(number, ())))


def _rules(job: BedJob, below: tuple[float, ...]) -> SpliceRules:
    board = job.board
    return SpliceRules(longest_m(board), board.splice_clear_m, board.stagger_m, below)


def _runs(tiers: _Tiers) -> Iterator[Run]:
    """Yield every run once, as it lies in the first tier that has it."""
    seen = {run.run: run.stretch for run in reversed(tiers.all)}
    for number in sorted(seen):
        stretch = seen[number]
        line, (first, last) = stretch.edge.line, stretch.span
        yield Run(number, line.point(first), line.point(last), last - first, stretch.on_fence)


def _planting(
    job: BedJob, runs: Iterable[CutRun], quads: Sequence[Polygon], setting: Setting
) -> BaseGeometry:
    """Return what is left inside the boards; empty where boards cross or turn inside out."""
    outline = job.bed.outline
    pieces = [piece for run in runs for piece in run.pieces]
    sound = all(piece.outline.is_valid and piece.short_m > -FIT_M for piece in pieces)
    if not sound or not all(quad.is_valid for quad in quads):
        return EMPTY
    inside = minus(outline, *quads)
    apart_m2 = abs(outline.area - sum(quad.area for quad in quads) - inside.area)
    if apart_m2 > SNAP_M * outline.length:
        return EMPTY
    posts = setting.posts.within(outline, LEAST_POST_M2)
    return minus(inside, *posts) if posts else inside


def _openings(
    runs: Sequence[CutRun], quads: Sequence[Polygon], setting: Setting
) -> Iterator[Opening]:
    """Yield every part of the ring that no board of the first tier fills."""
    if not _has_openings(runs, quads):
        return
    left = minus(union(quads), *(piece.outline for run in runs for piece in run.pieces))
    for part in parts(left):
        run = min(runs, key=lambda each: _run_line(each).distance(part))
        stations = [run.stretch.edge.line.station(at) for at in part.exterior.coords]
        yield Opening(_kind(part, runs, setting), part, run.run, max(stations) - min(stations))


def _has_openings(runs: Sequence[CutRun], quads: Sequence[Polygon]) -> bool:
    ring_m2 = sum(quad.area for quad in quads)
    board_m2 = sum(piece.outline.area for run in runs for piece in run.pieces)
    return bool(runs) and ring_m2 - board_m2 > AREA_M2


def _run_line(run: CutRun) -> shapely.LineString:
    edge, (first, last) = run.stretch.edge, run.stretch.span
    return shapely.LineString([edge.line.point(first), edge.line.point(last)])


def _kind(
    part: Polygon, runs: Sequence[CutRun], setting: Setting
) -> Literal["stake", "post", "gap"]:
    corners = [run.stretch.edge.end for run in runs if run.stretch.end.joint == "stake"]
    if any(part.distance(shapely.Point(corner)) <= SNAP_M for corner in corners):
        return "stake"
    return "post" if setting.posts.within(part.buffer(2 * SNAP_M)) else "gap"


def _at_stakes(run: CutRun, stakes: StakesSet | None) -> CutRun:
    """Return a run whose ends at corner stakes bear the stake's label."""
    if stakes is None or "stake" not in (run.stretch.start.joint, run.stretch.end.joint):
        return run
    labels, edge, pieces = stakes.corner_labels(), run.stretch.edge, list(run.pieces)
    for index, which, corner in ((0, 0, edge.start), (-1, 1, edge.end)):
        end = pieces[index].ends[which]
        if end.joint == "stake":
            ends = list(pieces[index].ends)
            ends[which] = replace(end, joins=labels.get(corner, stakes.kind.stake.name))
            pieces[index] = replace(pieces[index], ends=(ends[0], ends[1]))
    return replace(run, pieces=tuple(pieces))


def _held(splice: Splice, stakes: StakesSet | None) -> Splice:
    """Return a splice that knows whether a stake stands behind it."""
    if splice.held_by != "nothing" or stakes is None:
        return splice
    at = shapely.Point(splice.at)
    near_m = stakes.kind.inside_m + stakes.kind.stake.size_m / 4.0 + SNAP_M
    behind = (spot for spot in stakes.spots if spot.kind == "splice" and spot.run == splice.run)
    if any(at.distance(shapely.Point(spot.at)) <= near_m for spot in behind):
        return replace(splice, held_by="stake")
    return splice


def _splice_shortfalls(job: BedJob, tiers: _Tiers) -> Iterator[Shortfall]:
    """Yield every run whose splices could not keep off its ends or off the tier below."""
    below: dict[int, tuple[float, ...]] = {}
    for number, tier in enumerate(tiers.runs, start=1):
        here: Stations = {}
        for run in tier:
            stations = tuple(each.station_m + run.stretch.span[0] for each in run.splices)
            rules = _rules(job, below.get(run.run, ()))
            yield from _run_shortfalls(run, stations, rules, number)
            here[run.run] = here.get(run.run, ()) + stations
        below = here


def _run_shortfalls(
    run: CutRun, stations: Sequence[float], rules: SpliceRules, tier: int
) -> Iterator[Shortfall]:
    if not stations:
        return
    end_m, apart_m = rules.end_m(stations, *run.stretch.extent_m), rules.apart_m(stations)
    at: Point = run.splices[0].at
    if end_m < rules.clear_m - FIT_M:
        yield Shortfall("splice-clear", run.run, tier, at, end_m, rules.clear_m)
    if apart_m < rules.stagger_m - FIT_M:
        yield Shortfall("splice-stagger", run.run, tier, at, apart_m, rules.stagger_m)


def _gap_shortfalls(openings: Sequence[Opening]) -> Iterator[Shortfall]:
    for opening in openings:
        if opening.kind == "gap" and opening.length_m > SHORTEST_RUN_M:
            middle = opening.outline.centroid
            at = (float(middle.x), float(middle.y))
            yield Shortfall("edging-gap", opening.run, 1, at, opening.length_m, 0.0)


def _screwed_corners(runs: Sequence[CutRun]) -> int:
    """Count the corners where two boards are screwed to each other."""
    return sum(
        run.stretch.corners[1] and run.stretch.end.joint in ("through", "stop", "mitre")
        for run in runs
    )
