"""Fewer units than would fit, where the file limits them (layer: plan).

Public entry point: `within_limits`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bedplan.model.layout import Layout
from bedplan.model.materials import Paver
from bedplan.paving import Laying
from bedplan.paving.spread import shares, spread, thinned
from bedplan.plan.apart import Beside, clear_of
from bedplan.plan.walk import Walk


def within_limits(layout: Layout, walks: Sequence[Walk]) -> tuple[Walk, ...]:
    """Return walks with no more units of each kind than the file allows, spread evenly.

    A limit is for all paths together; they share it in proportion to the units they hold.
    """
    limited = list(walks)
    for paver in layout.pavers.values():
        if paver.limit is None:
            continue
        uses = [i for i, walk in enumerate(limited) if paver in walk.pavers]
        places = [(i, j) for i in uses for j in range(len(limited[i].layings))]
        layings = [limited[i].layings[j] for i, j in places]
        counts = [
            laying.faces.count(limited[i].pavers.index(paver))
            for (i, _), laying in zip(places, layings, strict=True)
        ]
        given = shares(paver.limit, [float(count) for count in counts], counts)
        for place, most in zip(places, given, strict=True):
            _thin(limited, place, paver, most)
        for i in uses:
            kept = tuple(laying for laying in limited[i].layings if laying.count)
            limited[i] = replace(limited[i], layings=kept)
    return tuple(limited)


def _thin(walks: list[Walk], place: tuple[int, int], paver: Paver, most: int) -> None:
    """Lay fewer of a unit in one laying of one walk."""
    i, j = place
    layings = list(walks[i].layings)
    layings[j] = _fewer(walks, place, paver, most)
    walks[i] = replace(walks[i], layings=tuple(layings))


def _fewer(walks: Sequence[Walk], place: tuple[int, int], paver: Paver, most: int) -> Laying:
    """Return a laying with no more of one unit; beside another size none is moved."""
    walk, laying = walks[place[0]], walks[place[0]].layings[place[1]]
    if walk.second is not None:
        return thinned(laying, walk.pavers.index(paver), most)
    if laying.count <= most:
        return laying
    others = [
        Beside(tuple(other.outlines()), each.joint_m)
        for i, each in enumerate(walks)
        for j, other in enumerate(each.layings)
        if (i, j) != place
    ]
    return spread(clear_of(walk.ground, others, walk.joint_m), laying, most)
