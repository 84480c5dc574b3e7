"""What becomes of dug soil: swell, room in the beds, and what is carted away (layer: engines).

Soil is dug in the bank, swells when loose, and takes less room than the bank when rolled. Beds
take soil loose; it settles with time, so a bed filled to its mark ends a little low. Public
entry points: `bed_room`, `share_spoil`.

References
----------
Mass balance, first principles; factors: `bedplan.model.ground.SOILS`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from bedplan.ground.earthwork import work_on
from bedplan.ground.patch import Patch
from bedplan.ground.plane import level
from bedplan.model.ground import Soil

WHOLE = 1e-9
"""Part of a load that is only rounding [-]."""


@dataclass(frozen=True)
class Room:
    """A bed and the loose soil it can take [m^3]."""

    bed: str
    room_m3: float


@dataclass(frozen=True)
class Spoil:
    """Where dug soil goes.

    Parameters
    ----------
    cut_m3
        Dug, in the bank [m^3].
    rolled_m3
        Of it, rolled in where ground is made up, in the bank [m^3].
    loose_m3
        The rest, loose [m^3].
    taken
        What each bed takes of the loose soil, in the order they were given.
    cart_m3
        Loose soil no bed has room for [m^3].
    wanting_m3
        Compacted fill that the dug soil cannot make [m^3].
    """

    cut_m3: float
    rolled_m3: float
    loose_m3: float
    taken: tuple[Room, ...]
    cart_m3: float
    wanting_m3: float

    @property
    def fits(self) -> bool:
        """Whether nothing has to be carted away."""
        return self.cart_m3 <= 0.0

    def loads(self, trip_m3: float) -> int:
        """Return how many trips cart it away, each of at most so much loose soil [m^3]."""
        return math.ceil(self.cart_m3 / trip_m3 - WHOLE)


def bed_room(patch: Patch, top_m: float, mulch_m: float = 0.0) -> float:
    """Return how much soil a bed takes over the ground that lies in it now [m^3].

    Parameters
    ----------
    patch
        The ground inside the bed's boards.
    top_m
        Height that mulch may reach: the board top, or as far below it as is wanted [m].
    mulch_m
        Depth of mulch on the soil [m].

    Examples
    --------
    >>> from shapely import box
    >>> from bedplan.ground.patch import patch_of
    >>> from bedplan.ground.surface import surface_of
    >>> patch = patch_of(surface_of([], box(0, 0, 3, 3)), box(0, 0, 2, 1))
    >>> round(bed_room(patch, 0.2, 0.05), 9)
    0.3
    """
    return work_on(patch, level(top_m - mulch_m)).fill_m3


def share_spoil(cut_m3: float, fill_m3: float, soil: Soil, rooms: Iterable[Room] = ()) -> Spoil:
    """Return where dug soil goes: rolled in where ground is made up, then beds, then away.

    Parameters
    ----------
    cut_m3
        Dug, in the bank [m^3].
    fill_m3
        Ground to make up with it, compacted [m^3]; 0 where that is made up with base rock.
    soil
        Its swell and shrinkage.
    rooms
        Beds in the order they are filled.

    Examples
    --------
    >>> loam = Soil("loam", loose=1.25, compacted=0.9)
    >>> spoil = share_spoil(2.0, 0.9, loam, [Room("border", 0.5)])
    >>> spoil.loose_m3, spoil.cart_m3
    (1.25, 0.75)
    """
    rolled_m3 = min(cut_m3, fill_m3 / soil.compacted)
    loose_m3 = left_m3 = (cut_m3 - rolled_m3) * soil.loose
    taken = []
    for room in rooms:
        share_m3 = min(left_m3, max(0.0, room.room_m3))
        taken.append(Room(room.bed, share_m3))
        left_m3 -= share_m3
    wanting_m3 = max(0.0, fill_m3 - cut_m3 * soil.compacted)
    return Spoil(cut_m3, rolled_m3, loose_m3, tuple(taken), left_m3, wanting_m3)
