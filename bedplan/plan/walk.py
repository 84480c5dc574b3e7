"""One path with its units: bond and direction chosen, best shift found (layer: plan).

Separate walks of one path are laid separately, each with its own start: no unit crosses from
one to another, and each gets the shift that suits it. Public entry point: `lay_walk`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
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
from bedplan.paving import (
    Bond,
    Laying,
    basket_weave,
    best_laying,
    directions,
    herringbone,
    open_joints,
    running,
    stack,
    upper_bound,
)
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.courses import courses_along
from bedplan.paving.free import lay_free
from bedplan.paving.margins import Margin, margins
from bedplan.paving.spread import shares, spread
from bedplan.paving.stepping import longest_course, step_along
from bedplan.site.paths import centre_line, paving_region

BONDS: Final = (
    "stack",
    "running",
    "herringbone",
    "herringbone 45",
    "basket weave",
    "courses",
    "free",
)


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
    """

    path: PlacedPath
    ground: BaseGeometry
    paver: Paver | None = None
    layings: tuple[Laying, ...] = ()
    upper_bound: int = 0
    line_bound: int = 0
    shift_proven: bool = True

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
    paver = layout.pavers[paving.paver]
    line = centre_line(site.enclosure, path.spec.shape)
    try:
        layings = [
            _lay(walk, paver, paving, _directions(site, paving, walk), search, bounds)
            if paving.stride_m is None
            else _step(walk, paver, paving, line or _course(site, walk, paver, paving), bounds)
            for walk in parts(ground)
        ]
    except GeometryError as error:
        raise LayoutError.of(
            ("path", layout.paths.index(path.spec), "bond"),
            str(error),
            "a bond the unit makes",
            "choose another bond or unit",
        ) from None
    return Walk(
        path,
        ground,
        paver,
        tuple(laid.laying for laid in layings if laid.laying.count),
        sum(laid.most for laid in layings),
        sum(laid.most_so_turned for laid in layings),
        all(laid.laying.proven for laid in layings),
    )


def make_bond(paving: Paving, paver: Paver) -> Bond:
    """Return the bond a path asks for, made of its unit.

    Raises
    ------
    GeometryError
        If there is no such bond, or the unit does not make it.
    """
    match paving.bond:
        case "stack":
            return stack(paver.length_m, paver.width_m)
        case "running":
            return running(paver.length_m, paver.width_m, paving.offset)
        case "herringbone" | "herringbone 45":
            return herringbone(paver.length_m, paver.width_m)
        case "basket weave":
            return basket_weave(paver.length_m, paver.width_m)
    message = f"no bond is called {paving.bond!r}; there are {', '.join(BONDS)}"
    raise GeometryError(message)


class _Laid(NamedTuple):
    """One separate walk laid, and the bounds on any layout and on those turned like it."""

    laying: Laying
    most: int
    most_so_turned: int


def _lay(
    walk: Polygon,
    paver: Paver,
    paving: Paving,
    angles: Sequence[float],
    search: FreeSearch,
    bounds: bool,
) -> _Laid:
    length_m, width_m = paver.length_m, paver.width_m
    least_m, greatest_m = paving.joint_m
    most = upper_bound(walk, length_m, width_m, least_m) if bounds else 0
    match paving.bond:
        case "courses":
            laying = courses_along(walk, length_m, width_m, least_m, angles, greatest_m=greatest_m)
        case "free":
            laying = lay_free(
                walk,
                courses_along(walk, length_m, width_m, least_m, angles),
                time_limit_s=search.seconds,
                enough=most,
                progress=search.progress,
            )
        case _:
            turned = [angle + 45.0 * (paving.bond == "herringbone 45") for angle in angles]
            best = best_laying(walk, make_bond(paving, paver), least_m, turned)
            laying = open_joints(walk, best, greatest_m)
    so_turned = _most_so_turned(walk, paver, least_m, laying, most) if bounds else 0
    return _Laid(laying, most, so_turned)


def _course(site: Site, walk: Polygon, paver: Paver, paving: Paving) -> list[tuple[float, float]]:
    """Return the line of the longest course, for stepping stones where no centre line is given."""
    size_m, joint_m = (paver.length_m, paver.width_m), paving.joint_m[0]
    return longest_course(walk, size_m, joint_m, _directions(site, paving, walk))


def _step(
    walk: Polygon,
    paver: Paver,
    paving: Paving,
    line: Sequence[tuple[float, float]],
    bounds: bool,
) -> _Laid:
    """Lay stepping stones along a line; none where a walk has no course."""
    assert paving.stride_m is not None
    size_m, joint_m = (paver.length_m, paver.width_m), paving.joint_m[0]
    laying = step_along(walk, line, size_m, joint_m, paving.stride_m)
    most = upper_bound(walk, *size_m, joint_m) if bounds else 0
    return _Laid(
        laying, most, _most_so_turned(walk, paver, joint_m, laying, most) if bounds else 0
    )


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
        uses = [i for i, walk in enumerate(limited) if walk.paver == paver]
        layings = [(i, laying) for i in uses for laying in limited[i].layings]
        counts = [laying.count for _, laying in layings]
        given = shares(paver.limit, [laying.paved_area_m2 for _, laying in layings], counts)
        spreads = [
            (i, spread(limited[i].ground, laying, most))
            for (i, laying), most in zip(layings, given, strict=True)
        ]
        for i in uses:
            kept = tuple(laying for j, laying in spreads if j == i and laying.count)
            limited[i] = replace(limited[i], layings=kept)
    return tuple(limited)
