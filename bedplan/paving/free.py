"""The most whole units with no pattern at all, in any region (layer: paving engine).

*Free* laying starts from the best of what patterns give: bonds, courses, packed rectangles.
From there it can only gain, by two kinds of *step*. In a window, units along and across one
direction are exchanged for others among the spots where pushed-together units may lie
(`free_windows`); or a patch of units is lifted and its ground laid anew in courses in whatever
direction holds most (`free_patches`). A step that loses a unit is undone; one that gains none
is kept, so that scattered open ground wanders together until a unit fits in.

A search of this kind proves nothing by itself; the answer stands beside `upper_bound`.

Public entry point: `lay_free`.

References
----------
H. R. Lourenço, O. C. Martin and T. Stützle, Iterated local search, Handbook of Metaheuristics,
2003, from memory; those of `free_swaps` and `free_patches`.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from time import monotonic
from typing import Final

from shapely.geometry.base import BaseGeometry

from bedplan.paving.bonds import stack
from bedplan.paving.bound_any import upper_bound
from bedplan.paving.free_ground import Ground
from bedplan.paving.free_patches import relaid
from bedplan.paving.free_starts import starts
from bedplan.paving.free_windows import exchanged
from bedplan.paving.laying import Laying, Placement

NAME: Final = "free"
"""Name of the bond of a free laying."""

_RACERS: Final = 3
"""Layings improved side by side at the beginning."""

_RACE_SHARE: Final = 0.4
"""Part of the time after which only the best of them is gone on with."""

_START_SHARE: Final = 0.3
"""Part of the time after which no further start is made."""

Progress = Callable[[float, int], None]
"""Told the share of the time budget used and the count so far."""

Units = list[Placement]


def lay_free(
    region: BaseGeometry,
    start: Laying,
    *,
    time_limit_s: float = 10.0,
    enough: int = 0,
    progress: Progress | None = None,
    seed: int = 1,
) -> Laying:
    """Return a laying of no fewer units than a given one, found without any pattern.

    Parameters
    ----------
    region
        Where units may lie [m].
    start
        A bond or courses, of one kind of unit; its joint is kept as the least. It may be empty:
        then its bond says what unit is laid. Other bonds and courses are tried as well.
    time_limit_s
        When to stop [s]; a step that has begun is ended soon after. Ctrl-C stops earlier and
        keeps the best so far.
    enough
        A count that cannot be beaten, such as `upper_bound`; reaching it ends the search.
    progress
        Told before every step how far the search is.
    seed
        Of the random choices. The clock decides how many steps are taken, so two runs may
        differ all the same.

    Returns
    -------
    laying
        Its bond is named ``free`` where it gained a unit, else `start` itself. `proven` is True
        if it reached `enough`.

    Notes
    -----
    Units along and across one direction keep `joint_m` from each other one way or the other;
    from units askew to them they keep it by the joint on all sides.

    Examples
    --------
    >>> import shapely
    >>> from bedplan.paving import courses_along
    >>> square = shapely.box(0, 0, 5, 5)
    >>> lay_free(square, courses_along(square, 3, 2, 0.0), enough=4).count
    4
    """
    if start.count >= enough > 0 or len(start.bond.faces) > 1:
        return start
    length_m, width_m = start.bond.faces[0]
    if upper_bound(region, length_m, width_m, start.joint_m) <= start.count:
        return start
    ground = Ground(region, length_m, width_m, start.joint_m, start.direction_deg)
    search = _Search(ground, enough, progress or (lambda _share, _count: None))
    units = search.best_from(list(start.units), time_limit_s, random.Random(seed))
    if len(units) <= start.count:
        return start
    return replace(
        start,
        bond=replace(stack(length_m, width_m), name=NAME),
        shift_m=units[0][:2],
        units=tuple(units),
        faces=(0,) * len(units),
        proven=len(units) >= enough > 0,
    )


Step = Callable[[Units], Units]


@dataclass
class _Kind:
    """A kind of step: how long one takes, roughly, and what it gained of late."""

    step: Step
    cost: float
    worth: float = 1.0

    def taken(self, gain: int) -> None:
        """Remember what a step gained; the past counts less and less."""
        self.worth = 0.95 * self.worth + gain


@dataclass
class _Search:
    """A search under way: when it ends, whom it tells, and the best laying so far."""

    ground: Ground
    enough: int
    progress: Progress
    best: Units = field(default_factory=list)
    begun: float = 0.0
    limit_s: float = 0.0

    def best_from(self, units: Units, limit_s: float, chance: random.Random) -> Units:
        """Return the best laying found from a given one on."""
        self.best, self.begun, self.limit_s = units, monotonic(), limit_s
        try:
            racers = self._first_racers()
            self._race(racers, chance)
        except KeyboardInterrupt:
            pass  # the best so far is whole: it is exchanged in one step
        return self.best

    def share(self) -> float:
        """Return the share of the time that is used up."""
        return (monotonic() - self.begun) / self.limit_s if self.limit_s > 0.0 else 1.0

    def over(self) -> bool:
        """Tell whether the search is at its end."""
        return self.share() >= 1.0 or len(self.best) >= self.enough > 0

    def told(self) -> bool:
        """Tell how far the search is, unless it is over; return whether it goes on."""
        share = self.share()
        going_on = share < 1.0 and not len(self.best) >= self.enough > 0
        if going_on:
            self.progress(share, len(self.best))
        return going_on

    def _keep(self, units: Units) -> None:
        if len(units) > len(self.best):
            self.best = units

    def _first_racers(self) -> list[Units]:
        """Return the best starts, the given laying among them."""
        racers, others = [self.best], starts(self.ground)
        while self.told() and self.share() < _START_SHARE:
            units = next(others, None)
            if units is None:
                break
            self._keep(units)
            racers.append(units)
        return sorted(racers, key=len, reverse=True)[:_RACERS]

    def _race(self, racers: list[Units], chance: random.Random) -> None:
        """Improve several layings by turns, then the best of them alone."""
        kinds = self._kinds(chance)
        turn = 0
        while self.told():
            if len(racers) > 1 and self.share() > _RACE_SHARE:
                racers = [max(racers, key=len)]
            place = turn % len(racers)
            kind = _drawn(kinds, chance)
            units = kind.step(racers[place])
            kind.taken(len(units) - len(racers[place]))
            racers[place] = units
            self._keep(units)
            turn += 1

    def _kinds(self, chance: random.Random) -> list[_Kind]:
        """Return the kinds of step."""

        def window(reach: float) -> Step:
            return lambda units: exchanged(self.ground, units, reach, chance, self.over)

        def patch(units: Units) -> Units:
            return relaid(self.ground, units, chance) if units else units

        return [
            _Kind(window(2.5), 1.0),
            _Kind(window(5.0), 3.0),
            _Kind(window(9.0), 9.0),
            _Kind(patch, 1.0),
        ]


def _drawn(kinds: list[_Kind], chance: random.Random) -> _Kind:
    """Return a kind of step, the likelier the more it gains for its time."""
    weights = [(0.2 + kind.worth) / kind.cost for kind in kinds]
    return chance.choices(kinds, weights)[0]
