"""Boards round the beds: runs, corners, tiers, splices, pieces, stakes (layer: engines)."""

from bedplan.edging.edge import edge_beds
from bedplan.edging.hardware import Hardware, count_hardware
from bedplan.edging.job import LowerBoards
from bedplan.edging.model import (
    BedEdging,
    End,
    LowerBoard,
    Notch,
    Opening,
    Piece,
    PlacedStake,
    Run,
    Shortfall,
    Splice,
)

__all__ = [
    "BedEdging",
    "End",
    "Hardware",
    "LowerBoard",
    "LowerBoards",
    "Notch",
    "Opening",
    "Piece",
    "PlacedStake",
    "Run",
    "Shortfall",
    "Splice",
    "count_hardware",
    "edge_beds",
]
