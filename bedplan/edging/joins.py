"""What the ends of pieces meet beyond their own bed: sides, gates and neighbours (layer: engines).

Ends at corners, splices and posts are named where they are cut. This fills in the rest, once all
beds are edged, and takes the notches out of the figures of the pieces.

Public entry point: `join_up`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import shapely
from shapely.geometry import Polygon

from bedplan.edging.model import BedEdging, End, Piece
from bedplan.geometry.lines import Point, through
from bedplan.geometry.polygons import minus, parts
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.site import Site

NEAR_M: Final = 3 * SNAP_M
"""An end meets what lies no farther from its outer corner [m]."""

Slot = tuple[int, int, int]
"""Bed, piece and end."""


def join_up(site: Site, edgings: Sequence[BedEdging]) -> tuple[BedEdging, ...]:
    """Return the edging of all beds with every end named that meets something."""
    open_ends = {
        (bed, number, which): _corners(piece, which)
        for bed, edging in enumerate(edgings)
        for number, piece in enumerate(edging.pieces)
        for which, end in enumerate(piece.ends)
        if end.joint in ("fence", "square", "stop") and not end.joins
    }
    names = _names(site, edgings, open_ends) if open_ends else {}
    named: list[BedEdging] = []
    for bed, edging in enumerate(edgings):
        pieces = tuple(
            _notched(_named(piece, [names.get((bed, number, which), "") for which in (0, 1)]))
            for number, piece in enumerate(edging.pieces)
        )
        named.append(replace(edging, pieces=pieces) if pieces else edging)
    return tuple(named)


def _corners(piece: Piece, which: int) -> tuple[Point, Point]:
    """Return the outer and the inner corner of an end."""
    ring = piece.outline.exterior.coords
    (outer_x, outer_y), (inner_x, inner_y) = ring[which][:2], ring[3 - which][:2]
    return (float(outer_x), float(outer_y)), (float(inner_x), float(inner_y))


def _names(
    site: Site, edgings: Sequence[BedEdging], ends: Mapping[Slot, tuple[Point, Point]]
) -> dict[Slot, str]:
    flat = [
        ((bed, number), piece)
        for bed, edging in enumerate(edgings)
        for number, piece in enumerate(edging.pieces)
    ]
    tree = shapely.STRtree([piece.outline for _, piece in flat])
    slots = list(ends)
    spots = shapely.multipoints([ends[slot] for slot in slots])
    found = tree.query(spots, predicate="dwithin", distance=NEAR_M).tolist()
    near: dict[Slot, list[tuple[float, str]]] = {slot: [] for slot in slots}
    for spot, index in zip(*found, strict=True):
        slot, (where, piece) = slots[spot], flat[index]
        own = edgings[slot[0]].pieces[slot[1]]
        if where != slot[:2] and piece.tier == own.tier:
            near[slot].append((piece.outline.distance(spots[spot]), piece.label))
    return {
        slot: _name(site, edgings[slot[0]].pieces[slot[1]].ends[slot[2]], ends[slot], near[slot])
        for slot in slots
    }


def _name(
    site: Site, end: End, corners: tuple[Point, Point], near: Sequence[tuple[float, str]]
) -> str:
    """Return what an end meets: a gate's opening, a board, or a side of the fence."""
    outer = corners[0]
    gates = (
        gate.gate.name
        for gate in site.gates
        if min(math.dist(outer, gate.start), math.dist(outer, gate.end)) <= NEAR_M
    )
    sides = [
        side.name
        for side in site.enclosure.sides
        if any(_on_side(at, side.start, side.end) for at in corners)
    ]
    boards = [label for _, label in sorted(near)]
    found = [*sides, *boards] if end.joint == "fence" else [*gates, *boards, *sides]
    return next(iter(found), "")


def _on_side(at: Point, start: Point, end: Point) -> bool:
    line = through(start, end)
    within = -NEAR_M <= line.station(at) <= math.dist(start, end) + NEAR_M
    return within and abs(line.left_of(at)) <= NEAR_M


def _named(piece: Piece, names: Sequence[str]) -> Piece:
    if not any(names):
        return piece
    first, second = (
        replace(end, joins=name) if name else end
        for end, name in zip(piece.ends, names, strict=True)
    )
    ends: tuple[End, End] = (first, second)
    return replace(piece, ends=ends)


def _notched(piece: Piece) -> Piece:
    """Return a piece with its notches taken out of its figure."""
    if not piece.notches:
        return piece
    left = parts(minus(piece.outline, *_notch_figures(piece)))
    return replace(piece, outline=left[0]) if left else piece


def _notch_figures(piece: Piece) -> list[Polygon]:
    outer_a, outer_b, _, inner_a = (
        (float(x), float(y)) for x, y in piece.outline.exterior.coords[:4]
    )
    line = through(outer_a, outer_b)
    thick_m = line.left_of(inner_a)
    first_m = min(0.0, line.station(inner_a))
    figures = []
    for notch in piece.notches:
        low, high = (
            (0.0, notch.depth_m) if notch.face == "outer" else (thick_m - notch.depth_m, thick_m)
        )
        stations = (first_m + notch.start_m, first_m + notch.end_m)
        ring = [
            line.shifted(left).point(at)
            for left, at in zip(
                (low, low, high, high), (*stations, *reversed(stations)), strict=True
            )
        ]
        figures.append(Polygon(ring))
    return figures
