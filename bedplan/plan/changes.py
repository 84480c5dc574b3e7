"""What changed between two plans of one garden: as drawn and as built (layer: plan).

Pieces are paired by place: bed, run, tier, and order along the run, boards and blocks apart. Their
labels may differ where beds were added. Public entry point: `compare`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from bedplan.edging import Piece
from bedplan.edging.model import End
from bedplan.model.layout import Point
from bedplan.model.site import Enclosure
from bedplan.plan.make import Plan
from bedplan.units import INCH_M

WITHIN_M: Final = INCH_M / 16
"""A piece this much off still serves [m]: one mark of the tape, common practice, no source."""

WITHIN_DEG: Final = 0.5
"""An end this much off still closes [deg]: half a mark of a mitre saw's scale, common practice."""

What = Literal["same", "longer", "shorter", "other angle", "other board", "new", "gone"]
Place = tuple[str, int, int, str, int]


@dataclass(frozen=True)
class CornerMove:
    """A corner of the fence in both plans; None where one has no such corner [m]."""

    name: str
    before: Point | None
    after: Point | None

    @property
    def moved_m(self) -> float | None:
        """How far it moved [m]."""
        if self.before is None or self.after is None:
            return None
        return math.dist(self.before, self.after)


@dataclass(frozen=True)
class Measured:
    """A figure in both plans; None where one does not have it."""

    name: str
    before: float | None
    after: float | None

    @property
    def change(self) -> float | None:
        """How much it grew."""
        if self.before is None or self.after is None:
            return None
        return self.after - self.before


@dataclass(frozen=True)
class PieceChange:
    """One place of the edging in both plans, and what is different, in one word or more."""

    before: Piece | None
    after: Piece | None
    what: tuple[What, ...]


@dataclass(frozen=True)
class Changes:
    """Everything that differs, and what stays, in the order of the later plan.

    `sides` are lengths [m], `beds` outline areas [m^2], `units` counts by path and paver, `cost`
    the order's.
    """

    corners: tuple[CornerMove, ...]
    sides: tuple[Measured, ...]
    pieces: tuple[PieceChange, ...]
    units: tuple[Measured, ...]
    beds: tuple[Measured, ...]
    cost: Measured


def compare(before: Plan, after: Plan, within_m: float = WITHIN_M) -> Changes:
    """Return what changed from one plan to another.

    Parameters
    ----------
    before, after
        Two plans of one garden.
    within_m
        Pieces whose lengths differ by no more are the same [m].
    """
    old, new = before.site.enclosure, after.site.enclosure
    return Changes(
        tuple(_corners(old, new)),
        tuple(_measured(_sides(old), _sides(new))),
        tuple(_pieces(before, after, within_m)),
        tuple(_measured(_units(before), _units(after))),
        tuple(_measured(_areas(before), _areas(after))),
        Measured("order", before.order.cost, after.order.cost),
    )


def _names(old: Mapping[str, object], new: Mapping[str, object]) -> list[str]:
    """Return the names of the later plan, then those only the earlier one has."""
    return list(dict.fromkeys([*new, *old]))


def _corners(old: Enclosure, new: Enclosure) -> Iterator[CornerMove]:
    was, now = dict(old.corners), dict(new.corners)
    for name in _names(was, now):
        yield CornerMove(name, was.get(name), now.get(name))


def _measured(was: Mapping[str, float], now: Mapping[str, float]) -> Iterator[Measured]:
    for name in _names(was, now):
        yield Measured(name, was.get(name), now.get(name))


def _sides(enclosure: Enclosure) -> dict[str, float]:
    return {side.name: side.length_m for side in enclosure.sides}


def _units(plan: Plan) -> dict[str, float]:
    return {
        f"{walk.path.spec.name}, {name}": count
        for walk in plan.walks
        for name, count in walk.counts.items()
    }


def _areas(plan: Plan) -> dict[str, float]:
    return {bed.spec.name: float(bed.outline.area) for bed in plan.site.beds}


def pieces_of(plan: Plan) -> list[Piece]:
    """Return every piece of a plan that is cut from stock, bed by bed."""
    return [piece for edging in plan.edging for piece in edging.all_pieces]


def _pieces(before: Plan, after: Plan, within_m: float) -> Iterator[PieceChange]:
    was, now = _by_place(pieces_of(before)), _by_place(pieces_of(after))
    for place in dict.fromkeys([*now, *was]):
        old, new = was.get(place), now.get(place)
        yield PieceChange(old, new, difference(old, new, within_m))


def _by_place(pieces: Iterable[Piece]) -> dict[Place, Piece]:
    found: dict[Place, Piece] = {}
    seen: dict[tuple[str, int, int, str], int] = defaultdict(int)
    for piece in pieces:
        run = (piece.bed, piece.run, piece.tier, piece.kind)
        found[(*run, seen[run])] = piece
        seen[run] += 1
    return found


def difference(old: Piece | None, new: Piece | None, within_m: float) -> tuple[What, ...]:
    """Return what is different about a piece, in one word or more."""
    if old is None:
        return ("new",)
    if new is None:
        return ("gone",)
    words: list[What] = []
    if old.board != new.board:
        words.append("other board")
    longer_m = new.long_m - old.long_m
    if abs(longer_m) > within_m:
        words.append("longer" if longer_m > 0.0 else "shorter")
    if not all(alike(a, b) for a, b in zip(old.ends, new.ends, strict=True)):
        words.append("other angle")
    return tuple(words) or ("same",)


def slant_deg(end: End) -> float:
    """Return an end's angle with a sign: above zero where the outer face keeps more [deg]."""
    return -end.saw_deg if end.longer == "inner" else end.saw_deg


def alike(one: End, other: End) -> bool:
    """Tell whether one saw setting, on the same face, makes both ends."""
    return abs(slant_deg(one) - slant_deg(other)) <= WITHIN_DEG
