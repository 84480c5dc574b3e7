"""Boards cut by hand-made lists, for tests of sawing, cut sheets and changes."""

from __future__ import annotations

import math
from types import SimpleNamespace

from gardens import INCH, pine
from shapely.geometry import Polygon

from bedplan.edging.model import End, Piece
from bedplan.plan import BoardPlan
from bedplan.stock import StockLength, cut
from bedplan.units import nanometres


def end(slant_deg=0.0, joint="mitre"):
    """Return an end; the outer face is the longer one where the slant is above zero."""
    longer = "outer" if slant_deg > 0 else "inner" if slant_deg < 0 else "both"
    return End(joint if slant_deg else "square", abs(slant_deg), "", longer)


def outline(long_m, slants, thick_m):
    """Return a piece's figure, its outer face below, worked out from its angles alone."""
    first, last = (math.tan(math.radians(slant)) * thick_m for slant in slants)
    return Polygon(
        [
            (max(0.0, -first), 0.0),
            (long_m - max(0.0, -last), 0.0),
            (long_m - max(0.0, last), thick_m),
            (max(0.0, first), thick_m),
        ]
    )


def piece(label, long_m, slants=(0.0, 0.0), board="pine", thick_m=0.016, **more):
    shape = outline(long_m, slants, thick_m)
    xs = [x for x, _ in shape.exterior.coords[:4]]
    short_m = min(xs[1] - xs[0], xs[2] - xs[3])
    ends = (end(slants[0]), end(slants[1]))
    return Piece(label, "bed", more.pop("run", 1), board, long_m, short_m, ends, shape, **more)


def board_plan(pieces, board=None):
    board = board or pine()
    made = cut(
        [nanometres(each.long_m) for each in pieces],
        [StockLength(nanometres(item.length_m), item.price, item.limit) for item in board.stock],
        nanometres(board.kerf_m),
        end_trim=nanometres(board.end_trim_m),
        on_hand=[nanometres(length) for length in board.on_hand_m],
    )
    return BoardPlan(board, tuple(pieces), made)


def job(*parts, title="Job", show="imperial"):
    """Return what a cut sheet reads of a plan."""
    return SimpleNamespace(layout=SimpleNamespace(title=title, show=show), boards=parts)


def inches(number):
    return number * INCH
