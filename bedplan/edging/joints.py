"""How two boards meet, and the cut that makes at the end of each (layer: engines).

At a corner four lines meet: the outer and inner faces of the board that arrives and of the
one that leaves. Every joint cuts each board along one line:

- mitre: both along the line from the outer corner to the inner one;
- butt at an outward corner: the through board along the other's outer face, the stopped board
  along the through board's inner face;
- butt at an inward corner: the through board along the other's inner face, the stopped board
  along the through board's outer face.

- stake: both boards are cut square where the inner corner (at an inward one: the outer corner)
  lies square to them; the kite between is closed by a stake.

A butt corner flatter than `FLAT_DEG` is mitred whatever the file asks: a butt joint there would
need a cut no mitre saw makes, and a feather edge.

So the two pieces, and at a stake the kite, always fill the corner with neither gap nor overlap,
at any angle. A lone board that dies into a fence is cut along it; where that would take a cut
beyond `SAW_MOST_DEG`, it is squared off. First principles. Public entry point: `joint_cuts`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bedplan.edging.model import Joint
from bedplan.edging.runs import Edge
from bedplan.geometry.lines import Line, Point, interior_angle_deg, mitre_point, through
from bedplan.geometry.tolerance import ANGLE_DEG, SNAP_M
from bedplan.model.materials import Board

FLAT_DEG: Final = 45.0
"""Turn below which two boards are mitred [deg]: common practice, no source; saws stop near 45°."""

SAW_MOST_DEG: Final = 60.0
"""Greatest saw setting a lone board is cut at [deg]: most mitre saws reach 45 to 60, no source."""


@dataclass(frozen=True)
class Cut:
    """What happens at one end of a run.

    Parameters
    ----------
    joint, line
        What it is, and the line of the saw.
    ring
        The line up to which the ring between the faces is this run's to fill; the saw's own line
        where no more is given.
    joins
        What it meets, where that is known by name.
    """

    joint: Joint
    line: Line
    ring: Line
    joins: str = ""


def sawn(joint: Joint, line: Line, ring: Line | None = None) -> Cut:
    """Return a cut; the ring ends where the board does unless told otherwise."""
    return Cut(joint, line, ring or line)


def square_cut(edge: Edge, station_m: float) -> Line:
    """Return the line square to an edge at a station [m]."""
    line = edge.line
    return Line(line.point(station_m), (-line.along[1], line.along[0]))


def joint_cuts(
    arriving: Edge, leaving: Edge, board: Board, *, swapped: bool = False
) -> tuple[Cut, Cut]:
    """Return the cut at the end of the arriving board and at the start of the leaving one.

    Parameters
    ----------
    arriving, leaving
        Edges before and after the corner, the bed on their left. Where one of them carries no
        board at the corner, its cut is that of the fence or neighbour it lies on.
    board
        Thickness and kind of corner.
    swapped
        True in every second tier: the other board of a butt corner runs through, so that the
        corners of a stack lap.
    """
    outward = _turns_left(arriving, leaving)
    if not (arriving.boarded_at_end() and leaving.boarded_at_start()):
        return _dies_into(arriving, leaving, board.thickness_m, outward)
    inner = mitre_point(arriving.line, leaving.line, board.thickness_m)
    if board.corner == "stake":
        return _to_stake(arriving, leaving, inner, outward)
    if board.corner == "mitre" or turn_deg(arriving, leaving) < FLAT_DEG - ANGLE_DEG:
        cut = sawn("mitre", through(leaving.start, inner))
        return cut, cut
    # of boards equal but for rounding the arriving one runs through, so a square is a pinwheel
    longer_m = _run_length(leaving, 0) - _run_length(arriving, -1)
    if (board.through == "pinwheel" or longer_m <= SNAP_M) != swapped:
        ran, stopped = _butt(arriving, leaving, board.thickness_m, outward)
        return ran, stopped
    ran, stopped = _butt(leaving, arriving, board.thickness_m, outward)
    return stopped, ran


def kite_legs_m(arriving: Edge, leaving: Edge, thickness_m: float) -> tuple[float, float]:
    """Return the two sides of the kite that a corner stake closes [m].

    One is the board's thickness; the other, along the boards, is thickness × tan(turn / 2).
    """
    half = math.radians(turn_deg(arriving, leaving) / 2.0)
    return thickness_m, thickness_m * math.tan(half)


def open_cut(edge: Edge, station_m: float, corner: Edge, board: Board) -> Cut:
    """Return the cut where a run ends short of a corner, at a neighbour or the fence.

    Square, unless the board of the edge beyond the corner already stands there.

    Parameters
    ----------
    edge, station_m
        The run's edge, and where on it the run ends [m].
    corner
        The edge that follows, or the one before for the start of a run.
    board
        Its thickness matters.
    """
    at_end = corner.start == edge.end
    face = corner.line.shifted(board.thickness_m)
    crossed = [
        edge.line.station(point)
        for line in (edge.line, edge.line.shifted(board.thickness_m))
        if (point := line.meet(face)) is not None
    ]
    stands = corner.boarded_at_start() if at_end else corner.boarded_at_end()
    if stands and crossed and (min(crossed) < station_m if at_end else max(crossed) > station_m):
        return sawn("stop", face)
    return sawn("square", square_cut(edge, station_m))


def _butt(runs: Edge, stops: Edge, thickness_m: float, outward: bool) -> tuple[Cut, Cut]:
    runs_to = stops.line if outward else stops.line.shifted(thickness_m)
    stops_at = runs.line.shifted(thickness_m) if outward else runs.line
    return sawn("through", runs_to), sawn("stop", stops_at)


def _to_stake(arriving: Edge, leaving: Edge, inner: Point, outward: bool) -> tuple[Cut, Cut]:
    """Return square cuts at the foot of the corner on the far side of the boards."""
    foot = inner if outward else leaving.start
    ring = through(leaving.start, inner)
    ends = (square_cut(edge, edge.line.station(foot)) for edge in (arriving, leaving))
    first, second = (sawn("stake", line, ring) for line in ends)
    return first, second


def _dies_into(
    arriving: Edge, leaving: Edge, thickness_m: float, outward: bool
) -> tuple[Cut, Cut]:
    """Return cuts along the fence or neighbour a lone board meets; square at inward corners."""
    corner_m = arriving.length_m
    if not outward:
        return (
            sawn("square", square_cut(arriving, corner_m)),
            sawn("square", square_cut(leaving, 0.0)),
        )
    turn = turn_deg(arriving, leaving)
    if abs(90.0 - turn) <= SAW_MOST_DEG + ANGLE_DEG:
        return sawn("fence", leaving.line), sawn("fence", arriving.line)
    if turn < 90.0:
        # the fence goes on almost straight: a square end leaves nothing open
        return (
            sawn("fence", square_cut(arriving, corner_m)),
            sawn("fence", square_cut(leaving, 0.0)),
        )
    # a sharp corner: past the inner face the ground is thinner than a board
    short_m = thickness_m / math.tan(math.radians(180.0 - turn))
    return (
        sawn("fence", square_cut(arriving, corner_m - short_m), leaving.line),
        sawn("fence", square_cut(leaving, short_m), arriving.line),
    )


def _turns_left(arriving: Edge, leaving: Edge) -> bool:
    return arriving.line.left_of(leaving.end) > 0.0


def turn_deg(arriving: Edge, leaving: Edge) -> float:
    """Return by how much two edges turn at their corner, 0 to 180 [deg]."""
    return abs(180.0 - interior_angle_deg(arriving.start, leaving.start, leaving.end))


def _run_length(edge: Edge, which: int) -> float:
    first, last = edge.spans[which]
    return last - first


def face_ends(face: Line, start: Line, end: Line) -> tuple[float, float]:
    """Return the stations where two cuts cross one face of a board [m]."""
    return _cross(face, start), _cross(face, end)


def _cross(face: Line, cut: Line) -> float:
    met: Point | None = face.meet(cut)
    return face.station(met if met is not None else cut.at)
