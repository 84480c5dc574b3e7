"""Boards round the beds: runs, corners, splices and pieces (layer: engines)."""

from bedplan.edging.edge import edge_beds
from bedplan.edging.model import BedEdging, End, Piece, Run

__all__ = ["BedEdging", "End", "Piece", "Run", "edge_beds"]
