"""Which of the figures that meet the ties is the fence (layer: survey engine).

Ties alone never tell a figure from one with some marks mirrored. The order of the corners round
the fence, the side on which the ground lies, and redundant ties do; where they do not, that is
told with the tie that would.

Public entry point: `best_figures`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from bedplan.errors import LayoutError
from bedplan.geometry.lines import interior_angle_deg
from bedplan.geometry.tolerance import AREA_M2
from bedplan.model.ties import TiedRing
from bedplan.survey.adjust import settle
from bedplan.survey.faults import CORNERS, TIES
from bedplan.survey.network import Array, Network
from bedplan.survey.reliability import ODDS, chi2_limit, reliability
from bedplan.survey.starts import drawn, struck

SAME_M = 1e-4
"""Figures whose marks all lie nearer than this are one figure [m]."""

SETTLES_M = 0.1
"""A tie that differs so much between figures tells them apart on any tape [m]."""

Pair = tuple[int, int, float, float]

DRAWN = 200
"""Rings drawn at random where arcs give no start or no good fit."""


@dataclass(frozen=True)
class Figure:
    """Places that meet the ties best nearby, how far they miss, and what ring they make.

    `squares` is the sum of squared misfits, `score` what figures are ranked by: the same, but
    without the worst tie where no figure meets all of them.
    """

    places: Array
    squares: float
    score: float
    ring: Polygon
    inward: frozenset[str]
    suits: bool

    @property
    def is_ring(self) -> bool:
        """Whether the corners in order make a fence line that meets itself nowhere."""
        return bool(self.ring.is_valid) and self.ring.area > AREA_M2


def best_figures(network: Network, ring: TiedRing) -> list[Figure]:
    """Return the fence, then every other one that the ties allow nearly as well.

    Raises
    ------
    LayoutError
        If no start arrived, if every figure crosses itself, or if none is as `ring` says.
    """
    found = _search(network, ring, struck(network))
    limit = chi2_limit(network.redundancy)
    if not any(figure.suits and figure.score <= limit + ODDS for figure in found):
        found = _distinct([*found, *_search(network, ring, drawn(network, DRAWN))])
    if not found:
        raise LayoutError.of(
            TIES,
            "no figure could be computed from these ties",
            "ties that hold every corner firmly",
            "tape more diagonals",
        )
    suited = [figure for figure in found if figure.suits]
    good = limit + ODDS
    fits, suits = (any(each.squares <= good for each in group) for group in (found, suited))
    if not suited or (fits and not suits):
        raise _no_ring(network, ring, found)
    least = min(figure.score for figure in suited)
    near = [figure for figure in suited if figure.score < least + ODDS]
    return sorted(near, key=lambda figure: (len(figure.inward), figure.score, -figure.ring.area))


def _search(network: Network, ring: TiedRing, starts: Array) -> list[Figure]:
    if not len(starts):
        return []
    places, arrived = settle(network, starts)
    figures = [
        _figure(network, ring, _turned(network, ring, at)) for at in _apart(places[arrived])
    ]
    return _distinct(_less_worst(network, figures))


def _apart(figures: Array) -> list[Array]:
    """Return figures that differ before mirror images are brought together."""
    kept = {tuple(np.round(figure / (10 * SAME_M)).ravel().tolist()): figure for figure in figures}
    return list(kept.values())


def _turned(network: Network, ring: TiedRing, places: Array) -> Array:
    """Return the figure or its mirror image, whichever runs the way it should, if it is free."""
    x, y = places[: network.corner_count].T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    if network.is_free and area * (1 if ring.shape.turn == "ccw" else -1) < 0.0:
        return network.to_datum(places * np.array((1.0, -1.0)))
    # going downhill the second corner may have passed through the first: turn it ahead again
    return network.to_datum(places)


def _figure(network: Network, ring: TiedRing, places: Array) -> Figure:
    corners = [(float(x), float(y)) for x, y in places[: network.corner_count]]
    outline = Polygon(corners)
    ccw = bool(outline.exterior.is_ccw)
    inward = frozenset(
        name
        for name, angle in zip(ring.corners, interior_angles(corners), strict=True)
        if angle > 180.0
    )
    squares = float(np.sum(network.misfit(places) ** 2))
    figure = Figure(places, squares, squares, outline, inward, suits=False)
    suits = (
        figure.is_ring
        and ccw == (ring.shape.turn == "ccw")
        and ring.shape.inward in (None, inward)
        and all(_stands(network, figure, name, ring.others[name]) for name in ring.others)
    )
    return replace(figure, suits=bool(suits))


def interior_angles(corners: Sequence[tuple[float, float]]) -> list[float]:
    """Return the angle inside a ring at each corner, whichever way it runs [deg]."""
    after = [*corners[1:], corners[0]]
    angles = [
        interior_angle_deg(*triple)
        for triple in zip([corners[-1], *corners[:-1]], corners, after, strict=True)
    ]
    doubled = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(corners, after, strict=True))
    return angles if doubled >= 0.0 else [360.0 - angle for angle in angles]


def _stands(network: Network, figure: Figure, name: str, where: str) -> bool:
    """Tell whether a mark stands on its side of the fence; in the fence line it is on both."""
    if where == "anywhere":
        return True
    spot = Spot(figure.places[network.number[name]])
    near = figure.ring.exterior.distance(spot) <= 3.0 * float(network.sigma_m.max())
    return bool(near or figure.ring.contains(spot) == (where == "inside"))


def _less_worst(network: Network, figures: list[Figure]) -> list[Figure]:
    """Return the figures scored without their worst tie, where none meets all ties.

    One wrong tie must not make a wrong figure look better than the right one.
    """
    good = [figure.score for figure in figures if figure.suits]
    if network.redundancy < 2 or (good and min(good) <= chi2_limit(network.redundancy)):
        return figures
    scored = []
    for figure in figures:
        worst = np.abs(reliability(network, figure.places).standardised).max()
        score = max(figure.score - float(worst) ** 2, 0.0)
        scored.append(replace(figure, score=score))
    return scored


def _distinct(figures: list[Figure]) -> list[Figure]:
    kept: list[Figure] = []
    for figure in sorted(figures, key=lambda each: each.score):
        if all(np.abs(figure.places - other.places).max() > SAME_M for other in kept):
            kept.append(figure)
    return kept


def _no_ring(network: Network, ring: TiedRing, found: list[Figure]) -> LayoutError:
    """Return what stands against every figure, told by the one that fits best."""
    best = min(found, key=lambda figure: figure.squares)
    rings = [each for each in found if each.is_ring and each.squares < best.squares + ODDS]
    if not rings:
        return LayoutError.of(
            CORNERS,
            f"the ties put side {_crossed(network, best)}",
            "corners in order round a fence line that meets itself nowhere",
            "list the corners in order round the fence, and tape the ties again",
        )
    other = rings[0]
    if other.ring.exterior.is_ccw != (ring.shape.turn == "ccw"):
        return LayoutError.of(
            CORNERS,
            f"the known marks make {', '.join(ring.corners)} run the other way round",
            f"corners that run {ring.shape.turn}",
            "turn the order round, or correct the known places",
        )
    told = ", ".join(sorted(other.inward)) or "no corner"
    return LayoutError.of(
        CORNERS,
        f"the ties make {told} point inward, or put a mark on the other side of the fence",
        "a figure as the file describes it",
        "correct what the file says of inward corners and of marks inside or outside",
    )


def _crossed(network: Network, figure: Figure) -> str:
    """Return the first two sides that cross, in words."""
    corners, names = figure.places[: network.corner_count], network.names
    count = network.corner_count
    sides = [(i, (i + 1) % count) for i in range(count)]
    for (a, b), (c, d) in combinations(sides, 2):
        if len({a, b, c, d}) == 4 and _sides_cross(*corners[[a, b, c, d]]):
            return f"{names[a]}{names[b]} across side {names[c]}{names[d]}"
    return f"{names[0]}{names[1]} and the others in one line"


def _sides_cross(a: Array, b: Array, c: Array, d: Array) -> bool:
    def turn(p: Array, q: Array, r: Array) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return turn(a, b, c) * turn(a, b, d) <= 0.0 and turn(c, d, a) * turn(c, d, b) <= 0.0


def settling_pairs(network: Network, chosen: Array, rivals: Sequence[Array]) -> list[Pair]:
    """Return, for each rival, the pair of marks whose distance tells it from the chosen figure.

    One pair for all of them wherever one parts them all by `SETTLES_M`.

    Returns
    -------
    pairs
        Numbers of two marks, and how far apart they stand in either figure [m].
    """
    pairs = np.array(list(combinations(range(len(network.names)), 2)))

    def lengths(places: Array) -> Array:
        gap = places[pairs[:, 1]] - places[pairs[:, 0]]
        return np.asarray(np.hypot(gap[:, 0], gap[:, 1]))

    here = lengths(chosen)
    there = [lengths(places) for places in rivals]
    apart = [np.abs(each - here) for each in there]
    shared = np.min(apart, axis=0) if apart else here
    found = []
    for each, gap in zip(there, apart, strict=True):
        best = int(np.argmax(shared if shared.max() >= SETTLES_M else gap))
        first, second = pairs[best].tolist()
        found.append((first, second, float(here[best]), float(each[best])))
    return found
