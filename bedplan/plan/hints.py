"""The smallest changes of size that gain units, or that make a margin vanish (layer: plan).

A path that is a hand too narrow for one more row, or a hand wider than its rows need, is best
put right on paper. For every length that moves a border of a path (`size_keys`) the smallest
change on the tape, up to one unit and its joint, is sought by laying the changed layout anew.

Public entry points: `size_hints`, `search_hints`.

Notes
-----
Ground that grows holds no fewer units of one bond with one joint, so the count along a length
goes up in steps: the first step is bracketed by a scan and halved down to one mark of the tape.
Where joints may open or the directions tried change, a count may also rise and fall again
between two sizes of the scan; such a rise is not found, but none is told that is not there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from time import monotonic
from typing import Final, NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import LayoutError
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import Layout, Paving
from bedplan.model.site import Site
from bedplan.plan.size_keys import SizeKey, size_keys
from bedplan.plan.walk import FreeSearch, Walk, lay_walk
from bedplan.site import resolve

Progress = Callable[[float, int], None]

TICK_M: Final = {"imperial": 0.0254 / 16, "metric": 0.001}
"""Marks of a tape [m]: no size is hinted at that could not be marked out."""

_SCAN: Final = 8
"""Sizes tried between none and the greatest change, before the first gain is halved down."""


@dataclass(frozen=True)
class Hint:
    """One change of one length, and what it does.

    Parameters
    ----------
    path
        The path that gains.
    kind, name, key
        What to change: ``bed`` or ``path``, its name, and its length: ``width``, ``length``
        (the first size of a rectangle) or ``clearance``.
    from_m, to_m
        The length now and then [m].
    gained
        Whole units more; 0 where only a margin vanishes.
    count
        Whole units then.
    bed_area_m2
        Ground that beds gain, outline by outline; negative where they lose it [m^2].
    """

    path: str
    kind: str
    name: str
    key: str
    from_m: float
    to_m: float
    gained: int
    count: int
    bed_area_m2: float


class HintSearch(NamedTuple):
    """All hints found, best first, and whether every length was looked at in time."""

    hints: tuple[Hint, ...]
    complete: bool


def size_hints(layout: Layout, *, seconds: float = 20.0) -> tuple[Hint, ...]:
    """Return the hints `search_hints` finds in a time [s]."""
    return search_hints(layout, seconds=seconds).hints


def search_hints(
    layout: Layout, *, seconds: float = 20.0, progress: Progress | None = None
) -> HintSearch:
    """Return the smallest changes that gain a unit or close a margin, for every paved path.

    Parameters
    ----------
    layout
        A layout without faults.
    seconds
        When to stop looking [s]; what was found by then is given.
    progress
        Told how much of the search is done, and how many hints there are.

    Returns
    -------
    search
        Gains first, most units for the length moved before others; then margins closed, the
        smallest change first. Each was laid with the size it names. A path with the bond
        ``free``, or one that already holds all the units its limit allows, has none.

    Raises
    ------
    LayoutError
        If the layout has faults.
    """
    site = resolve(layout)
    jobs = [(path, key) for path in _paths(layout, site) for key in size_keys(layout, site, path)]
    deadline, found, complete = monotonic() + seconds, list[Hint](), True
    try:
        for done, (path, key) in enumerate(jobs):
            if progress:
                progress(done / len(jobs), len(found))
            trials = _Trials(_unlimited(layout), site, path, key, deadline)
            for hint in trials.hints():  # one by one: each found in time is kept
                found.append(hint)
    except _TimeUpError:
        complete = False
    return HintSearch(tuple(sorted(found, key=_rank)), complete)


def _rank(hint: Hint) -> tuple[float, float]:
    moved_m = abs(hint.to_m - hint.from_m)
    return (-hint.gained / moved_m, moved_m)


def _paths(layout: Layout, site: Site) -> Iterator[int]:
    """Yield the paths that could hold more units than they do."""
    for number, spec in enumerate(layout.paths):
        if spec.paving is None or spec.paving.bond == "free":
            continue
        walk = lay_walk(_unlimited(layout), site, site.paths[number], FreeSearch(), bounds=False)
        limits = {name: layout.pavers[name].limit for name in walk.counts}
        if any(most is None or walk.counts[name] < most for name, most in limits.items()):
            yield number


def _unlimited(layout: Layout) -> Layout:
    pavers = {name: replace(paver, limit=None) for name, paver in layout.pavers.items()}
    return replace(layout, pavers=pavers)


class _TimeUpError(Exception):
    """The time for the search is over."""


@dataclass(frozen=True)
class _Trials:
    """Layings of one path with one length changed."""

    layout: Layout
    site: Site
    path: int
    key: SizeKey
    deadline: float
    _laid: dict[float, tuple[Site, Walk] | None] = field(default_factory=dict)

    def hints(self) -> Iterator[Hint]:
        """Yield the smallest gain each way, and the smallest change that closes the margin."""
        now = self._at(self.key.size_m)
        assert now is not None
        count = now[1].count
        for sign in (self._narrower * -1, self._narrower):
            gain = self._first(sign, self._last(sign), lambda laid: laid > count)
            if gain:
                yield self._hint(sign, gain, count)
        yield from self._closed(count)

    @property
    def _narrower(self) -> int:
        """The sign of the change that takes ground from the path."""
        return -1 if self.key.kind == "path" else 1

    @property
    def _tick_m(self) -> float:
        return TICK_M[self.layout.show]

    @property
    def _most(self) -> int:
        """How many marks of the tape one unit and its joint are."""
        paver = self.layout.pavers[self._paving.paver]
        module_m = max(paver.length_m, paver.width_m) + self._paving.joint_m[0]
        return math.ceil(module_m / self._tick_m)

    @property
    def _paving(self) -> Paving:
        paving = self.layout.paths[self.path].paving
        assert paving is not None
        return paving

    def _size_m(self, sign: int, ticks: int) -> float:
        """Return the size so many marks up or down, the first mark beyond the size now."""
        marks = self.key.size_m / self._tick_m
        first = math.floor(marks + 1e-6) + 1 if sign > 0 else math.ceil(marks - 1e-6) - 1
        return (first + sign * (ticks - 1)) * self._tick_m

    def _at(self, size_m: float) -> tuple[Site, Walk] | None:
        """Return the site and the path laid with a size; None if the layout is faulty."""
        if size_m not in self._laid:
            if monotonic() > self.deadline:
                raise _TimeUpError
            self._laid[size_m] = self._lay(size_m)
        return self._laid[size_m]

    def _lay(self, size_m: float) -> tuple[Site, Walk] | None:
        if size_m <= SNAP_M:
            return None
        layout = self.key.set_to(self.layout, size_m)
        try:
            site = resolve(layout)
        except LayoutError:
            return None
        return site, lay_walk(layout, site, site.paths[self.path], FreeSearch(), bounds=False)

    def _count(self, sign: int, ticks: int) -> int:
        """Return how many units are laid after a change; -1 if the layout is faulty then."""
        laid = self._at(self._size_m(sign, ticks))
        return laid[1].count if laid else -1

    def _last(self, sign: int) -> int:
        """Return the greatest change, in marks, up to which the layout has no fault."""
        if self._count(sign, self._most) >= 0:
            return self._most
        return _first_that(lambda ticks: self._count(sign, ticks) < 0, 0, self._most) - 1

    def _first(self, sign: int, last: int, holds: Callable[[int], bool]) -> int:
        """Return the smallest change in marks whose count passes a test; 0 if there is none."""
        before = 0
        for step in range(1, _SCAN + 1):
            ticks = last * step // _SCAN
            if ticks > before and holds(self._count(sign, ticks)):
                return _first_that(lambda t: holds(self._count(sign, t)), before, ticks)
            before = ticks
        return 0

    def _closed(self, now: int) -> Iterator[Hint]:
        """Yield the smallest change that loses no unit and leaves no margin at the border."""
        sign = self._narrower
        if self._margin_m(sign, 0) <= self._tick_m:
            return
        loss = self._first(sign, self._last(sign), lambda count: count < now)
        most = loss - 1 if loss else self._last(sign)
        if most > 0 and self._is_closed(sign, most, now):
            yield self._hint(
                sign, _first_that(lambda t: self._is_closed(sign, t, now), 0, most), now
            )

    def _is_closed(self, sign: int, ticks: int, now: int) -> bool:
        return self._count(sign, ticks) >= now and self._margin_m(sign, ticks) <= self._tick_m

    def _margin_m(self, sign: int, ticks: int) -> float:
        """Return the least margin at the sides that the length moves; infinite if none is met."""
        here = self.key.size_m if not ticks else self._size_m(sign, ticks)
        other = self.key.size_m if ticks else self._size_m(sign, 1)
        laid, moved = self._at(here), self._at(other)
        if laid is None or moved is None:
            return math.inf
        old, new = self._border(moved[0]), self._border(laid[0])
        gaps = [
            margin.least_m
            for margin in laid[1].margins
            if new.distance(middle := _middle(margin.start, margin.end)) <= 2.0 * SNAP_M
            and old.distance(middle) > 2.0 * SNAP_M
        ]
        return min(gaps, default=math.inf)

    def _border(self, site: Site) -> BaseGeometry:
        if self.key.kind == "path":
            return site.paths[self.key.number].area.boundary
        return site.beds[self.key.number].outline.boundary

    def _hint(self, sign: int, ticks: int, now: int) -> Hint:
        size_m = self._size_m(sign, ticks)
        laid = self._at(size_m)
        assert laid is not None
        changed, walk = laid
        return Hint(
            walk.path.spec.name,
            self.key.kind,
            self.key.name,
            self.key.key,
            self.key.size_m,
            size_m,
            walk.count - now,
            walk.count,
            _beds_m2(changed) - _beds_m2(self.site),
        )


def _first_that(holds: Callable[[int], bool], fails: int, does: int) -> int:
    """Return a number at which something holds and just before which it does not, by halving.

    Examples
    --------
    >>> _first_that(lambda n: n * n > 30, 0, 100)
    6
    """
    while does - fails > 1:
        middle = (fails + does) // 2
        fails, does = (fails, middle) if holds(middle) else (middle, does)
    return does


def _middle(start: tuple[float, float], end: tuple[float, float]) -> BaseGeometry:
    return shapely.Point(0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1]))


def _beds_m2(site: Site) -> float:
    return math.fsum(float(bed.outline.area) for bed in site.beds)
