"""One path with its units: bond and direction chosen, best shift found (layer: plan).

Separate walks of one path are laid separately, each with its own start: no unit crosses from
one to another, and each gets the shift that suits it. Public entry point: `lay_walk`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError, LayoutError
from bedplan.geometry.polygons import parts
from bedplan.geometry.tolerance import FIT_M
from bedplan.model.layout import Layout, Paving
from bedplan.model.materials import Paver
from bedplan.model.site import PlacedPath, Site
from bedplan.paving import Bond, Laying, best_laying, directions, open_joints, upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.courses import courses_along
from bedplan.paving.free import lay_free
from bedplan.paving.margins import Margin, margins
from bedplan.paving.patterns import make_bond, sizes_of
from bedplan.paving.spread import shares, spread, thinned
from bedplan.paving.stepping import longest_course, step_along
from bedplan.site.paths import centre_line, paving_region


@dataclass(frozen=True)
class FreeSearch:
    """How long a free laying of one walk may search [s], and who is told how far it is."""

    seconds: float = 5.0
    progress: Callable[[float, int], None] | None = None


@dataclass(frozen=True)
class Walk:
    """One path worked out.

    Parameters
    ----------
    path
        The path in place.
    ground
        Its area less plants' clear rings and posts: where layers and units may lie.
    paver
        The unit, or None for a path without units.
    layings
        One for each separate walk that holds a unit, the largest walk first.
    upper_bound
        No layout whatever of whole units holds more than this.
    line_bound
        No layout of whole units all turned like these holds more than this.
    shift_proven
        True if no shift of the bond, in any direction tried, holds more units.
    second
        The second unit of a bond of two sizes; counts and bounds take both sizes alike.
    """

    path: PlacedPath
    ground: BaseGeometry
    paver: Paver | None = None
    layings: tuple[Laying, ...] = ()
    upper_bound: int = 0
    line_bound: int = 0
    shift_proven: bool = True
    second: Paver | None = None

    @property
    def pavers(self) -> tuple[Paver, ...]:
        """The units it is laid of: none, one or two."""
        return tuple(paver for paver in (self.paver, self.second) if paver is not None)

    @cached_property
    def unit_names(self) -> tuple[str, ...]:
        """What every unit is called, in the order of `outlines`."""
        names = [paver.name for paver in self.pavers]
        return tuple(names[face] for laying in self.layings for face in laying.faces)

    @cached_property
    def counts(self) -> dict[str, int]:
        """How many whole units of each name lie in the path."""
        return {paver.name: self.unit_names.count(paver.name) for paver in self.pavers}

    @property
    def count(self) -> int:
        """How many whole units lie in the path."""
        return sum(laying.count for laying in self.layings)

    @property
    def proven(self) -> bool:
        """True if nobody could lay more whole units here, in any way."""
        return self.count == self.upper_bound

    @property
    def paved_area_m2(self) -> float:
        """Area under the units [m^2]."""
        return sum(laying.paved_area_m2 for laying in self.layings)

    @property
    def open_area_m2(self) -> float:
        """Ground of the path the units leave open: joints and margins [m^2]."""
        return float(self.ground.area) - self.paved_area_m2

    @cached_property
    def margins(self) -> tuple[Margin, ...]:
        """The open strip along every straight side that units face."""
        return tuple(
            margin
            for laying in self.layings
            for part in parts(self.ground)
            if part.distance(Point(laying.units[0][:2])) == 0.0
            for margin in margins(part, laying)
        )

    @cached_property
    def outlines(self) -> tuple[Polygon, ...]:
        """The outline of every unit."""
        return tuple(outline for laying in self.layings for outline in laying.outlines())


def lay_walk(
    layout: Layout, site: Site, path: PlacedPath, search: FreeSearch, *, bounds: bool = True
) -> Walk:
    """Return a path with as many whole units as its bond can hold.

    Parameters
    ----------
    layout, site
        Where the units are described and the ground is.
    path
        The path to lay.
    search
        How long a free laying may search, for each separate walk.
    bounds
        False leaves both bounds 0 and saves their time, where only the units matter.

    Raises
    ------
    LayoutError
        If the bond is not known or cannot be made with the unit.
    """
    ground = paving_region(site, path.area)
    paving = path.spec.paving
    if paving is None:
        return Walk(path, ground)
    line = centre_line(site.enclosure, path.spec.shape)
    try:
        pavers = _pavers(layout, paving)
        bond = _bond(layout, paving, pavers)
        layings = [
            _lay(walk, pavers, paving, bond, _directions(site, paving, walk), search)
            if paving.stride_m is None
            else _step(walk, pavers[0], paving, line or _course(site, walk, pavers[0], paving))
            for walk in parts(ground)
        ]
    except GeometryError as error:
        raise LayoutError.of(
            ("path", [spec.name for spec in layout.paths].index(path.spec.name), "bond"),
            str(error),
            "a bond the unit makes",
            "choose another bond or unit",
        ) from None
    laid = [
        _bounded(walk, pavers, paving.joint_m[0], laying) if bounds else _Laid(laying, 0, 0)
        for walk, laying in zip(parts(ground), layings, strict=True)
    ]
    return Walk(
        path,
        ground,
        pavers[0],
        tuple(laying for laying in layings if laying.count),
        sum(each.most for each in laid),
        sum(each.most_so_turned for each in laid),
        all(laying.proven for laying in layings),
        *pavers[1:],
    )


def _pavers(layout: Layout, paving: Paving) -> tuple[Paver, ...]:
    """Return the units a path is laid of, as many as its bond has sizes.

    Raises
    ------
    GeometryError
        If the path names too few or too many.
    """
    names = [name for name in (paving.paver, paving.second) if name is not None]
    if len(names) != (1 if paving.stride_m is not None else sizes_of(layout, paving.bond)):
        wanted = "one unit" if len(names) == 2 else "two units"
        message = f"bond {paving.pattern!r} is laid of {wanted}, and the path names {len(names)}"
        raise GeometryError(message)
    return tuple(layout.pavers[name] for name in names)


def _bond(layout: Layout, paving: Paving, pavers: Sequence[Paver]) -> Bond | None:
    """Return the bond a path asks for; None where its units keep no pattern that repeats."""
    if paving.stride_m is not None or paving.bond in ("courses", "free"):
        return None
    return make_bond(paving, pavers, layout.bonds.get(paving.bond))


class _Laid(NamedTuple):
    """One separate walk laid, and the bounds on any layout and on those turned like it."""

    laying: Laying
    most: int
    most_so_turned: int


def _lay(
    walk: Polygon,
    pavers: Sequence[Paver],
    paving: Paving,
    bond: Bond | None,
    angles: Sequence[float],
    search: FreeSearch,
) -> Laying:
    length_m, width_m = pavers[0].length_m, pavers[0].width_m
    least_m, greatest_m = paving.joint_m
    if bond is not None:
        turned = [angle + 45.0 * (paving.bond == "herringbone 45") for angle in angles]
        return open_joints(walk, best_laying(walk, bond, least_m, turned), greatest_m)
    if paving.bond == "courses":
        return courses_along(walk, length_m, width_m, least_m, angles, greatest_m=greatest_m)
    return lay_free(
        walk,
        courses_along(walk, length_m, width_m, least_m, angles),
        time_limit_s=search.seconds,
        enough=upper_bound(walk, length_m, width_m, least_m),
        progress=search.progress,
    )


def _bounded(walk: Polygon, pavers: Sequence[Paver], joint_m: float, laying: Laying) -> _Laid:
    """Return a laying with its bounds; those on layouts turned alike are for one size only."""
    most = upper_bound(walk, *_common_face(pavers), joint_m)
    if len(pavers) > 1:
        return _Laid(laying, most, most)
    return _Laid(laying, most, _most_so_turned(walk, pavers[0], joint_m, laying, most))


def _common_face(pavers: Sequence[Paver]) -> tuple[float, float]:
    """Return the largest face that lies inside every unit's, for a bound that holds for all [m].

    Shrink each unit of a layout to that face, within itself: as many units lie in the region,
    no nearer to each other. So no layout of any of the units holds more than one of that face
    could.
    """
    sides = [sorted((paver.length_m, paver.width_m), reverse=True) for paver in pavers]
    return min(long for long, _ in sides), min(short for _, short in sides)


def _course(site: Site, walk: Polygon, paver: Paver, paving: Paving) -> list[tuple[float, float]]:
    """Return the line of the longest course, for stepping stones where no centre line is given."""
    size_m, joint_m = (paver.length_m, paver.width_m), paving.joint_m[0]
    return longest_course(walk, size_m, joint_m, _directions(site, paving, walk))


def _step(
    walk: Polygon, paver: Paver, paving: Paving, line: Sequence[tuple[float, float]]
) -> Laying:
    """Lay stepping stones along a line; none where a walk has no course."""
    assert paving.stride_m is not None
    size_m, joint_m = (paver.length_m, paver.width_m), paving.joint_m[0]
    return step_along(walk, line, size_m, joint_m, paving.stride_m)


def _most_so_turned(walk: Polygon, paver: Paver, joint_m: float, laying: Laying, most: int) -> int:
    """Return the bound on layouts whose units all lie as the laying's; `most` where turns mix."""
    square = abs(paver.length_m - paver.width_m) < FIT_M
    period = 90.0 if square else 180.0
    turns = {round(unit.turn_deg % period, 6) for unit in laying.units}
    if len(turns) != 1:
        return most
    bound = line_bound(
        walk, paver.length_m, paver.width_m, joint_m, turns.pop(), enough=laying.count
    )
    return min(most, bound)


def _directions(site: Site, paving: Paving, walk: Polygon) -> tuple[float, ...]:
    if paving.direction == "best":
        return directions(walk)
    if isinstance(paving.direction, str):
        side = site.enclosure.side(paving.direction)
        if side is None:
            message = f"no side is called {paving.direction!r}"
            raise GeometryError(message)
        return (side.direction_deg,)
    return (float(paving.direction),)


def within_limits(layout: Layout, walks: Sequence[Walk]) -> tuple[Walk, ...]:
    """Return walks with no more units of each kind than the file allows, spread evenly.

    A limit is for all paths together; they share it in proportion to the units they hold.
    """
    limited = list(walks)
    for paver in layout.pavers.values():
        if paver.limit is None:
            continue
        uses = [i for i, walk in enumerate(limited) if paver in walk.pavers]
        layings = [(i, laying) for i in uses for laying in limited[i].layings]
        counts = [laying.faces.count(limited[i].pavers.index(paver)) for i, laying in layings]
        given = shares(paver.limit, [float(count) for count in counts], counts)
        spreads = [
            (i, _fewer(limited[i], laying, paver, most))
            for (i, laying), most in zip(layings, given, strict=True)
        ]
        for i in uses:
            kept = tuple(laying for j, laying in spreads if j == i and laying.count)
            limited[i] = replace(limited[i], layings=kept)
    return tuple(limited)


def _fewer(walk: Walk, laying: Laying, paver: Paver, most: int) -> Laying:
    """Return a laying of a walk with no more of one unit; beside another none is moved."""
    if walk.second is None:
        return spread(walk.ground, laying, most)
    return thinned(laying, walk.pavers.index(paver), most)
