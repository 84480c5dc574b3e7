"""Names that stand on their own ground, or beside it with a leader (layer: outputs).

A name and its facts may be written on one line or several, in full size or smaller, level or
along an edge of the ground, anywhere it fits wholly inside. Public entry points:
`ground_label`, `around`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.lines import unit_vector
from bedplan.geometry.polygons import parts
from bedplan.outputs.label import Candidate, Label
from bedplan.outputs.labels import Floats
from bedplan.outputs.scene import Point
from bedplan.outputs.scene_dimensions import led
from bedplan.outputs.scene_lettering import (
    Line,
    block_size_mm,
    clean,
    rectangle,
    upright,
    wrap,
)
from bedplan.outputs.scene_palette import FIGURE, NAME, Style

Wording = tuple[tuple[Line, ...], float]
"""A way to write a label, and what it costs."""

SHRINK: Final = ((1.0, 0.0), (0.875, 5.0), (0.78, 11.0))
"""Smaller type where a name does not fit otherwise, and what it costs."""

_REACHES: Final = (6.0, 8.0, 11.0, 15.0, 20.0, 26.0, 33.0, 41.0, 50.0, 62.0, 76.0, 92.0, 110.0)

_BARE_MM: Final = 1.8
"""A name on its own ground keeps half of this from the edge [mm]."""

_PLACES: Final = 90
"""So many of the best places on its own ground are kept for a name, and as many of the rest."""


def around(lines: tuple[Line, ...], target: Point) -> tuple[Candidate, ...]:
    """Return places all round a point, each led back to it."""
    return tuple(
        led(lines, target, reach, angle) for reach in _REACHES for angle in range(0, 360, 15)
    )


def ground_label(subject: str, words: tuple[str, ...], ground: BaseGeometry, plate: str) -> Label:
    """Return a label of a name and facts that stands on its own ground or is led to it.

    Parameters
    ----------
    words
        The name, then each fact.
    ground
        Where it belongs [mm].
    plate
        Colour of the ground, painted under the words.
    """
    wordings = list(_wordings(clean(words[0]), words[1:]))
    rank = 3 if subject.startswith("bed ") else 5
    return Label(
        subject,
        _inside(ground, wordings, plate),
        rank,
        more=lambda: _led_all(wordings[:4], ground),
    )


def _led_all(wordings: Sequence[Wording], ground: BaseGeometry) -> tuple[Candidate, ...]:
    """Return places beside a shape, each led to a spot just inside its edge."""
    heart = _heart(ground)
    targets = {angle: _inside_edge(ground, heart, angle) for angle in range(0, 360, 15)}
    return tuple(
        replace(spot, cost=spot.cost + cost)
        for angle, target in targets.items()
        for lines, cost in wordings
        for reach in _REACHES
        for spot in (led(lines, target, reach, angle),)
    )


def _inside_edge(ground: BaseGeometry, heart: Point, angle_deg: float) -> Point:
    """Return where a ray from the heart of a shape comes near its edge."""
    x, y = unit_vector(angle_deg)
    ray = LineString([heart, (heart[0] + 1000.0 * x, heart[1] + 1000.0 * y)])
    reach = max(0.0, ray.intersection(ground.boundary).distance(ShapelyPoint(heart)) - 1.5)
    return heart[0] + reach * x, heart[1] + reach * y


def _heart(ground: BaseGeometry) -> Point:
    """Return the middle of the largest part, or its roomiest place where the middle is outside."""
    largest = parts(ground)[0]
    middle = largest.centroid
    heart = middle if largest.contains(middle) else shapely.maximum_inscribed_circle(largest)
    x, y = heart.coords[0]
    return x, y


def _wordings(name: str, facts: tuple[str, ...]) -> Iterator[Wording]:
    """Return ways to write a name and its facts, best first, with what each costs."""
    for factor, smaller in SHRINK:
        head, body = _scaled(NAME, factor), _scaled(FIGURE, factor)
        tail = tuple((fact, body) for fact in facts)
        yield ((name, head), *tail), smaller
        if facts:
            yield ((name, head), (" · ".join(facts), body)), smaller + 1.0
            yield ((" · ".join((name, *facts)), head),), smaller + 1.5
        for count in range(2, min(4, len(name.split())) + 1):
            yield (*((row, head) for row in _rows(name, head, count)), *tail), smaller + count


def _scaled(style: Style, factor: float) -> Style:
    return style.sized(round(style.size_pt * factor, 2))


def _rows(name: str, style: Style, count: int) -> list[str]:
    """Return a name on about so many lines of even length."""
    wide, _ = block_size_mm(((name, style),))
    for room in np.linspace(wide / count, wide, 12):
        rows = wrap(name, style, float(room))
        if len(rows) <= count:
            return rows
    return [name]


def _inside(
    ground: BaseGeometry, wordings: Sequence[Wording], plate: str
) -> tuple[Candidate, ...]:
    """Return the best places wholly inside a shape, whatever the wording and the angle."""
    places = _sample(ground)
    heart = np.asarray(_heart(ground))
    far = np.hypot(*(places - heart).T)
    shapely.prepare(ground)
    found: list[Candidate] = []
    for lines, cost in wordings:
        for angle, turned in _angles(ground):
            fits = shapely.covers(ground, _boxes(places, block_size_mm(lines), angle))
            found.extend(
                Candidate(
                    lines,
                    (float(x), float(y)),
                    angle,
                    cost + turned + 0.06 * float(away),
                    plate=plate,
                )
                for (x, y), away in zip(places[fits], far[fits], strict=True)
            )
    found.sort(key=lambda candidate: candidate.cost)
    return (*found[:_PLACES], *found[_PLACES :: max(1, (len(found) - _PLACES) // _PLACES)])


def _sample(ground: BaseGeometry) -> Floats:
    """Return ``(n, 2)`` places over a shape: the heart of every part and a grid over all."""
    hearts = [shapely.maximum_inscribed_circle(part).coords[0] for part in parts(ground)]
    left, bottom, right, top = ground.bounds
    step = max(1.5, math.sqrt((right - left) * (top - bottom) / 900.0))
    grid = [
        (x, y)
        for x in np.arange(left + step / 2, right, step)
        for y in np.arange(bottom + step / 2, top, step)
    ]
    inside = shapely.contains_xy(ground, grid) if grid else []
    return np.array([*hearts, *(place for place, yes in zip(grid, inside, strict=True) if yes)])


def _boxes(places: Floats, size: tuple[float, float], angle_deg: float) -> NDArray[np.object_]:
    """Return the rectangles that words of one size cover, centred on every place."""
    ring = rectangle((0.0, 0.0), size[0] + _BARE_MM, size[1] + _BARE_MM, angle_deg)
    corners = np.array(ring.exterior.coords[:4])
    boxes: NDArray[np.object_] = shapely.polygons(places[:, None, :] + corners[None, :, :])
    return boxes


def _angles(ground: BaseGeometry) -> Iterator[tuple[float, float]]:
    """Return level, then along the shape's longest edges, with what each costs."""
    yield 0.0, 0.0
    seen = [0.0]
    for angle in _edge_angles(ground)[:3]:
        if all(abs(upright(angle - other)) > 4.0 for other in seen):
            seen.append(angle)
            yield angle, 1.0 + abs(angle) / 30.0


def _edge_angles(ground: BaseGeometry) -> list[float]:
    coords = np.asarray(parts(ground)[0].simplify(0.3).exterior.coords)
    steps = np.diff(coords, axis=0)
    order = np.argsort(-np.hypot(*steps.T), kind="stable")
    return [upright(math.degrees(math.atan2(y, x))) for x, y in steps[order]]
