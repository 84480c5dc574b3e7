"""Edging of every bed: runs cut into pieces (layer: engines).

Public entry point: `edge_beds`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from string import ascii_lowercase

from shapely import affinity
from shapely.geometry import Polygon
from shapely.ops import substring

from bedplan.edging.joints import Cut, face_ends, joint_cuts, open_cut, square_cut
from bedplan.edging.model import BedEdging, End, Joint, Piece, Run
from bedplan.edging.runs import SHORTEST_RUN_M, Edge, Served, Span, edges_of
from bedplan.errors import Fault, LayoutError, StockError
from bedplan.geometry.lines import Line, Point, saw_setting_deg
from bedplan.geometry.polygons import EMPTY, minus, touching
from bedplan.geometry.tolerance import AREA_M2, SNAP_M
from bedplan.model.materials import Board
from bedplan.model.site import PlacedBed, Site
from bedplan.units import nanometres, tell_length


def edge_beds(site: Site, boards: Mapping[str, Board]) -> tuple[BedEdging, ...]:
    """Return the edging of every bed, in the order of the site.

    Parameters
    ----------
    site
        Beds in place.
    boards
        Kinds of board, by name.

    Raises
    ------
    StockError
        If a bed is edged with a board that comes in no length at all.
    LayoutError
        With every bed that has no room for its boards.
    """
    fence = Served([site.enclosure.polygon])
    near = touching([bed.outline for bed in site.beds], SNAP_M)
    done, faults = [], []
    for number, bed in enumerate(site.beds, start=1):
        if bed.spec.edging is None:
            done.append(BedEdging(bed.spec.name, None, (), (), (), bed.outline))
            continue
        board = boards[bed.spec.edging]
        if _longest_m(board) <= 0.0:
            message = f"board {board.name!r} has no length on sale and none on hand"
            raise StockError(message)
        if bed.curved_m and board.bends:
            made = _edge_round(bed, board, number)
        else:
            earlier = Served(
                [
                    site.beds[i].outline
                    for i in near[number - 1]
                    if i < number - 1 and site.beds[i].spec.edging
                ]
            )
            made = _edge_straight(
                bed, board, number, [earlier] if bed.spec.against_fence else [fence, earlier]
            )
        done.append(made)
        if not _fills(bed, made):
            faults.append(_no_room(bed, board, number))
    if faults:
        raise LayoutError(faults)
    return tuple(done)


def _fills(bed: PlacedBed, made: BedEdging) -> bool:
    """Tell whether boards and planting fill the bed: they do not where boards overlap."""
    boards_m2 = math.fsum(piece.outline.area for piece in made.pieces)
    apart_m2 = abs(bed.outline.area - boards_m2 - made.planting.area)
    return bool(made.planting.area > AREA_M2 and apart_m2 <= SNAP_M * bed.outline.length)


def _no_room(bed: PlacedBed, board: Board, number: int) -> Fault:
    return Fault(
        ("bed", number - 1),
        f"bed {bed.spec.name!r} is too small somewhere for boards "
        f"{tell_length(board.thickness_m)} thick",
        "room for its boards and for ground between them",
        "make it wider there, or take thinner boards or no edging",
    )


def _longest_m(board: Board) -> float:
    """Return the longest piece that every run can be given: a longer leftover is but one."""
    on_hand = max(board.on_hand_m, default=0.0) - 2 * board.end_trim_m
    return board.longest_m or on_hand


def _edge_straight(
    bed: PlacedBed, board: Board, number: int, served: Sequence[Served]
) -> BedEdging:
    runs: list[Run] = []
    pieces: list[Piece] = []
    splices: list[Point] = []
    for ring in edges_of(bed.outline, served, max(SHORTEST_RUN_M, board.thickness_m)):
        for edge, span, start, end in _cut_runs(ring, board):
            run = Run(
                len(runs) + 1,
                edge.line.point(span[0]),
                edge.line.point(span[1]),
                span[1] - span[0],
            )
            runs.append(run)
            made, at = _pieces(edge, (start, end), board, (bed.spec.name, number, run.number))
            pieces += made
            splices += at
    sound = all(piece.outline.is_valid for piece in pieces)
    planting = minus(bed.outline, *(piece.outline for piece in pieces)) if sound else EMPTY
    return BedEdging(
        bed.spec.name, board.name, tuple(runs), tuple(pieces), tuple(splices), planting
    )


def _cut_runs(ring: Sequence[Edge], board: Board) -> Iterator[tuple[Edge, Span, Cut, Cut]]:
    """Yield every run of a ring with the cuts at its two ends."""
    for index, edge in enumerate(ring):
        before, after = ring[index - 1], ring[(index + 1) % len(ring)]
        for span in edge.spans:
            start = (
                joint_cuts(before, edge, board)[1]
                if span[0] == 0.0
                else open_cut(edge, span[0], before, board)
            )
            end = (
                joint_cuts(edge, after, board)[0]
                if span[1] == edge.length_m
                else open_cut(edge, span[1], after, board)
            )
            whole = span == (0.0, edge.length_m)
            if whole or _shortest_face_m(edge, start, end, board) > SHORTEST_RUN_M:
                yield edge, span, start, end


def _shortest_face_m(edge: Edge, start: Cut, end: Cut, board: Board) -> float:
    ends = [
        face_ends(face, start[1], end[1])
        for face in (edge.line, edge.line.shifted(board.thickness_m))
    ]
    return min(last - first for first, last in ends)


def _pieces(
    edge: Edge, cuts: tuple[Cut, Cut], board: Board, place: tuple[str, int, int]
) -> tuple[list[Piece], list[Point]]:
    """Cut one run into as few equal pieces as the stock allows."""
    outer, inner = edge.line, edge.line.shifted(board.thickness_m)
    faces = (*face_ends(outer, cuts[0][1], cuts[1][1]), *face_ends(inner, cuts[0][1], cuts[1][1]))
    first, last = min(faces), max(faces)
    at = _splice_stations(first, last, board)
    inside: list[Cut] = [("splice", square_cut(edge, station)) for station in at]
    ends = [cuts[0], *inside, cuts[1]]
    pieces = [
        _piece((outer, inner), (start, end), board, place, ascii_lowercase[i % 26] if at else "")
        for i, (start, end) in enumerate(pairwise(ends))
    ]
    return pieces, [outer.point(station) for station in at]


def _splice_stations(first: float, last: float, board: Board) -> list[float]:
    """Return where a run is spliced [m]: equal pieces, unless that is too near its ends."""
    count = _piece_count(last - first, board)
    equal_m = (last - first) / count
    end_m = min(board.splice_clear_m, _longest_m(board))
    if count < 3 or equal_m >= end_m:
        return [first + equal_m * part for part in range(1, count)]
    middle_m = (last - first - 2.0 * end_m) / (count - 2)
    return [first + end_m + middle_m * part for part in range(count - 1)]


def _piece_count(length_m: float, board: Board) -> int:
    """Return how many lengths of stock a run takes, measured as the cut plan measures them."""
    return -(-nanometres(length_m) // nanometres(_longest_m(board)))


def _piece(
    faces: tuple[Line, Line],
    cuts: tuple[Cut, Cut],
    board: Board,
    place: tuple[str, int, int],
    letter: str,
) -> Piece:
    outer, inner = faces
    bed, number, run = place
    (outer_a, outer_b), (inner_a, inner_b) = (
        face_ends(face, cuts[0][1], cuts[1][1]) for face in faces
    )
    outline = Polygon(
        [outer.point(outer_a), outer.point(outer_b), inner.point(inner_b), inner.point(inner_a)]
    )
    ends = (
        End(cuts[0][0], _saw_deg(inner_a - outer_a, board.thickness_m)),
        End(cuts[1][0], _saw_deg(inner_b - outer_b, board.thickness_m)),
    )
    return Piece(
        f"{number}.{run}{letter}",
        bed,
        run,
        board.name,
        max(outer_b, inner_b) - min(outer_a, inner_a),
        min(outer_b - outer_a, inner_b - inner_a),
        ends,
        outline,
    )


def _saw_deg(run_off_m: float, thickness_m: float) -> float:
    """Return the saw setting of a cut that runs off so far in one thickness of board."""
    return saw_setting_deg(math.degrees(math.atan2(thickness_m, run_off_m)))


def _edge_round(bed: PlacedBed, board: Board, number: int) -> BedEdging:
    """Edge a round bed with a board that bends: one run of the arc's length."""
    around_m = 2.0 * math.pi * bed.curved_m
    count = _piece_count(around_m, board)
    center = bed.outline.centroid
    share = max(0.0, bed.curved_m - board.thickness_m) / bed.curved_m
    inner = affinity.scale(bed.outline, share, share, origin=center)
    joint: Joint = "closed" if count == 1 else "splice"
    starts = [bed.outline.exterior.interpolate(i / count, normalized=True) for i in range(count)]
    pieces = tuple(
        Piece(
            f"{number}.1{ascii_lowercase[i % 26] if count > 1 else ''}",
            bed.spec.name,
            1,
            board.name,
            around_m / count,
            around_m / count,
            (End(joint, 0.0), End(joint, 0.0)),
            _sector(bed, inner, i, count),
        )
        for i in range(count)
    )
    start = (starts[0].x, starts[0].y)
    return BedEdging(
        bed.spec.name,
        board.name,
        (Run(1, start, start, around_m),),
        pieces,
        tuple((p.x, p.y) for p in starts) if count > 1 else (),
        inner,
    )


def _sector(bed: PlacedBed, inner: Polygon, part: int, count: int) -> Polygon:
    """Return the part of a round board between two of its splices."""
    if count == 1:
        return minus(bed.outline, inner)
    faces = [
        substring(ring.exterior, part / count, (part + 1) / count, normalized=True)
        for ring in (bed.outline, inner)
    ]
    return Polygon([*faces[0].coords, *reversed(faces[1].coords)])
