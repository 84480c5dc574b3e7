"""How two boards meet, and the cut that makes at the end of each (layer: engines).

At a corner four lines meet: the outer and inner faces of the board that arrives and of the
one that leaves. Every joint cuts each board along one line:

- mitre: both along the line from the outer corner to the inner one;
- butt at an outward corner: the through board along the other's outer face, the stopped board
  along the through board's inner face;
- butt at an inward corner: the through board along the other's inner face, the stopped board
  along the through board's outer face.

A corner flatter than `FLAT_DEG` is mitred whatever the file asks: a butt joint there would need
a cut no mitre saw makes, and a feather edge.

So the two pieces always fill the corner with neither gap nor overlap, at any angle. First
principles. Public entry point: `joint_cuts`.
"""

from __future__ import annotations

from typing import Final

from bedplan.edging.model import Joint
from bedplan.edging.runs import Edge
from bedplan.geometry.lines import Line, Point, interior_angle_deg, mitre_point, through
from bedplan.geometry.tolerance import ANGLE_DEG, SNAP_M
from bedplan.model.materials import Board

FLAT_DEG: Final = 45.0
"""Turn below which two boards are mitred [deg]: common practice, no source; saws stop near 45°."""

Cut = tuple[Joint, Line]
"""What happens at an end, and the line of its cut."""


def square_cut(edge: Edge, station_m: float) -> Line:
    """Return the line square to an edge at a station [m]."""
    line = edge.line
    return Line(line.point(station_m), (-line.along[1], line.along[0]))


def joint_cuts(arriving: Edge, leaving: Edge, board: Board) -> tuple[Cut, Cut]:
    """Return the cut at the end of the arriving board and at the start of the leaving one.

    Parameters
    ----------
    arriving, leaving
        Edges before and after the corner, the bed on their left. Where one of them carries no
        board at the corner, its cut is that of the fence or neighbour it lies on.
    board
        Thickness and kind of corner.
    """
    outward = _turns_left(arriving, leaving)
    if not (arriving.boarded_at_end() and leaving.boarded_at_start()):
        return _dies_into(arriving, leaving, outward)
    if board.corner == "mitre" or _turn_deg(arriving, leaving) < FLAT_DEG - ANGLE_DEG:
        inner = mitre_point(arriving.line, leaving.line, board.thickness_m)
        cut = through(leaving.start, inner)
        return ("mitre", cut), ("mitre", cut)
    # of boards equal but for rounding the arriving one runs through, so a square is a pinwheel
    longer_m = _run_length(leaving, 0) - _run_length(arriving, -1)
    if board.through == "pinwheel" or longer_m <= SNAP_M:
        ran, stopped = _butt(arriving, leaving, board.thickness_m, outward)
        return ran, stopped
    ran, stopped = _butt(leaving, arriving, board.thickness_m, outward)
    return stopped, ran


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
        return "stop", face
    return "square", square_cut(edge, station_m)


def _butt(runs: Edge, stops: Edge, thickness_m: float, outward: bool) -> tuple[Cut, Cut]:
    runs_to = stops.line if outward else stops.line.shifted(thickness_m)
    stops_at = runs.line.shifted(thickness_m) if outward else runs.line
    return ("through", runs_to), ("stop", stops_at)


def _dies_into(arriving: Edge, leaving: Edge, outward: bool) -> tuple[Cut, Cut]:
    """Return cuts along the fence or neighbour a lone board meets; square at inward corners."""
    if outward:
        return ("fence", leaving.line), ("fence", arriving.line)
    return (
        ("square", square_cut(arriving, arriving.length_m)),
        ("square", square_cut(leaving, 0.0)),
    )


def _turns_left(arriving: Edge, leaving: Edge) -> bool:
    return arriving.line.left_of(leaving.end) > 0.0


def _turn_deg(arriving: Edge, leaving: Edge) -> float:
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
