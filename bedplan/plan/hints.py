"""The smallest changes of size that gain units, and how far a path may shrink (layer: plan).

A path that is a hand too narrow for one more row, or a hand wider than its rows need, is best
put right on paper. For every length that moves a border of a path (`size_keys`) the sizes on
the tape up to one unit and its joint either way are searched (`hint_trials`).

Public entry points: `size_hints`, `search_hints`.

Notes
-----
Ground that grows holds no fewer units of one bond at one joint, so most sizes need not be laid:
what one ground holds bounds what others do (`capacity`), and the first gain or loss is found by
halving. Where that does not hold (walks part or join, other directions come up, stepping
stones) sizes are tried here and there; such lengths are named in `HintSearch.tried`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from time import monotonic
from typing import Final, Literal, NamedTuple

from bedplan.model.layout import Layout
from bedplan.model.site import Site
from bedplan.plan.capacity import Capacity
from bedplan.plan.hint_trials import TICK_M, Progress, TimeUpError, Trials
from bedplan.plan.size_keys import SizeKey, beds_without_size, size_keys
from bedplan.plan.walk import FreeSearch, lay_walk
from bedplan.plan.walks import units_before
from bedplan.site import resolve

__all__ = ["TICK_M", "Hint", "HintSearch", "NotSearched", "search_hints", "size_hints"]

Effect = Literal["gain", "margin", "spare"]

_EARLY: Final = 0.75
"""A margin gone within this share of what a path can spare gets a hint of its own."""


@dataclass(frozen=True)
class Hint:
    """One change of one length, and what it does.

    Parameters
    ----------
    path
        The path that gains.
    kind, name, key
        What to change: ``bed`` or ``path``, its name, and its length: ``width``, ``length``
        (the first size of a rectangle), ``radius``, ``clearance``, ``start`` or ``end``.
    from_m, to_m
        The length now and then [m].
    gained
        Whole units more; 0 where the path only shrinks.
    count
        Whole units then.
    bed_area_m2
        Ground that beds gain, outline by outline; negative where they lose it [m^2].
    path_area_m2
        Ground that the path gains; negative where it loses it [m^2].
    effect
        ``gain``: more units. ``spare``: the most the path can shrink and keep every unit.
        ``margin``: as much less as takes the margin away, where that is well short of ``spare``.
    margin_m
        The least margin then at the border that moves; None for a gain, and where no unit faces
        that border [m].
    bond
        What it was laid in: the path's own bond, or ``courses`` for one laid freely.
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
    path_area_m2: float
    effect: Effect
    margin_m: float | None
    bond: str


@dataclass(frozen=True)
class NotSearched:
    """A path, or a bed beside one, for which no size was tried, and why."""

    path: str
    name: str
    why: str


class HintSearch(NamedTuple):
    """All hints found, best first, and how much of the sizes was looked at.

    Parameters
    ----------
    complete
        Whether every length was looked at in time.
    tried
        ``(path, name, key)`` of lengths whose sizes were tried here and there: a gain between
        two of them may have been missed.
    left_out
        Paths and beds without any size to try.
    freely
        Paths the file lays freely; their hints are for courses.
    """

    hints: tuple[Hint, ...]
    complete: bool
    tried: tuple[tuple[str, str, str], ...] = ()
    left_out: tuple[NotSearched, ...] = ()
    freely: tuple[str, ...] = ()


@dataclass
class _Found:
    hints: list[Hint] = field(default_factory=list)
    tried: list[tuple[str, str, str]] = field(default_factory=list)
    left_out: list[NotSearched] = field(default_factory=list)


def size_hints(layout: Layout, *, seconds: float = 20.0) -> tuple[Hint, ...]:
    """Return the hints `search_hints` finds in a time [s]."""
    return search_hints(layout, seconds=seconds).hints


def search_hints(
    layout: Layout,
    path: str | None = None,
    *,
    seconds: float = 20.0,
    progress: Progress | None = None,
) -> HintSearch:
    """Return the smallest changes that gain units, and how far paths may shrink without a loss.

    Parameters
    ----------
    layout
        A layout without faults.
    path
        Name of the path to look at; every paved path if None.
    seconds
        When to stop looking [s]; what was found by then is given.
    progress
        Told how much of the search is done, and how many hints there are.

    Returns
    -------
    search
        Gains first, most units for the length moved before others; then changes that only take
        ground from the path, the smallest first. For every length and either way there are up
        to two gains: the first unit, and the most that up to one unit and its joint gains. Each
        was laid with the size it names. A path laid freely is laid in courses for this.

    Raises
    ------
    LayoutError
        If the layout has faults.
    """
    deadline, found = monotonic() + seconds, _Found()
    countable = _countable(layout)
    site, complete = resolve(countable), True
    numbers = [
        number
        for number, spec in enumerate(layout.paths)
        if spec.paving is not None and path in (None, spec.name)
    ]
    try:
        searches = list(_searches(layout, countable, site, numbers, found))
        jobs = [
            (search, key) for search in searches for key in size_keys(countable, site, search.path)
        ]
        for done, (search, key) in enumerate(jobs):
            if progress:
                progress(done / len(jobs), len(found.hints))
            search.look(key, deadline, found)
    except TimeUpError:
        complete = False
    return HintSearch(
        tuple(sorted(found.hints, key=_rank)),
        complete,
        tuple(found.tried),
        tuple(found.left_out),
        tuple(layout.paths[i].name for i in numbers if layout.paths[i] != countable.paths[i]),
    )


def _rank(hint: Hint) -> tuple[float, float]:
    moved_m = abs(hint.to_m - hint.from_m)
    return (-hint.gained / moved_m, moved_m)


def _searches(
    layout: Layout, countable: Layout, site: Site, numbers: Sequence[int], found: _Found
) -> Iterator[_Search]:
    """Yield the searches of those paths that could hold more units than they do."""
    for number in numbers:
        path = site.paths[number]
        beside = units_before(countable, site, number)
        walk = lay_walk(countable, site, path, FreeSearch(), bounds=False, beside=beside)
        limits = {name: layout.pavers[name].limit for name in walk.counts}
        if all(most is not None and walk.counts[name] >= most for name, most in limits.items()):
            why = "holds all the units its limit allows"
            found.left_out.append(NotSearched(path.spec.name, path.spec.name, why))
            continue
        why = "drawn corner by corner, with no one length to change"
        found.left_out += [
            NotSearched(path.spec.name, bed, why) for bed in beds_without_size(site, number)
        ]
        stepping = path.spec.paving is not None and path.spec.paving.stride_m is not None
        capacity = None if stepping else Capacity(countable, site, path)
        yield _Search(countable, site, number, capacity)


def _countable(layout: Layout) -> Layout:
    """Return the layout with no unit limited, and courses where units are laid freely."""
    pavers = {name: replace(paver, limit=None) for name, paver in layout.pavers.items()}
    paths = tuple(
        replace(spec, paving=replace(spec.paving, bond="courses"))
        if spec.paving and spec.paving.bond == "free" and spec.paving.stride_m is None
        else spec
        for spec in layout.paths
    )
    return replace(layout, pavers=pavers, paths=paths)


@dataclass(frozen=True)
class _Search:
    """The search for hints at one path."""

    layout: Layout
    site: Site
    path: int
    capacity: Capacity | None

    def look(self, key: SizeKey, deadline: float, found: _Found) -> None:
        """Add the hints at one length to those found, one by one as time allows."""
        trials = Trials(self.layout, self.site, self.path, key, self.capacity, deadline)
        now = trials.laid(0)
        trials.opened = now > trials.count(0, now - 1)
        for effect, ticks in self._changes(trials, now):
            found.hints.append(self._hint(trials, ticks, effect, now))
        if not trials.covered:
            found.tried.append((self._name, key.name, key.key))

    @property
    def _name(self) -> str:
        return self.layout.paths[self.path].name

    def _changes(self, trials: Trials, now: int) -> Iterator[tuple[Effect, int]]:
        more, less = trials.last(1), trials.last(-1)
        for end in (more, less):
            first = trials.first_gain(0, end, now)
            if first:
                yield "gain", first
            if first and end == more and trials.laid(first) < (most := trials.count(more, now)):
                yield "gain", trials.first_gain(first, end, most - 1)
        spare = trials.last_without_loss(less, now)
        if spare:
            # near its end a margin is gone anyway, and so said of the change itself
            closed = trials.first_closed(round(_EARLY * spare))
            if closed:
                yield "margin", closed
            yield "spare", spare

    def _hint(self, trials: Trials, ticks: int, effect: Effect, now: int) -> Hint:
        key, ground = trials.key, trials.ground(ticks)
        assert ground is not None
        count = trials.laid(ticks)
        paving = self.layout.paths[self.path].paving
        assert paving is not None
        margin_m = math.inf if effect == "gain" else trials.margin_m(ticks)
        return Hint(
            self._name,
            key.kind,
            key.name,
            key.key,
            key.size_m,
            trials.size_m(ticks),
            count - now if effect == "gain" else 0,
            count,
            _beds_m2(ground.site) - _beds_m2(self.site),
            float(ground.site.paths[self.path].area.area - self.site.paths[self.path].area.area),
            effect,
            margin_m if margin_m < math.inf else None,
            paving.pattern,
        )


def _beds_m2(site: Site) -> float:
    return math.fsum(float(bed.outline.area) for bed in site.beds)
