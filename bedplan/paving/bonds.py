"""Bonds: the patterns whole units are laid in (layer: paving engine).

A *bond* repeats a *motif*, a few units set to each other, at every point of a *lattice*. Each
unit sits in its *module*, the unit's face widened by one joint, and all distances of the
pattern are sums of module lengths L = l + j and module widths W = w + j. So a bond is written
once, in multiples of L and W, and holds for every joint. Bonds of two sizes have more modules:
L, W of the first face, then L, W of the second.

Entry points: `stack`, `running`, `herringbone`, `basket_weave`, `pinwheel`; a bond of one's
own is a `Bond` with its motif, tried by `least_gap_m` of `bedplan.paving.gaps`.

References
----------
First principles: modules that tile the plane side by side leave one joint between faces.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import FIT_M, GRID_M
from bedplan.model.bonds import MotifUnit, Step

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Bond:
    """A pattern of units that repeats over the plane.

    Parameters
    ----------
    name
        What the trade calls it.
    faces
        Length and width of every kind of unit [m].
    motif
        The units that repeat.
    along, across
        The two steps by which they repeat.

    Raises
    ------
    GeometryError
        If a face has no size, a motif unit has a face that is not there, or nothing repeats.

    Examples
    --------
    >>> stack(0.4, 0.4).lattice(0.01).tolist()
    [[0.41000000000000003, 0.0], [0.0, 0.41000000000000003]]
    >>> stack(0.4, 0.0)
    Traceback (most recent call last):
    ...
    bedplan.errors.GeometryError: a unit of 0.4 by 0.0 m has no face
    """

    name: str
    faces: tuple[tuple[float, float], ...]
    motif: tuple[MotifUnit, ...]
    along: Step
    across: Step

    def __post_init__(self) -> None:
        for length_m, width_m in self.faces:
            if not (0.0 < length_m < math.inf and 0.0 < width_m < math.inf):
                message = f"a unit of {length_m} by {width_m} m has no face"
                raise GeometryError(message)
        if not self.motif or not all(0 <= unit.face < len(self.faces) for unit in self.motif):
            message = f"bond {self.name!r} has a motif unit without a face, or no motif"
            raise GeometryError(message)
        if abs(np.linalg.det(self.lattice(0.0))) <= GRID_M:
            message = f"bond {self.name!r} does not repeat in two directions"
            raise GeometryError(message)

    @property
    def length_m(self) -> float:
        """Length of the first face [m]."""
        return self.faces[0][0]

    @property
    def width_m(self) -> float:
        """Width of the first face [m]."""
        return self.faces[0][1]

    def modules(self, joint_m: float) -> Array:
        """Return the module sizes (L, W of each face in turn) for a joint [m]."""
        return np.asarray(self.faces, dtype=np.float64).ravel() + joint_m

    def lattice(self, joint_m: float) -> Array:
        """Return the two steps of the pattern as rows, ``(2, 2)`` [m]."""
        modules = self.modules(joint_m)
        return np.stack([_metres(self.along, modules), _metres(self.across, modules)])

    def offsets(self, joint_m: float) -> Array:
        """Return the centres of the motif's units, ``(n, 2)`` [m]."""
        modules = self.modules(joint_m)
        return np.stack([_metres(unit.at, modules) for unit in self.motif])

    def sizes(self) -> Array:
        """Return what each motif unit measures along x and y, ``(n, 2)`` [m]."""
        return np.array(
            [
                self.faces[unit.face][::-1] if unit.turned else self.faces[unit.face]
                for unit in self.motif
            ]
        )

    def mirrored(self) -> Bond:
        """Return the bond as seen in a mirror, left and right exchanged."""
        motif = tuple(replace(unit, at=_flip(unit.at)) for unit in self.motif)
        return replace(
            self,
            name=f"{self.name}, mirrored",
            motif=motif,
            along=_flip(self.along),
            across=_flip(self.across),
        )


def _metres(step: Step, modules: Array) -> Array:
    """Return a step for given module sizes, ``(2,)`` [m]."""
    return np.array(
        [np.dot(multiples, modules[: len(multiples)]) for multiples in (step.x, step.y)]
    )


def stack(length_m: float, width_m: float) -> Bond:
    """Return the stack bond: units in line both ways."""
    return Bond(
        "stack",
        ((length_m, width_m),),
        (MotifUnit(),),
        along=Step(x=(1, 0)),
        across=Step(y=(0, 1)),
    )


def running(length_m: float, width_m: float, offset: float = 0.5) -> Bond:
    """Return a running bond: each course slid along from the one before.

    Parameters
    ----------
    length_m, width_m
        Face of the unit [m]; courses run along its length.
    offset
        How far each course is slid, as a part of the module length; 1/2 is half bond.
    """
    name = "running" if offset == 0.5 else f"running, offset {offset:.4g}"
    return Bond(
        name,
        ((length_m, width_m),),
        (MotifUnit(),),
        along=Step(x=(1, 0)),
        across=Step(x=(offset, 0), y=(0, 1)),
    )


def herringbone(length_m: float, width_m: float) -> Bond:
    """Return the herringbone at 90°; lay it at 45° for the diagonal one.

    Any length and width do: the modules tile by the steps (W, W) and (L, -L).
    """
    upright = MotifUnit(Step(x=(1, 0.5), y=(-0.5, 1)), turned=True)
    return Bond(
        "herringbone",
        ((length_m, width_m),),
        (MotifUnit(Step(x=(0.5, 0), y=(0, 0.5))), upright),
        along=Step(x=(0, 1), y=(0, 1)),
        across=Step(x=(1, 0), y=(-1, 0)),
    )


def basket_weave(length_m: float, width_m: float) -> Bond:
    """Return the basket weave of pairs: two units along, two across, in turn.

    Four pairs turn round a square of side ``|L - 2 W|`` that no module covers, nothing where a
    unit and its joint are twice as long as wide.

    References
    ----------
    University of Missouri Extension G6930 (1998) gives the gap, 1/2 in for 8 by 3 3/4 in brick.
    """
    motif = []
    for row in (0.5, 1.5):
        motif += [
            MotifUnit(Step(x=(0.5, 0), y=(0, row))),
            MotifUnit(Step(x=(0.5, 2), y=(1, row))),
            MotifUnit(Step(x=(1, row), y=(0.5, 0)), turned=True),
            MotifUnit(Step(x=(0, row), y=(0.5, 2)), turned=True),
        ]
    return Bond(
        "basket weave",
        ((length_m, width_m),),
        tuple(motif),
        along=Step(x=(1, 2)),
        across=Step(y=(1, 2)),
    )


def pinwheel(large_m: float, small_m: float) -> Bond:
    """Return the pinwheel: large squares turning round small ones.

    Parameters
    ----------
    large_m, small_m
        Side of the large and of the small square unit [m].
    """
    return Bond(
        "pinwheel",
        ((large_m, large_m), (small_m, small_m)),
        (
            MotifUnit(Step(x=(0.5,), y=(0.5,))),
            MotifUnit(Step(x=(1, 0, 0.5), y=(0, 0, 0.5)), face=1),
        ),
        along=Step(x=(1,), y=(0, 0, 1)),
        across=Step(x=(0, 0, -1), y=(1,)),
    )


def lattice_points(lattice: Array, reach_m: float) -> Array:
    """Return every point of a lattice within a distance of the origin, and some more [m]."""
    area = abs(float(np.linalg.det(lattice)))
    most = np.ceil(reach_m * np.hypot(*lattice[::-1].T) / area)
    a, b = np.meshgrid(np.arange(-most[0], most[0] + 1), np.arange(-most[1], most[1] + 1))
    return np.column_stack((a.ravel(), b.ravel())) @ lattice


def same_when(bond: Bond, joint_m: float, change: Array) -> bool:
    """Tell if a bond comes to lie on itself after a turn or a mirroring, moved if need be.

    Parameters
    ----------
    bond, joint_m
        The pattern and its joint [m].
    change
        ``(2, 2)`` matrix of the turn (a multiple of 90°) or mirroring (of x or y).

    Returns
    -------
    same
        True if laying the changed bond can place no other set of units than the bond itself.
    """
    lattice, offsets, sizes = bond.lattice(joint_m), bond.offsets(joint_m), bond.sizes()
    if not np.all(_on_lattice(lattice @ change.T, lattice)):
        return False
    new_offsets = offsets @ change.T
    new_sizes = np.abs(sizes @ change.T)
    return any(
        _coincide(offsets, sizes, new_offsets + move, new_sizes, lattice)
        for move in offsets - new_offsets[0]
    )


def _coincide(at: Array, sizes: Array, new_at: Array, new_sizes: Array, lattice: Array) -> bool:
    """Tell if every changed unit lies on a unit of its own size."""
    between = (new_at[:, None] - at[None]).reshape(-1, 2)
    hit = _on_lattice(between, lattice).reshape(len(new_at), len(at))
    fits = np.all(np.abs(new_sizes[:, None] - sizes[None]) < FIT_M, axis=-1)
    return bool(np.all(np.any(hit & fits, axis=1)))


def _on_lattice(points: Array, lattice: Array) -> npt.NDArray[np.bool_]:
    """Tell which points are points of a lattice, to within `FIT_M`."""
    multiples = np.linalg.solve(lattice.T, points.T).T
    off = (multiples - np.round(multiples)) @ lattice
    return np.hypot(off[:, 0], off[:, 1]) < FIT_M


def _flip(step: Step) -> Step:
    return Step(tuple(-value for value in step.x), step.y)
