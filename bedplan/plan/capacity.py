"""How many units grounds hold, remembered from one ground to the next (layer: plan).

Laid along one direction with one joint, ground holds no fewer units than any ground inside it:
every shift that keeps a unit in the smaller keeps it in the larger. So what one ground was
found to hold bounds what smaller and larger ones hold, and a question about the next ground is
mostly answered without laying it.

Public entry point: `Capacity`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import GRID_M
from bedplan.model.layout import Layout
from bedplan.model.site import PlacedPath, Site
from bedplan.paving import courses_along
from bedplan.paving.shift import search_shift
from bedplan.paving.sides import versions
from bedplan.plan.bonding import bond_of, directions_of, own_turn, units_of
from bedplan.plan.walk import FreeSearch, Walk, lay_walk

_SAME_M = 100.0 * GRID_M
"""An edge may stand out this far and still count as inside: overlays round to their grid."""

_SAME_DEG = 1e-5
"""Over ten metres this is two thousandths of a millimetre, less than a unit may press in."""


@dataclass
class _Part:
    """One separate piece of ground: the directions to try, and bounds on the units along each.

    What is learned of a piece is told to all larger and smaller ones known so far.
    """

    polygon: Polygon
    angles: tuple[float, ...]
    within: BaseGeometry
    high: dict[float, float] = field(default_factory=dict)
    low: dict[float, int] = field(default_factory=dict)
    larger: list[_Part] = field(default_factory=list)
    smaller: list[_Part] = field(default_factory=list)

    def most_along(self, angle: float) -> float:
        """Return a number of units that are not exceeded along a direction."""
        return self.high.get(angle, math.inf)

    def least_along(self, angle: float) -> int:
        """Return a number of units that surely fit along a direction."""
        return self.low.get(angle, 0)

    def most(self) -> float:
        """Return a number of units that are not exceeded in any direction."""
        return max(map(self.most_along, self.angles))

    def least(self) -> int:
        """Return a number of units that surely fit in one direction or another."""
        return max(map(self.least_along, self.angles))

    def learn(self, angle: float, low: int, high: float) -> None:
        """Take bounds on the units along a direction, and pass them on."""
        for part in (self, *self.smaller):
            part.high[angle] = min(part.most_along(angle), high)
        for part in (self, *self.larger):
            part.low[angle] = max(part.least_along(angle), low)

    def hold(self, other: _Part) -> None:
        """Take note of a smaller piece within this one."""
        self.smaller.append(other)
        other.larger.append(self)
        for angle, high in self.high.items():
            other.high[angle] = min(other.most_along(angle), high)
        for angle, low in other.low.items():
            self.low[angle] = max(self.least_along(angle), low)


class Capacity:
    """What grounds hold of one path's units, in its bond at its least joint.

    Parameters
    ----------
    layout, site
        Where the units are described, and the fence that directions are named by.
    path
        The path whose units they are. Its bond must be one whose count grows with the ground:
        any but `free`, and no stepping stones.

    Notes
    -----
    All grounds must keep clear of the site's posts and plants already. Separate pieces are laid
    each by itself; the count of several is the sum.
    """

    def __init__(self, layout: Layout, site: Site, path: PlacedPath) -> None:
        assert path.spec.paving is not None
        self._layout, self._path, self._paving = layout, path, path.spec.paving
        # grounds come clear of posts and plants, and need not be cleared again
        self._site = replace(site, posts=(), plants=())
        self._pavers = units_of(layout, self._paving)
        self._bond = bond_of(layout, self._paving, self._pavers)
        self._versions = versions(self._bond, self._paving.joint_m[0]) if self._bond else []
        self._parts: dict[bytes, _Part] = {}
        self._known: list[float] = []

    def exceeds(self, ground: Sequence[Polygon], count: int) -> bool:
        """Tell whether ground holds more units than a count."""
        pieces = [self._part(polygon) for polygon in ground]
        while True:
            if sum(piece.least() for piece in pieces) > count:
                return True
            if sum(piece.most() for piece in pieces) <= count:
                return False
            self._learn(pieces, count if len(pieces) == 1 else 0)

    def most(self, ground: Sequence[Polygon], floor: int = 0) -> int:
        """Return how many units ground holds, or `floor` if that is more.

        A floor saves time where fewer units are of no interest.
        """
        pieces = [self._part(polygon) for polygon in ground]
        beat = floor if len(pieces) == 1 else 0
        while any(piece.most() > max(piece.least(), beat) for piece in pieces):
            self._learn(pieces, beat)
        return max(floor, sum(piece.least() for piece in pieces))

    def laid(self, ground: Sequence[Polygon]) -> list[Walk]:
        """Return every piece of ground laid as the path would be, joints opened."""
        return [self._laid(self._part(polygon)) for polygon in ground]

    def angles(self, polygon: Polygon) -> frozenset[float]:
        """Return the directions tried in one piece of ground."""
        return frozenset(self._part(polygon).angles)

    def _laid(self, part: _Part) -> Walk:
        most = self.most([part.polygon])
        # of equal counts the first direction is taken, as where all are tried
        leading = next(angle for angle in part.angles if self._reaches(part, angle, most))
        paving = replace(self._paving, direction=leading)
        path = PlacedPath(replace(self._path.spec, paving=paving), part.polygon)
        return lay_walk(self._layout, self._site, path, FreeSearch(), bounds=False)

    def _reaches(self, part: _Part, angle: float, count: int) -> bool:
        if part.most_along(angle) >= count > part.least_along(angle):
            self._count(part, angle, count - 1)
        return part.least_along(angle) >= count

    def _learn(self, pieces: Sequence[_Part], beat: int) -> None:
        """Lay the piece and direction that may hold most above what is known, or above `beat`."""
        doubts = [
            (piece.most_along(angle), piece.least_along(angle), -number, piece, angle)
            for piece in pieces
            for number, angle in enumerate(piece.angles)
            if piece.most_along(angle) > max(piece.least(), beat)
        ]
        *_, piece, angle = max(doubts, key=lambda doubt: doubt[:3])
        self._count(piece, angle, beat)

    def _count(self, part: _Part, angle: float, beat: int) -> None:
        """Find how many units lie along a direction, or that no more than `beat` do."""
        found = self._along(part.polygon, angle, beat)
        part.learn(angle, found, max(found, beat))

    def _along(self, ground: Polygon, angle_deg: float, beat: int) -> int:
        """Return the units along a direction at the least joint; 0 if they do not beat a count."""
        joint_m = self._paving.joint_m[0]
        if self._bond is None:
            paver = self._pavers[0]
            return courses_along(
                ground, paver.length_m, paver.width_m, joint_m, (angle_deg,)
            ).count
        count = 0
        for bond, turn_deg in self._versions:
            turned_deg = (angle_deg + own_turn(self._paving) + turn_deg) % 360.0
            better, _ = search_shift(ground, bond, joint_m, turned_deg, beat=max(beat, count))
            count = better.count if better else count
        return count

    def _part(self, polygon: Polygon) -> _Part:
        """Return what is known of a piece of ground, and set it among those seen before."""
        key = shapely.normalize(polygon).wkb
        if key not in self._parts:
            part = _Part(polygon, self._angles(polygon), _grown(polygon))
            for other in self._parts.values():
                if other.within.covers(polygon):
                    other.hold(part)
                if part.within.covers(other.polygon):
                    part.hold(other)
            self._parts[key] = part
        return self._parts[key]

    def _angles(self, polygon: Polygon) -> tuple[float, ...]:
        angles = directions_of(self._site, self._paving, polygon)
        return tuple(dict.fromkeys(map(self._same_angle, angles))) or (0.0,)

    def _same_angle(self, angle_deg: float) -> float:
        """Return the direction of an earlier ground where the same side has only been rounded."""
        for known in self._known:
            if abs(known - angle_deg) < _SAME_DEG:
                return known
        self._known.append(angle_deg)
        return angle_deg


def _grown(polygon: Polygon) -> BaseGeometry:
    grown = polygon.buffer(_SAME_M, join_style="mitre")
    shapely.prepare(grown)
    return grown
