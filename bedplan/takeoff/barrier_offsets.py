"""Which way strips may run and where their row may start so as to buy the least (layer: takeoff).

Terms: see `barrier_strips`. Entry points: `edge_directions`, `critical_offsets`: finitely many
offsets, with the proof that the best is among them. First principles.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import GRID_M, SNAP_M
from bedplan.takeoff.barrier_strips import Flags, Floats, Ints, Outline

MOST_DIRECTIONS = 8
"""Directions tried when none are given: the four longest of the outline and their squares."""

SAME_DIRECTION_DEG = 1e-3
"""Edges nearer in direction than this lie along one direction [deg]."""


def edge_directions(area: BaseGeometry) -> tuple[float, ...]:
    """Return the ways worth running strips: along the outline's longest directions and square.

    Returns
    -------
    directions_deg
        Distinct angles [deg], 0 ≤ angle < 180, the direction with the most edge first; each is
        followed by the one square to it. At most `MOST_DIRECTIONS`.
    """
    points, ring = shapely.get_coordinates(
        shapely.get_rings(shapely.get_parts(area)), return_index=True
    )
    step = np.diff(points, axis=0)[ring[1:] == ring[:-1]]
    length = np.hypot(step[:, 0], step[:, 1])
    angle = np.degrees(np.arctan2(step[:, 1], step[:, 0])) % 180.0
    chosen: list[float] = []
    for value in _directions_by_length(angle[length > SNAP_M], length[length > SNAP_M]):
        for way in (undirected_deg(value), undirected_deg(value + 90.0)):
            if all(_turn_deg(way, other) > SAME_DIRECTION_DEG for other in chosen):
                chosen.append(way)
        if len(chosen) >= MOST_DIRECTIONS:
            break
    return tuple(chosen)


def _directions_by_length(angle: Floats, length: Floats) -> list[float]:
    """Return the distinct directions of edges, most edge first, each as its longest edge lies."""
    order = np.argsort(angle)
    angle, length = angle[order], length[order]
    group = np.cumsum(np.append(False, np.diff(angle) > SAME_DIRECTION_DEG)[: len(angle)])
    if len(angle) and _turn_deg(angle[0], angle[-1]) <= SAME_DIRECTION_DEG:
        group[group == group[-1]] = 0
    total = np.bincount(group, length)
    longest = {int(group[i]): float(angle[i]) for i in np.argsort(length, kind="stable")}
    return [longest[i] for i in np.argsort(-total, kind="stable") if i in longest]


def undirected_deg(angle_deg: float) -> float:
    """Return the angle of a line without a sense, 0 ≤ angle < 180 [deg].

    Examples
    --------
    >>> undirected_deg(200.0), undirected_deg(-1e-17)
    (20.0, 0.0)
    """
    angle = angle_deg % 180.0
    return angle if angle < 180.0 else 0.0  # -1e-17 % 180.0 is 180.0


def _turn_deg(a: float, b: float) -> float:
    """Return the angle between two lines, 0 ≤ angle ≤ 90 [deg]."""
    return abs((a - b + 90.0) % 180.0 - 90.0)


def critical_offsets(
    outline: Outline, width_m: float, lap_m: float, most: int
) -> tuple[Floats, bool]:
    """Return the offsets among which the least total length stands, ascending.

    An offset is where the first band starts above ``v.min() - width`` [m], below the pitch.

    Parameters
    ----------
    most
        Most offsets to return; beyond it those are kept where the longest edges lie along a
        strip's edge.

    Returns
    -------
    offsets, complete
        ``(m,)`` offsets [m], and whether they are all there are: then the least is exact, if at
        most one sliver fits in a lap and both rules for it are tried.

    Notes
    -----
    While no edge of a strip passes a corner of the area, the parts under a band stay the same
    ones, and each end of a part is the farthest of: a fixed corner, the boundary where the
    band's lower edge crosses it, the boundary where its upper edge does; all linear in the
    offset. Cut the range again wherever two such *like* ends (two starts, or two ends) change
    places. In between, with parts in order and ``e`` the farthest end so far, a band's length is
    ``Σ end − max(start, e)``: a sum of linear and of concave terms. Hence the total is concave
    in each range and least at one of its ends. At the end itself a strip only touches what it
    covered on one side of it, so the value there is never above the limits from either side.
    """
    pitch, base = width_m - lap_m, outline.v.min() - width_m
    places = np.concatenate((outline.v, outline.v - width_m))
    along = np.tile(_edge_along(outline), 2)
    complete = len(outline.v) * 2 <= most
    if complete:
        swaps = _swaps(outline, width_m)
        complete = len(places) + len(swaps) <= most
        places = np.concatenate((places, swaps))
        along = np.append(along, np.zeros(len(swaps)))
    folded = (places - base) % pitch
    folded[folded > pitch - GRID_M] = 0.0
    order = np.argsort(folded)
    fresh = np.append(True, np.diff(folded[order]) > GRID_M)
    weight = np.bincount(np.cumsum(fresh) - 1, along[order])
    offsets = folded[order][fresh]
    if len(offsets) <= most:
        return offsets, complete
    return np.sort(offsets[np.argsort(-weight, kind="stable")[:most]]), False


def _edge_along(outline: Outline) -> Floats:
    """Return at each corner how much edge from it runs along the strips [m]."""
    du = np.abs(outline.u[outline.after] - outline.u)
    dv = np.abs(outline.v[outline.after] - outline.v)
    return np.where(dv <= 1e-6 * du, du, 0.0)


def _swaps(outline: Outline, width_m: float) -> Floats:
    """Return the band positions where two like ends of parts change places [m].

    The ends are of three kinds: on the band's lower edge, on its upper edge, or at a corner that
    sticks out along the strip.
    """
    rises, ahead, behind = outline.rises, outline.after, outline.before
    u, v = outline.u, outline.v
    turn = ((u - u[behind]) * (v[ahead] - v) - (v - v[behind]) * (u[ahead] - u)) > 0.0
    ends = turn & (u >= u[behind]) & (u >= u[ahead])
    starts = turn & (u <= u[behind]) & (u <= u[ahead])
    falls = v[ahead] < v
    found = [
        _swaps_of(outline, np.flatnonzero(edge), np.flatnonzero(corner), width_m)
        for edge, corner in ((rises, ends), (falls, starts))
    ]
    return np.concatenate(found)


def _swaps_of(outline: Outline, edge: Ints, corner: Ints, width_m: float) -> Floats:
    """Return the band positions where ends of one kind, starts or ends, change places [m]."""
    edge = edge[np.abs(outline.v[outline.after[edge]] - outline.v[edge]) > GRID_M]
    a, b = outline.v[edge], outline.v[outline.after[edge]]
    low, high = np.minimum(a, b), np.maximum(a, b)
    slope = (outline.u[outline.after[edge]] - outline.u[edge]) / (b - a)
    at_zero = outline.u[edge] - slope * a
    with np.errstate(divide="ignore", invalid="ignore"):
        cross = ((at_zero + slope * width_m)[None, :] - at_zero[:, None]) / (
            slope[:, None] - slope[None, :]
        )
        level = (outline.u[corner][None, :] - at_zero[:, None]) / slope[:, None]
    both = _between(cross, low[:, None], high[:, None]) & _between(
        cross + width_m, low[None, :], high[None, :]
    )
    on_edge = _between(level, low[:, None], high[:, None])
    reach = outline.v[corner][None, :] - level
    lower = on_edge & _between(reach, 0.0, width_m)
    upper = on_edge & _between(-reach, 0.0, width_m)
    return np.concatenate((cross[both], level[lower], level[upper] - width_m))


def _between(value: Floats, low: Floats | float, high: Floats | float) -> Flags:
    return np.asarray((value > low) & (value < high))
