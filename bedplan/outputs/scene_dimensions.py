"""Dimension lines: along the fence outside, across beds and walks inside (layer: outputs).

Terms. A *witness line* leads from the thing measured to the *dimension line*, which runs
parallel to it between two slanting *ticks*; the length stands above the line as a tape reads
it. Along a side with gates runs a *chain* (corner, jamb, jamb, corner) nearest the fence and
the whole side beyond it. Public entry points: `side_measures`, `inner_dimension`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import direction_deg, unit_vector
from bedplan.model.layout import System
from bedplan.model.site import Side, Site
from bedplan.outputs.label import Candidate, Label
from bedplan.outputs.scene import Mark, Point, Strokes
from bedplan.outputs.scene_fence import fence_depth_mm
from bedplan.outputs.scene_lettering import Line, block_size_mm, rectangle, upright
from bedplan.outputs.scene_palette import (
    DIMENSION,
    DIMENSION_TEXT,
    HAIR,
    INNER_DIMENSION,
    TICK,
    WHITE,
)
from bedplan.outputs.sheet import Frame
from bedplan.units import format_length

FIRST_TIER_MM = 6.0
"""From the back of the fence to the first dimension line [mm]."""

NAME_MM = 3.0
"""More where gates need their names between fence and chain [mm]."""

TIER_MM = 5.5
"""From one dimension line to the next [mm]."""

BEYOND_MM = 5.0
"""Room kept outside the last dimension line for its figures [mm]."""

TICK_MM = 1.8
GAP_MM = 0.7


@dataclass(frozen=True)
class Measure:
    """One dimension: what is measured, where its line runs, and what it says.

    Parameters
    ----------
    start, end
        Ends of what is measured [mm].
    outward
        Unit vector from it towards the dimension line.
    witness_mm, line_mm
        From the thing measured to the start of the witness lines, and to the line [mm].
    """

    subject: str
    start: Point
    end: Point
    outward: Point
    witness_mm: float
    line_mm: float
    text: str

    def at(self, station: float, out_mm: float) -> Point:
        """Return the point at a part of the length and a distance outwards [mm]."""
        (x, y), (u, v) = self.start, self.outward
        return (
            x + station * (self.end[0] - x) + out_mm * u,
            y + station * (self.end[1] - y) + out_mm * v,
        )

    @property
    def line(self) -> tuple[Point, Point]:
        """The dimension line itself."""
        return self.at(0.0, self.line_mm), self.at(1.0, self.line_mm)


def side_measures(site: Site, frame: Frame, show: System) -> list[Measure]:
    """Return the dimensions outside the fence, side by side in file order."""
    depth = fence_depth_mm(site, frame.mm_per_m)
    return [
        measure
        for side in site.enclosure.sides
        for measure in _of_side(site, side, frame, depth, show)
    ]


def _of_side(
    site: Site, side: Side, frame: Frame, depth_mm: float, show: System
) -> Iterator[Measure]:
    stations = _jambs(site, side)
    tier = depth_mm + FIRST_TIER_MM
    if stations:
        tier += NAME_MM
        places = [0.0, *stations, side.length_m]
        for near, far in pairwise(places):
            if far - near > 1e-4:
                yield _measure(
                    side, (near, far), frame, (depth_mm, tier), format_length(far - near, show)
                )
        tier += TIER_MM
    words = f"{side.name}  {format_length(side.length_m, show)}"
    yield _measure(side, (0.0, side.length_m), frame, (depth_mm, tier), words)


def _jambs(site: Site, side: Side) -> list[float]:
    """Return the stations of the gates' jambs along a side, in order [m]."""
    here = (side, side.reversed())
    stations = [
        side.line.station(point)
        for gate in site.gates
        if site.enclosure.side(gate.gate.side) in here
        for point in (gate.start, gate.end)
    ]
    return sorted(stations)


def _measure(
    side: Side, span_m: tuple[float, float], frame: Frame, away: tuple[float, float], words: str
) -> Measure:
    ends = [frame.point(side.point(station)) for station in span_m]
    inside, outside = side.point(0.0), side.point(0.0, -1.0)
    outward = (outside[0] - inside[0], outside[1] - inside[1])
    return Measure(side.name, ends[0], ends[1], outward, away[0] + 1.2, away[1], words)


def outer_extent(site: Site, mm_per_m: float, show: System) -> list[Point]:
    """Return points round all that stands outside the fence, for a frame at the origin [mm]."""
    frame = Frame(mm_per_m)
    measures = side_measures(site, frame, show)
    figures = [
        measure.at(station, measure.line_mm + BEYOND_MM)
        for measure in measures
        for station in (0.0, 1.0)
    ]
    swings = [
        frame.point(point)
        for gate in site.gates
        for swing in gate.swings
        for point in swing.exterior.coords
    ]
    around = [
        (x + dx, y + dy)
        for _, corner in site.enclosure.corners
        for x, y in (frame.point(corner),)
        for dx in (-9.0, 9.0)
        for dy in (-9.0, 9.0)
    ]
    return figures + swings + around


def measure_marks(measure: Measure) -> list[Mark]:
    """Return the witness lines, the line and the ticks of a dimension."""
    reach = measure.line_mm + 1.2
    witness = tuple(
        (measure.at(end, measure.witness_mm), measure.at(end, reach)) for end in (0.0, 1.0)
    )
    line = measure.line
    return [
        Strokes("dimensions", (*witness, line), DIMENSION),
        Strokes("dimensions", ticks(line), TICK),
    ]


def ticks(line: tuple[Point, Point]) -> tuple[tuple[Point, Point], ...]:
    """Return the two slanting strokes at the ends of a dimension line."""
    x, y = unit_vector(direction_deg(*line) + 45.0)
    half = TICK_MM / 2
    return tuple(
        ((px - half * x, py - half * y), (px + half * x, py + half * y)) for px, py in line
    )


def measure_label(measure: Measure, rank: int) -> Label:
    """Return the label of a dimension: on its line, or past its ends where it is too short."""
    lines: tuple[Line, ...] = ((measure.text, DIMENSION_TEXT),)
    spots = tuple(
        Candidate(lines, center, angle, cost)
        for center, angle, cost in _on_line(measure.line, lines, beyond=True)
    )
    return Label(measure.subject, spots, rank, more=lambda: _off_line(measure.line, lines))


def _on_line(
    line: tuple[Point, Point], lines: tuple[Line, ...], beyond: bool
) -> Iterator[tuple[Point, float, float]]:
    """Return centre, angle and cost of the places along a line, middle and above first.

    With `beyond`, figures that a short line has no room for may stand past its ends or one
    row further off.
    """
    wide, tall = block_size_mm(lines)
    length = math.dist(*line)
    if length < 1e-9:
        return
    angle = upright(direction_deg(*line))
    off = GAP_MM + tall / 2
    up = unit_vector(angle + 90.0)
    shifts = [share * (length - wide) for share in (0.0, 0.15, -0.15, 0.3, -0.3, 0.45, -0.45)]
    rises = [(off, 0.0), (-off, 1.5)]
    if length < wide + 1.0:
        past = (length + wide) / 2 + TICK_MM
        shifts = [0.0] if length > 0.7 * wide else []
        shifts += [past, -past] if beyond else []
        rises += [(off + tall, 4.0), (-off - tall, 5.0)] if beyond else []
    for shift in shifts:
        along = 0.5 + shift / length
        x = line[0][0] + along * (line[1][0] - line[0][0])
        y = line[0][1] + along * (line[1][1] - line[0][1])
        for rise, extra in rises:
            yield (x + rise * up[0], y + rise * up[1]), angle, extra + abs(shift) * 0.15


def _off_line(line: tuple[Point, Point], lines: tuple[Line, ...]) -> tuple[Candidate, ...]:
    """Return places well off the line, each led back to its middle."""
    middle = ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2)
    return tuple(
        led(lines, middle, reach, angle)
        for reach in (7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0)
        for angle in range(0, 360, 15)
    )


def led(lines: tuple[Line, ...], target: Point, reach_mm: float, angle_deg: float) -> Candidate:
    """Return a level block some way off its subject with a leader back to it.

    Parameters
    ----------
    target
        Where the leader ends [mm].
    reach_mm, angle_deg
        From the target to the middle of the block [mm, deg].
    """
    x, y = unit_vector(angle_deg)
    center = (target[0] + reach_mm * x, target[1] + reach_mm * y)
    wide, tall = block_size_mm(lines)
    inside = min((wide / 2 + 0.4) / max(abs(x), 1e-9), (tall / 2 + 0.2) / max(abs(y), 1e-9))
    bare = reach_mm - inside
    leader = (target, (target[0] + bare * x, target[1] + bare * y)) if bare > 1.0 else ()
    return Candidate(lines, center, 0.0, 12.0 + 0.4 * reach_mm, leader, plate=WHITE)


def inner_dimension(
    subject: str,
    words: str,
    spans: Sequence[tuple[Point, Point]],
    ground: BaseGeometry,
    plate: str | None,
    rank: int,
) -> Label:
    """Return an optional dimension inside a bed or across a walk.

    Parameters
    ----------
    words
        The length.
    spans
        Places its line may run, best first [mm].
    ground
        What its figures must stay on [mm].
    plate
        Colour to clear under the figures.
    """
    lines: tuple[Line, ...] = ((words, INNER_DIMENSION),)
    candidates = tuple(
        Candidate(
            lines, center, angle, 1.5 * number + cost, strokes=_span_marks(span), plate=plate
        )
        for number, span in enumerate(spans)
        for center, angle, cost in _on_line(span, lines, beyond=False)
        if ground.covers(_words_box(lines, center, angle))
    )
    return Label(subject, candidates, rank, needed=False)


def _words_box(lines: tuple[Line, ...], center: Point, angle_deg: float) -> Polygon:
    return rectangle(center, *block_size_mm(lines), angle_deg)


def _span_marks(span: tuple[Point, Point]) -> tuple[Strokes, ...]:
    return (Strokes("dimensions", (span,), HAIR), Strokes("dimensions", ticks(span), TICK))
