"""One path with its units: bond and direction chosen, best shift found (layer: plan).

Separate walks of one path are laid separately, each with its own start: no unit crosses from
one to another, and each gets the shift that suits it. Units of two walks, of one path or of two,
are never nearer to each other than the joint. Public entry point: `lay_walk`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError, LayoutError
from bedplan.geometry.polygons import parts
from bedplan.geometry.tolerance import FIT_M
from bedplan.model.layout import Layout, Paving
from bedplan.model.materials import Paver
from bedplan.model.site import PlacedPath, Site
from bedplan.paving import Bond, Laying, best_laying, open_joints, upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_mixed import mixed_bound
from bedplan.paving.courses import courses_along
from bedplan.paving.free import NAME as FREE
from bedplan.paving.free import lay_free
from bedplan.paving.margins import Margin, margins
from bedplan.paving.stepping import longest_course, step_along
from bedplan.plan.apart import Beside, clear_of
from bedplan.plan.bonding import bond_of, directions_of, own_turn, units_of
from bedplan.site.paths import centre_line, paving_region

TURN_DEG: Final = 1e-4
"""Two units are turned alike within this [deg]."""


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
        No layout of whole units that lie along or across these holds more than this: all turned
        alike, or in any mixture of both ways where these mix them.
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
    def joint_m(self) -> float:
        """The least joint the path asks for; 0 without units [m]."""
        paving = self.path.spec.paving
        return 0.0 if paving is None else paving.joint_m[0]

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
    layout: Layout,
    site: Site,
    path: PlacedPath,
    search: FreeSearch,
    *,
    bounds: bool = True,
    beside: Sequence[Beside] = (),
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
    beside
        Units of other paths to keep a joint from. Bounds hold whether there are any or none.

    Raises
    ------
    LayoutError
        If the bond is not known or cannot be made with the unit.
    """
    ground = paving_region(site, path.area)
    paving = path.spec.paving
    if paving is None:
        return Walk(path, ground)
    try:
        pavers = units_of(layout, paving)
        layings = list(_each_walk(layout, site, path, (ground, beside), search))
    except GeometryError as error:
        raise LayoutError.of(
            ("path", [spec.name for spec in layout.paths].index(path.spec.name), "bond"),
            str(error),
            "a bond the unit makes",
            "choose another bond or unit",
        ) from None
    seconds = search.seconds if paving.pattern == FREE else 0.0
    laid = [
        _bounded(walk, pavers, paving.joint_m[0], laying, seconds)
        if bounds
        else _Laid(laying, 0, 0)
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


def _each_walk(
    layout: Layout,
    site: Site,
    path: PlacedPath,
    place: tuple[BaseGeometry, Sequence[Beside]],
    search: FreeSearch,
) -> Iterator[Laying]:
    """Yield the laying of each separate walk, a joint from those before it and those beside."""
    paving, (ground, beside) = path.spec.paving, place
    assert paving is not None
    pavers, line = units_of(layout, paving), centre_line(site.enclosure, path.spec.shape)
    bond, laid = bond_of(layout, paving, pavers), list(beside)
    for walk in parts(ground):
        free = clear_of(walk, laid, paving.joint_m[0])
        angles = directions_of(site, paving, walk)
        if paving.stride_m is None:
            laying = _lay(free, pavers, paving, bond, angles, search)
        else:
            along = line or _course(free, pavers[0], paving, angles)
            laying = _step(free, pavers[0], paving, along)
        laid.append(Beside(tuple(laying.outlines()), paving.joint_m[0]))
        yield laying


class _Laid(NamedTuple):
    """One separate walk laid, and the bounds on any layout and on those turned like it."""

    laying: Laying
    most: int
    most_so_turned: int


def _lay(
    walk: BaseGeometry,
    pavers: Sequence[Paver],
    paving: Paving,
    bond: Bond | None,
    angles: Sequence[float],
    search: FreeSearch,
) -> Laying:
    length_m, width_m = pavers[0].length_m, pavers[0].width_m
    least_m, greatest_m = paving.joint_m
    if bond is not None:
        turned = [angle + own_turn(paving) for angle in angles]
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


def _bounded(
    walk: Polygon, pavers: Sequence[Paver], joint_m: float, laying: Laying, seconds: float
) -> _Laid:
    """Return a laying with its bounds; those on layouts turned alike are for one size only."""
    most = upper_bound(walk, *_common_face(pavers), joint_m)
    if len(pavers) > 1:
        return _Laid(laying, most, most)
    return _Laid(laying, most, _most_so_turned(walk, pavers[0], joint_m, (laying, most), seconds))


def _common_face(pavers: Sequence[Paver]) -> tuple[float, float]:
    """Return the largest face that lies inside every unit's, for a bound that holds for all [m].

    Shrink each unit of a layout to that face, within itself: as many units lie in the region,
    no nearer to each other. So no layout of any of the units holds more than one of that face
    could.
    """
    sides = [sorted((paver.length_m, paver.width_m), reverse=True) for paver in pavers]
    return min(long for long, _ in sides), min(short for _, short in sides)


def _course(
    walk: BaseGeometry, paver: Paver, paving: Paving, angles: Sequence[float]
) -> list[tuple[float, float]]:
    """Return the line of the longest course, for stepping stones where no centre line is given."""
    size_m, joint_m = (paver.length_m, paver.width_m), paving.joint_m[0]
    return longest_course(walk, size_m, joint_m, angles)


def _step(
    walk: BaseGeometry, paver: Paver, paving: Paving, line: Sequence[tuple[float, float]]
) -> Laying:
    """Lay stepping stones along a line; none where a walk has no course."""
    assert paving.stride_m is not None
    size_m, joint_m = (paver.length_m, paver.width_m), paving.joint_m[0]
    return step_along(walk, line, size_m, joint_m, paving.stride_m)


def _most_so_turned(
    walk: Polygon, paver: Paver, joint_m: float, laid: tuple[Laying, int], seconds: float
) -> int:
    """Return the bound on layouts whose units all lie as the laying's, or square to them.

    `seconds` may be spent on weighing points, which pays where units keep no pattern; the bound
    on any layout stands in where turns mix otherwise.
    """
    laying, most = laid
    turns = sorted({round(unit.turn_deg % 90.0, 6) for unit in laying.units})
    if not turns or turns[-1] - turns[0] > TURN_DEG:
        return most
    size_m = (paver.length_m, paver.width_m)
    first_deg = laying.units[0].turn_deg
    square = abs(paver.length_m - paver.width_m) < FIT_M
    alike = square or all(
        abs(unit.turn_deg - first_deg) % 180.0 <= TURN_DEG for unit in laying.units
    )
    if alike:
        most = min(most, line_bound(walk, *size_m, joint_m, first_deg, enough=laying.count))
    if seconds > 0.0 and laying.count < most:
        bound = mixed_bound(
            walk,
            *size_m,
            joint_m,
            first_deg,
            both_ways=not alike,
            enough=laying.count,
            time_limit_s=seconds,
        )
        most = min(most, bound)
    return most
