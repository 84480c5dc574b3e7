"""Boards round the beds: runs, corners, tiers, splices, pieces, stakes (layer: engines)."""

from bedplan.edging.edge import edge_beds
from bedplan.edging.hardware import Hardware, count_hardware
from bedplan.edging.model import (
    BedEdging,
    End,
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
