"""What a path holds while one length is changed, mark by mark of the tape (layer: plan).

*Ticks* are marks of the tape from the size now: above zero the path gets ground, below zero it
gives ground up. A stretch of sizes is *covered* where the count is known to rise with the
ground all along it; there a first gain or loss is found by halving and none is missed.

Public entry point: `Trials`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from time import monotonic
from typing import Final

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import LayoutError
from bedplan.geometry.polygons import parts
from bedplan.geometry.tolerance import FIT_M, SNAP_M
from bedplan.model.layout import Layout, Paving
from bedplan.model.materials import Paver
from bedplan.model.site import Site
from bedplan.paving.margins import Margin
from bedplan.plan.capacity import Capacity
from bedplan.plan.size_keys import SizeKey
from bedplan.plan.walk import FreeSearch, Walk, lay_walk
from bedplan.plan.walks import units_before
from bedplan.site import resolve
from bedplan.site.paths import paving_region

TICK_M: Final = {"imperial": 0.0254 / 16, "metric": 0.001}
"""Marks of a tape [m]: no size is hinted at that could not be marked out."""

Progress = Callable[[float, int], None]
"""Told how much of a search is done, and how many hints there are."""

_SCAN: Final = 8
"""Where sizes are not covered, so many are tried between none and the greatest change."""


class TimeUpError(Exception):
    """The time for the search is over."""


@dataclass(frozen=True)
class Ground:
    """The ground of a path at one size.

    Parameters
    ----------
    site
        All parts in place.
    pieces
        Separate walks, the largest first.
    apart
        True if units of one walk need not heed those of another, of this path or an earlier one.
    """

    layout: Layout
    site: Site
    pieces: tuple[Polygon, ...]
    apart: bool


@dataclass
class Trials:
    """A path at every size one length of the layout could have.

    Parameters
    ----------
    layout, site
        The layout as it is, no unit limited.
    path, key
        Number of the path, and the length to change.
    capacity
        What grounds hold of the path's units; None for stepping stones, which are laid anew at
        every size.
    deadline
        When to raise `TimeUpError`, on the clock of `time.monotonic` [s].
    covered
        Set to False by a search that had to try sizes here and there.
    opened
        True if units are counted with joints opened: where beds break the courses, that can
        lay more of them than the least joint. Every size is laid then.
    """

    layout: Layout
    site: Site
    path: int
    key: SizeKey
    capacity: Capacity | None
    deadline: float
    covered: bool = True
    opened: bool = False
    _grounds: dict[int, Ground | None] = field(default_factory=dict)
    _walks: dict[int, Sequence[Walk]] = field(default_factory=dict)

    # ---- sizes ---------------------------------------------------------------------------

    @property
    def tick_m(self) -> float:
        """One mark of the tape [m]."""
        return TICK_M[self.layout.show]

    def size_m(self, ticks: int) -> float:
        """Return the size so many marks from the one now [m]; the first lies on the next mark."""
        if not ticks:
            return self.key.size_m
        marks = self.key.size_m / self.tick_m
        sign = self.key.gives_ground * (1 if ticks > 0 else -1)
        first = math.floor(marks + 1e-6) + 1 if sign > 0 else math.ceil(marks - 1e-6) - 1
        return (first + sign * (abs(ticks) - 1)) * self.tick_m

    def last(self, sign: int) -> int:
        """Return the change, up to one unit and its joint, up to which the layout has no fault."""
        most = sign * math.ceil(self._module_m / self.tick_m)
        if self.ground(most) is not None:
            return most
        faulty = smallest(lambda ticks: self.ground(sign * ticks) is None, 0, abs(most))
        return sign * (faulty - 1)

    @property
    def _module_m(self) -> float:
        sides = [max(paver.length_m, paver.width_m) for paver in self._pavers]
        return max(sides) + self._paving.joint_m[0]

    @property
    def _pavers(self) -> list[Paver]:
        names = (self._paving.paver, self._paving.second)
        return [self.layout.pavers[name] for name in names if name is not None]

    @property
    def _paving(self) -> Paving:
        paving = self.layout.paths[self.path].paving
        assert paving is not None
        return paving

    # ---- grounds and what they hold --------------------------------------------------------

    def ground(self, ticks: int) -> Ground | None:
        """Return the path's ground at a size; None if the layout is faulty then."""
        if ticks not in self._grounds:
            if monotonic() > self.deadline:
                raise TimeUpError
            self._grounds[ticks] = self._ground(self.size_m(ticks))
        return self._grounds[ticks]

    def _ground(self, size_m: float) -> Ground | None:
        if size_m <= SNAP_M:
            return None
        layout = self.key.set_to(self.layout, size_m)
        try:
            site = resolve(layout)
        except LayoutError:
            return None
        pieces = tuple(parts(paving_region(site, site.paths[self.path].area)))
        gap_m = self._paving.joint_m[0]
        apart = self.capacity is not None and not units_before(layout, site, self.path)
        apart = apart and all(one.distance(two) >= gap_m for one, two in combinations(pieces, 2))
        return Ground(layout, site, pieces, apart)

    def count(self, ticks: int, floor: int = 0) -> int:
        """Return how many units a size lets lie in the path, or `floor` if that is more.

        -1 if the layout is faulty at that size.
        """
        ground = self.ground(ticks)
        if ground is None:
            return -1
        if self._by_bounds(ground):
            assert self.capacity is not None
            return self.capacity.most(ground.pieces, floor)
        return max(floor, self.laid(ticks))

    def laid(self, ticks: int) -> int:
        """Return how many units are laid at a size in the end, joints opened; -1 if faulty."""
        if self.ground(ticks) is None:
            return -1
        return sum(walk.count for walk in self.walks(ticks))

    def _by_bounds(self, ground: Ground) -> bool:
        """Tell whether the count at the least joint is the count."""
        return ground.apart and not self.opened

    def exceeds(self, ticks: int, count: int) -> bool:
        """Tell whether a size lets more units than a count lie in the path."""
        ground = self.ground(ticks)
        if ground is None or not self._by_bounds(ground):
            return self.count(ticks) > count
        assert self.capacity is not None
        return self.capacity.exceeds(ground.pieces, count)

    def walks(self, ticks: int) -> Sequence[Walk]:
        """Return the path laid at a size: as one, or piece by piece where each is for itself."""
        if ticks not in self._walks:
            ground = self.ground(ticks)
            assert ground is not None
            if ground.apart and self.capacity is not None:
                self._walks[ticks] = self.capacity.laid(ground.pieces)
            else:
                self._walks[ticks] = [self._laid(ground)]
        return self._walks[ticks]

    def _laid(self, ground: Ground) -> Walk:
        beside = units_before(ground.layout, ground.site, self.path)
        path = ground.site.paths[self.path]
        return lay_walk(
            ground.layout, ground.site, path, FreeSearch(), bounds=False, beside=beside
        )

    # ---- searches --------------------------------------------------------------------------

    def first_gain(self, start: int, end: int, count: int) -> int:
        """Return the smallest change between two that lays more than a count; 0 if none does."""
        return self._first(start, end, lambda ticks: self.exceeds(ticks, count))

    def last_without_loss(self, end: int, count: int) -> int:
        """Return the greatest change up to `end` before the first that loses a unit of a count."""
        loss = self._first(0, end, lambda ticks: not self.exceeds(ticks, count - 1))
        return (abs(loss) - 1 if loss else abs(end)) * (1 if end > 0 else -1)

    def _first(self, start: int, end: int, holds: Callable[[int], bool]) -> int:
        """Return the smallest change at which something holds; it does not at `start`."""
        if start == end:
            return 0
        sign = 1 if end > start else -1
        covered = self._covers(start, end)
        if covered or abs(end - start) <= max(1, abs(self.last(sign)) // _SCAN):
            self.covered &= covered or abs(end - start) == 1
            if not holds(end):
                return 0
            return sign * smallest(lambda ticks: holds(sign * ticks), abs(start), abs(end))
        middle = (start + end) // 2
        return self._first(start, middle, holds) or self._first(middle, end, holds)

    def _covers(self, one: int, other: int) -> bool:
        """Tell whether the count surely rises with the ground between two sizes.

        Every walk of the lesser ground that holds a unit lies in one of its own of the greater,
        tried in the same directions, and what the greater has more is too narrow for a unit: so
        no walk can part and hold more in two pieces than in one.
        """
        less, more = self.ground(min(one, other)), self.ground(max(one, other))
        if less is None or more is None or not self.key.steady:
            return False
        if not (self._by_bounds(less) and self._by_bounds(more)):
            return False
        assert self.capacity is not None
        homes = [_home(piece, more.pieces) for piece in less.pieces]
        if -1 in homes:
            return False
        # of several pieces in one the largest counts; the others are what the greater has more
        inside = dict(zip(reversed(homes), reversed(less.pieces), strict=True))
        return all(
            self._too_narrow(piece, inside.get(number)) for number, piece in enumerate(more.pieces)
        )

    def _too_narrow(self, piece: Polygon, inside: Polygon | None) -> bool:
        """Tell whether no unit lies in a piece outside a lesser one laid in the same ways."""
        assert self.capacity is not None
        if inside is not None and self.capacity.angles(piece) != self.capacity.angles(inside):
            return False
        rest = piece if inside is None else shapely.difference(piece, inside)
        short_m = min(min(paver.length_m, paver.width_m) for paver in self._pavers)
        return bool(rest.buffer(-(0.5 * short_m - SNAP_M)).is_empty)

    def first_closed(self, end: int) -> int:
        """Return the smallest change that leaves no margin where the border moves.

        Sought by halving between no change and `end`, guided by how the margin shrinks. 0 if the
        margin is gone as it is, or not yet at `end`.
        """
        if not end or self.margin_m(0) <= self.tick_m or self.margin_m(end) > self.tick_m:
            return 0
        sign, open_at, closed, guided = (1 if end > 0 else -1), 0, abs(end), True
        while closed - open_at > 1:
            wide, slim = (self.margin_m(sign * ticks) for ticks in (open_at, closed))
            share = (wide - self.tick_m) / (wide - slim) if guided and wide < math.inf else 0.5
            guess = open_at + math.ceil(share * (closed - open_at))
            ticks = min(max(guess, open_at + 1), closed - 1)
            if self.margin_m(sign * ticks) <= self.tick_m:
                closed = ticks
            else:
                open_at = ticks
            guided = not guided
        return sign * closed

    def margin_m(self, ticks: int) -> float:
        """Return the least margin at the sides the length moves; infinite if no unit faces one."""
        here, other = self.ground(ticks), self.ground(0 if ticks else self._any_step())
        if here is None or other is None:
            return math.inf
        moved, stood = self._border(here.site), self._border(other.site)
        return min(
            (
                margin.least_m
                for walk in self.walks(ticks)
                for margin in walk.margins
                if moved.distance(middle := _middle(margin)) <= 2.0 * SNAP_M
                and stood.distance(middle) > 2.0 * SNAP_M
            ),
            default=math.inf,
        )

    def _any_step(self) -> int:
        return -1 if self.ground(-1) is not None else 1

    def _border(self, site: Site) -> BaseGeometry:
        if self.key.kind == "path":
            return site.paths[self.key.number].area.boundary
        return site.beds[self.key.number].outline.boundary


def smallest(holds: Callable[[int], bool], fails: int, does: int) -> int:
    """Return a number at which something holds and just before which it does not, by halving.

    Examples
    --------
    >>> smallest(lambda n: n * n > 30, 0, 100)
    6
    """
    while does - fails > 1:
        middle = (fails + does) // 2
        fails, does = (fails, middle) if holds(middle) else (middle, does)
    return does


def _home(piece: Polygon, pieces: Sequence[Polygon]) -> int:
    """Return the number of the piece that holds another; -1 if none does."""
    for number, each in enumerate(pieces):
        if each.buffer(FIT_M, join_style="mitre").covers(piece):
            return number
    return -1


def _middle(margin: Margin) -> BaseGeometry:
    (x0, y0), (x1, y1) = margin.start, margin.end
    return shapely.Point(0.5 * (x0 + x1), 0.5 * (y0 + y1))
