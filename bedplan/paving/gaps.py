"""How near the units of a bond come to each other (layer: paving engine).

Public entry points: `least_gap_m`, `tightest_pair`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import GRID_M
from bedplan.paving.bonds import Bond, lattice_points

Array = npt.NDArray[np.float64]

_TIE = 1e-9
"""Steps whose squares differ by less than this share are equally long."""

_CROWD = 8.0
"""Units over this many times their cell need no measuring, and would take long to measure."""


def least_gap_m(bond: Bond, joint_m: float) -> float:
    """Return the least gap between any two units of a bond; negative where they overlap [m].

    Parameters
    ----------
    bond
        The pattern.
    joint_m
        The joint it is drawn with [m], ≥ 0.

    Examples
    --------
    >>> from bedplan.paving.bonds import herringbone
    >>> round(least_gap_m(herringbone(0.2, 0.09), 0.004), 9)
    0.004
    """
    return tightest_pair(bond, joint_m)[0]


def tightest_pair(bond: Bond, joint_m: float) -> tuple[float, int, int]:
    """Return the least gap of a bond [m], and which two units of its motif it lies between.

    Raises
    ------
    GeometryError
        If the bond does not repeat with this joint, or its units cover each other many deep.
    """
    lattice, sizes = _reduced(bond.lattice(joint_m)), bond.sizes()
    cell_m2 = abs(float(np.linalg.det(lattice)))
    if float(np.prod(sizes, axis=1).sum()) > _CROWD * cell_m2:
        message = f"units of bond {bond.name!r} lie over each other, many deep"
        raise GeometryError(message)
    offsets = bond.offsets(joint_m)
    between = (offsets[None, :] - offsets[:, None]).reshape(-1, 2)
    between -= np.round(np.linalg.solve(lattice.T, between.T).T) @ lattice
    short, long = np.hypot(lattice[:, 0], lattice[:, 1])
    # a copy one short step away is no further off than `short`; wider pairs need no look
    steps = lattice_points(lattice, float(short + long + 1.5 * sizes.max()))
    pairs = between.reshape(1, len(sizes), len(sizes), 2) + steps[:, None, None]
    apart = np.abs(pairs) - 0.5 * (sizes[None, None, :] + sizes[None, :, None])
    gap = np.where(
        np.all(apart < 0.0, axis=-1),
        apart.max(axis=-1),
        np.hypot(*np.moveaxis(np.maximum(apart, 0.0), -1, 0)),
    )
    home = np.all(steps == 0.0, axis=1)
    gap[home] = np.where(np.eye(len(sizes), dtype=bool), np.inf, gap[home])
    _, first, other = np.unravel_index(int(np.argmin(gap)), gap.shape)
    return float(gap.min()), int(first), int(other)


def _reduced(lattice: Array) -> Array:
    """Return the two shortest steps of a lattice, the shortest first (Lagrange's reduction)."""
    if abs(float(np.linalg.det(lattice))) <= GRID_M:
        message = "a bond with this joint does not repeat in two directions"
        raise GeometryError(message)
    short, long = sorted(lattice, key=_square)
    while times := round(float(short @ long) / float(short @ short)):
        less = long - times * short
        # half a step either way is a tie, which rounding could carry back and forth for ever
        if _square(less) > (1.0 - _TIE) * _square(long):
            break
        short, long = sorted((short, less), key=_square)
    return np.stack([short, long])


def _square(step: Array) -> float:
    return float(step @ step)
