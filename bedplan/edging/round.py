"""Edging that bends round a circle: one run of the arc's length (layer: engines).

Every end is a splice or the closing of the ring, and every one of these takes a connector. In
every second tier the ring is turned by half a piece, so that joints are staggered.

Public entry point: `cut_round`.
"""

from __future__ import annotations

import math

from shapely import affinity
from shapely.geometry import Polygon
from shapely.ops import substring

from bedplan.edging.model import End, Joint, Piece, Splice
from bedplan.edging.pieces import Place, letters
from bedplan.edging.splices import piece_count
from bedplan.geometry.lines import Point
from bedplan.geometry.polygons import minus, union
from bedplan.model.materials import Board
from bedplan.model.site import PlacedBed


def cut_round(
    bed: PlacedBed, board: Board, longest_m: float, place: Place
) -> tuple[list[Piece], list[Splice]]:
    """Return the pieces and joints of one tier round a circle.

    Parameters
    ----------
    bed
        A bed whose outline stands for a circle.
    board, longest_m
        A board that bends, and the longest piece of it [m].
    place
        Bed and tier.
    """
    around_m = 2.0 * math.pi * bed.curved_m
    count = piece_count(around_m, longest_m)
    labels = [place.label(1, letters(part) if count > 1 else "") for part in range(count)]
    pieces, splices = [], []
    for part, label in enumerate(labels):
        start_m = _start_m(part, count, around_m, place.tier)
        before, after = labels[part - 1], labels[(part + 1) % count]
        joint: Joint = "closed" if count == 1 else "splice"
        pieces.append(
            Piece(
                label,
                place.bed,
                1,
                board.name,
                around_m / count,
                around_m / count,
                (End(joint, 0.0, before), End(joint, 0.0, after)),
                _sector(bed, inner_face(bed, board), start_m / around_m, count),
                place.tier,
                start_m,
            )
        )
        if count > 1:
            at = _at(bed, start_m / around_m)
            splices.append(Splice(1, place.tier, start_m, at, (before, label), "connector"))
    return pieces, splices


def inner_face(bed: PlacedBed, board: Board) -> Polygon:
    """Return the inner face of the boards round a circle."""
    share = max(0.0, bed.curved_m - board.thickness_m) / bed.curved_m
    return affinity.scale(bed.outline, share, share, origin=bed.outline.centroid)


def _start_m(part: int, count: int, around_m: float, tier: int) -> float:
    """Return where a piece begins round the circle: half a piece later in every second tier."""
    late = 0.5 if tier % 2 == 0 else 0.0
    return (part + late) * around_m / count % around_m


def _at(bed: PlacedBed, share: float) -> Point:
    spot = bed.outline.exterior.interpolate(share, normalized=True)
    return (float(spot.x), float(spot.y))


def _sector(bed: PlacedBed, inner: Polygon, start: float, count: int) -> Polygon:
    """Return the part of a round board that begins at a share of the circle."""
    if count == 1:
        return minus(bed.outline, inner)
    end = start + 1.0 / count
    if end <= 1.0 + 1e-12:
        return _band(bed, inner, start, min(end, 1.0))
    return union([_band(bed, inner, start, 1.0), _band(bed, inner, 0.0, end - 1.0)])


def _band(bed: PlacedBed, inner: Polygon, start: float, end: float) -> Polygon:
    faces = [
        substring(ring.exterior, start, end, normalized=True) for ring in (bed.outline, inner)
    ]
    return Polygon([*faces[0].coords, *reversed(faces[1].coords)])
