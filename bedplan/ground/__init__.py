"""Ground, digging, base and board tiers from spot heights (layer: engines)."""

from bedplan.ground.depths import Depths, PathDig, depths_between, dig_path, formation_under
from bedplan.ground.earthwork import Earthwork, contour, earthwork, sum_of, work_on
from bedplan.ground.grading import balanced, best_fit, clear_of, finish_plane, least_fall
from bedplan.ground.patch import Patch, patch_of
from bedplan.ground.plane import (
    Plane,
    fall_to_side,
    falling,
    level,
    through_points,
    toward_side_deg,
)
from bedplan.ground.spoil import Room, Spoil, bed_room, share_spoil
from bedplan.ground.spots import DoubtfulSpot, PlacedSpot, doubtful_spots, spot_faults
from bedplan.ground.surface import Surface, surface_of
from bedplan.ground.tiers import TierSpan, board_top, profile, tier_spans, tiers_needed

__all__ = [
    "Depths",
    "DoubtfulSpot",
    "Earthwork",
    "Patch",
    "PathDig",
    "PlacedSpot",
    "Plane",
    "Room",
    "Spoil",
    "Surface",
    "TierSpan",
    "balanced",
    "bed_room",
    "best_fit",
    "board_top",
    "clear_of",
    "contour",
    "depths_between",
    "dig_path",
    "doubtful_spots",
    "earthwork",
    "fall_to_side",
    "falling",
    "finish_plane",
    "formation_under",
    "least_fall",
    "level",
    "patch_of",
    "profile",
    "share_spoil",
    "spot_faults",
    "sum_of",
    "surface_of",
    "through_points",
    "tier_spans",
    "tiers_needed",
    "toward_side_deg",
    "work_on",
]
