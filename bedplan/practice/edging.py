"""Rules for boards and stakes: splices, stakes, gaps, saw settings, footings (layer: practice)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Final

import shapely
from shapely.geometry import LineString

from bedplan.edging.model import BedEdging, Shortfall
from bedplan.errors import Finding
from bedplan.geometry.polygons import touching
from bedplan.geometry.tolerance import SNAP_M
from bedplan.practice.subject import Subject

NO_SOURCE: Final = "common practice, no source"
IN_GROUND: Final = (1 / 3, 1 / 2)
"""Share of a stake in the ground: below the first a warning, below the second a note."""
SAW_DEG: Final = 60.0
"""Setting past which few mitre saws go [deg]; many stop at 45 to 50."""
SHARED_M: Final = 0.05
"""Beds that share less of an outline share no board [m]."""


def check_edging(subject: Subject) -> Iterator[Finding]:
    """Yield every finding about boards, stakes and footings."""
    for bed in subject.edging:
        for shortfall in bed.shortfalls:
            yield _SHORTFALLS[shortfall.rule](subject, bed, shortfall)
        yield from _unheld(bed)
        yield from _stakes_in_ground(subject, bed)
        yield from _saw_range(bed)
    yield from _shared_heights(subject)
    yield from _footings(subject)


def _place(subject: Subject, bed: BedEdging, shortfall: Shortfall) -> str:
    """Return where it is: bed, run, tier, and how far along its run."""
    run = next((each for each in bed.runs if each.number == shortfall.run), None)
    of_tier = bed.tiers > 1 and shortfall.rule.startswith("splice")
    tier = f", tier {shortfall.tier}" if of_tier else ""
    if run is None or run.start == run.end:
        return f"{bed.bed}, run {shortfall.run}{tier}"
    along = LineString([run.start, run.end]).project(shapely.Point(shortfall.at))
    return f"{bed.bed}, run {shortfall.run}{tier}, {subject.length(along)} along"


def _splice_clear(subject: Subject, bed: BedEdging, found: Shortfall) -> Finding:
    return Finding(
        "splice-clear",
        "warning",
        _place(subject, bed, found),
        f"a splice {subject.length(found.figure_m)} from the end of its run",
        f"at least {subject.length(found.limit_m)} (splice_clear)",
        NO_SOURCE,
        "add a longer board to stock, or allow less with splice_clear",
    )


def _splice_stagger(subject: Subject, bed: BedEdging, found: Shortfall) -> Finding:
    return Finding(
        "splice-stagger",
        "warning",
        _place(subject, bed, found),
        f"a splice {subject.length(found.figure_m)} from one in the tier below",
        f"at least {subject.length(found.limit_m)} (stagger)",
        NO_SOURCE,
        "add a longer board to stock, or allow less with stagger",
    )


def _stake_clear(subject: Subject, bed: BedEdging, found: Shortfall) -> Finding:
    near = f"{found.cause!r}" if found.cause else "what is in the ground"
    return Finding(
        "stake-clear",
        "warning",
        _place(subject, bed, found),
        f"no stake: {near} is {subject.length(found.figure_m)} off",
        f"clear by {subject.length(found.limit_m)}, within half the spacing",
        "first principles: a stake is driven clear of footings, pipes and stems",
        "move the bed's edge, or hold the boards there without a stake",
    )


def _stake_spacing(subject: Subject, bed: BedEdging, found: Shortfall) -> Finding:
    return Finding(
        "stake-spacing",
        "note",
        _place(subject, bed, found),
        f"{subject.length(found.figure_m)} between stakes moved apart",
        f"at most {subject.length(found.limit_m)} (every)",
        NO_SOURCE,
        "set one stake more by hand where the ground allows",
    )


def _edging_gap(subject: Subject, bed: BedEdging, found: Shortfall) -> Finding:
    return Finding(
        "edging-gap",
        "note",
        _place(subject, bed, found),
        f"{subject.length(found.figure_m)} along the outline without a board",
        "boards all along",
        "first principles: no saw cuts so flat an end, and no board is so short",
        "leave it, or end the bed where it meets the fence more squarely",
    )


_SHORTFALLS: Final[Mapping[str, Callable[[Subject, BedEdging, Shortfall], Finding]]] = {
    "splice-clear": _splice_clear,
    "splice-stagger": _splice_stagger,
    "stake-clear": _stake_clear,
    "stake-spacing": _stake_spacing,
    "edging-gap": _edging_gap,
}


def _unheld(bed: BedEdging) -> Iterator[Finding]:
    loose = [splice for splice in bed.splices if splice.held_by == "nothing"]
    if loose:
        yield Finding(
            "splice-unheld",
            "warning",
            bed.bed,
            f"{len(loose)} splices with neither block nor stake behind them",
            "something behind every splice",
            NO_SOURCE,
            "give the board a block or a stake",
        )


def _stakes_in_ground(subject: Subject, bed: BedEdging) -> Iterator[Finding]:
    shallowest = sorted(bed.stakes, key=lambda each: -each.below_m)
    for stake in {each.stake: each for each in shallowest}.values():
        share = stake.below_m / stake.length_m
        if share < IN_GROUND[1] - 1e-6:
            yield Finding(
                "stake-depth",
                "warning" if share < IN_GROUND[0] - 1e-6 else "note",
                f"{bed.bed}, {stake.stake} stakes",
                f"{subject.length(max(0.0, stake.below_m))} of "
                f"{subject.length(stake.length_m)} in the ground",
                "a third at least, better half",
                NO_SOURCE,
                "take longer stakes, or set them below the top of the boards",
            )


def _saw_range(bed: BedEdging) -> Iterator[Finding]:
    steep = [piece for piece in bed.pieces if max(e.saw_deg for e in piece.ends) > SAW_DEG + 1e-6]
    if steep:
        most = max(end.saw_deg for piece in steep for end in piece.ends)
        yield Finding(
            "saw-range",
            "note",
            f"{bed.bed}, {', '.join(dict.fromkeys(piece.label for piece in steep))}",
            f"a saw setting of {most:.1f}°",
            f"at most {SAW_DEG:.0f}° on most mitre saws, 45° on many",
            NO_SOURCE,
            'mark these ends and saw them by hand, or take corner = "stake"',
        )


def _shared_heights(subject: Subject) -> Iterator[Finding]:
    """Find beds whose neighbour's lower board serves them."""
    beds = subject.site.beds
    near = touching([bed.outline for bed in beds], SNAP_M)
    for later, others in enumerate(near):
        for earlier in (number for number in others if number < later):
            high, low = subject.edging[later], subject.edging[earlier]
            if not high.board or not low.board or high.height_m <= low.height_m + SNAP_M:
                continue
            line = beds[earlier].outline.boundary.buffer(SNAP_M)
            if beds[later].outline.boundary.intersection(line).length > SHARED_M:
                yield Finding(
                    "shared-board",
                    "warning",
                    high.bed,
                    f"beside {low.bed!r} a board {subject.length(low.height_m)} high",
                    f"{subject.length(high.height_m)}, as high as the bed's own boards",
                    "first principles: the board of the bed that stands first serves both",
                    f"put {high.bed!r} before {low.bed!r} in the file",
                )


def _footings(subject: Subject) -> Iterator[Finding]:
    for pipe in subject.site.pipes:
        line = LineString(pipe.line)
        for post in subject.site.posts:
            dug = post.outline if post.footing.is_empty else post.footing
            free_m = dug.distance(line)
            if free_m < pipe.pipe.clear_m - SNAP_M or (free_m == 0.0 and dug.intersects(line)):
                yield Finding(
                    "footing-pipe",
                    "warning",
                    f"post {post.name}",
                    f"{subject.length(free_m)} from {pipe.pipe.name!r}",
                    f"at least {subject.length(pipe.pipe.clear_m)}",
                    "the layout file's own clearance; 49 CFR 196.103 asks for care near marks",
                    "move the post, or have the line moved; dig by hand there",
                )
