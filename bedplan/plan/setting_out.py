"""Every stake, string and course of a plan, by the tape (layer: plan).

Corners of beds are called ``2.c1`` (bed and number), stakes as the edging calls them (``2.s3``),
the ends of a walk's first course ``w1.1`` and ``w1.2``. Public entry point: `set_out_plan`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import unit_vector
from bedplan.geometry.polygons import minus
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import Point
from bedplan.model.site import Side
from bedplan.model.ties import Tape
from bedplan.paving import Laying
from bedplan.plan.make import Plan
from bedplan.plan.walk import Walk
from bedplan.survey import Frame, Means, Stake, StringLine, frame, set_out, string_line

Array = npt.NDArray[np.float64]

LONG_M: Final = 2.0
"""Edges of beds from this length get a string, as do all first courses [m]: our choice."""

FRAMED: Final = 8
"""Beds of so many corners at most are proved by their sides and diagonals."""

SAME_COURSE_M: Final = 1e-3
"""Units whose centres are nearer than this across the courses stand in one course [m]."""


@dataclass(frozen=True)
class Group:
    """Stakes that belong together: what they mark, and how to find each."""

    what: str
    stakes: tuple[Stake, ...]


@dataclass(frozen=True)
class RoundBed:
    """A round bed: the stake at its centre, and the radius to swing [m]."""

    bed: str
    centre: str
    radius_m: float


@dataclass(frozen=True)
class CourseLines:
    """The courses of a walk.

    Parameters
    ----------
    walk
        Name of the path.
    start, end
        Stakes at the corners of the first and the last unit of the first course, on its line.
    direction_deg
        Which way courses run [deg].
    gauge_m
        How far each course's near edge is from that line, square to it, on the side of the
        units; the first is 0 [m].
    """

    walk: str
    start: str
    end: str
    direction_deg: float
    gauge_m: tuple[float, ...]


@dataclass(frozen=True)
class SetOut:
    """All that is to be found on the ground, and what there is to find it from.

    Parameters
    ----------
    marks
        Corners of the fence and taped marks [m].
    groups
        Stakes by what they mark.
    frames
        Beds by name with their sides and diagonals.
    strings
        Strings over long edges and first courses.
    rounds, courses
        Round beds and the courses of walks.
    """

    marks: Mapping[str, Point]
    groups: tuple[Group, ...]
    frames: tuple[tuple[str, Frame], ...]
    strings: tuple[StringLine, ...]
    rounds: tuple[RoundBed, ...]
    courses: tuple[CourseLines, ...]

    @property
    def stakes(self) -> tuple[Stake, ...]:
        """Every stake, group by group."""
        return tuple(stake for group in self.groups for stake in group.stakes)


def set_out_plan(plan: Plan) -> SetOut:
    """Return how to find every corner, stake and first course of a plan with a tape.

    Raises
    ------
    GeometryError
        If a point lies where no two marks give ties that cross.
    """
    marks = _marks(plan)
    sides = plan.site.enclosure.sides
    ties = plan.layout.enclosure.ties
    means = Means(
        plan.layout.show,
        open_ground=_open_ground(plan),
        tape=Tape() if ties is None else ties.tape,
    )
    rings, first_courses = _rings(plan, marks), list(_first_courses(plan))
    wanted = [
        *((f"corners of {bed}", _unmarked(ring, marks)) for bed, ring in rings),
        *_round_centres(plan),
        *_bed_stakes(plan),
        *_walk_points(plan, first_courses),
    ]
    return SetOut(
        marks,
        tuple(Group(what, set_out(points, marks, sides, means)) for what, points in wanted),
        tuple((bed, frame(ring, plan.layout.show)) for bed, ring in rings if len(ring) <= FRAMED),
        tuple(_strings(plan, rings, first_courses, sides)),
        tuple(_rounds(plan)),
        tuple(line for _, line, _ in first_courses),
    )


def _marks(plan: Plan) -> dict[str, Point]:
    """Return the corners of the fence, then marks the survey placed."""
    taped = {} if plan.survey is None else plan.survey.places
    return {**dict(plan.site.enclosure.corners), **taped}


def _open_ground(plan: Plan) -> BaseGeometry:
    """Return where a tape runs straight: inside the fence, clear of posts and stems."""
    corners = {name for name, _ in plan.site.enclosure.corners}
    posts = [post.outline for post in plan.site.posts if post.name not in corners]
    stems = [
        shapely.Point(plant.at).buffer(plant.plant.stem_m / 2)
        for plant in plan.site.plants
        if plant.plant.existing and plant.plant.stem_m > 0.0
    ]
    ground = plan.site.enclosure.polygon
    return minus(ground, *posts, *stems) if posts or stems else ground


Ring = list[tuple[str, Point]]


def _unmarked(ring: Ring, marks: Mapping[str, Point]) -> dict[str, Point]:
    """Return the corners of a bed that stand at no mark."""
    return {name: at for name, at in ring if name not in marks}


def _rings(plan: Plan, marks: Mapping[str, Point]) -> list[tuple[str, Ring]]:
    """Return the corners of every bed with straight edges, in order; a mark keeps its name."""
    found = []
    for number, bed in enumerate(plan.site.beds, start=1):
        if bed.curved_m > 0.0:
            continue
        outline = shapely.simplify(bed.outline, SNAP_M)
        ring = [(float(x), float(y)) for x, y in list(outline.exterior.coords)[:-1]]
        named = [
            (_mark_at(at, marks) or f"{number}.c{corner}", at)
            for corner, at in enumerate(ring, start=1)
        ]
        found.append((bed.spec.name, named))
    return found


def _mark_at(at: Point, marks: Mapping[str, Point]) -> str | None:
    return next((name for name, spot in marks.items() if math.dist(spot, at) <= SNAP_M), None)


def _round_centres(plan: Plan) -> Iterator[tuple[str, dict[str, Point]]]:
    for number, bed in enumerate(plan.site.beds, start=1):
        if bed.curved_m > 0.0:
            middle = bed.outline.centroid
            yield f"centre of {bed.spec.name}", {f"{number}.c": (middle.x, middle.y)}


def _rounds(plan: Plan) -> Iterator[RoundBed]:
    for number, bed in enumerate(plan.site.beds, start=1):
        if bed.curved_m > 0.0:
            yield RoundBed(bed.spec.name, f"{number}.c", bed.curved_m)


def _bed_stakes(plan: Plan) -> Iterator[tuple[str, dict[str, Point]]]:
    for edged in plan.edging:
        if edged.stakes:
            yield f"stakes of {edged.bed}", {stake.label: stake.at for stake in edged.stakes}


FirstCourse = tuple[str, CourseLines, tuple[Point, Point]]
"""A walk's name, its courses, and where its first course begins and ends [m]."""


def _first_courses(plan: Plan) -> Iterator[FirstCourse]:
    """Yield the first course of every walk that is laid in rows."""
    number = 0
    for walk in plan.walks:
        if _steps(walk):
            continue
        for laying in walk.layings:
            number += 1
            yield _first_course(walk.path.spec.name, f"w{number}", laying)


def _first_course(name: str, label: str, laying: Laying) -> FirstCourse:
    """Return a laying's course lines: the near edge of each course, the first as a line."""
    along, across = (np.array(unit_vector(laying.direction_deg + turn)) for turn in (0.0, 90.0))
    corners = [np.array(outline.exterior.coords)[:-1] for outline in laying.outlines()]
    level = np.array(laying.units)[:, :2] @ across
    least = level <= level.min() + SAME_COURSE_M
    first = np.vstack([ring for ring, chosen in zip(corners, least, strict=True) if chosen])
    edge = float((first @ across).min())
    on_edge = first[first @ across <= edge + SAME_COURSE_M] @ along
    ends = [along * station + across * edge for station in (on_edge.min(), on_edge.max())]
    if on_edge.max() - on_edge.min() <= SNAP_M:  # one unit, set on its corner
        ends[1] = ends[0] + along * laying.bond.faces[0][0]
    points = ((float(ends[0][0]), float(ends[0][1])), (float(ends[1][0]), float(ends[1][1])))
    lines = CourseLines(
        name,
        f"{label}.1",
        f"{label}.2",
        laying.direction_deg,
        tuple(near - edge for near in _near_edges(corners, level, across)),
    )
    return name, lines, points


def _near_edges(corners: Sequence[Array], level: Array, across: Array) -> Iterator[float]:
    """Yield the level of each course's near edge, in order across the courses."""
    order = np.argsort(level, kind="stable")
    before = -math.inf
    for unit in order:
        if level[unit] > before + SAME_COURSE_M:
            yield float((corners[unit] @ across).min())
        before = float(level[unit])


def _steps(walk: Walk) -> bool:
    paving = walk.path.spec.paving
    return paving is not None and paving.stride_m is not None


def _walk_points(
    plan: Plan, first_courses: Sequence[FirstCourse]
) -> Iterator[tuple[str, dict[str, Point]]]:
    for name, lines, ends in first_courses:
        yield f"first course of {name}", {lines.start: ends[0], lines.end: ends[1]}
    for number, walk in enumerate(plan.walks, start=1):
        if _steps(walk):
            stones = [unit for laying in walk.layings for unit in laying.units]
            points = {f"st{number}.{k}": unit[:2] for k, unit in enumerate(stones, start=1)}
            if points:
                yield f"middles of the stones of {walk.path.spec.name}", points


def _strings(
    plan: Plan,
    rings: Sequence[tuple[str, Ring]],
    first_courses: Sequence[FirstCourse],
    sides: Sequence[Side],
) -> Iterator[StringLine]:
    """Yield a string over every long edge of a bed off the fence, and over each first course."""
    show, fence = plan.layout.show, plan.site.enclosure.polygon.exterior.buffer(SNAP_M)
    for _, ring in rings:
        for (first, start), (second, end) in zip(ring, [*ring[1:], ring[0]], strict=True):
            edge = LineString([start, end])
            if edge.length >= LONG_M and not fence.covers(edge):
                yield string_line(f"{first} to {second}", start, end, sides, show)
    for _, lines, (start, end) in first_courses:
        yield string_line(f"{lines.start} to {lines.end}", start, end, sides, show)
