"""Bonds as a path asks for them, made of its units (layer: paving engine).

A path names a bond by a word, or by a pattern its layout draws, and one unit or two. What can
be wrong with that only shows with the sizes of the units: whether a pattern repeats, and
whether its units keep the joint.

Public entry points: `make_bond`, `sizes_of`, `pattern_faults`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from bedplan.errors import Fault, GeometryError
from bedplan.geometry.tolerance import GRID_M, SNAP_M
from bedplan.model.bonds import BONDS, TWO_SIZES, BondPattern
from bedplan.model.layout import Layout, PathSpec, Paving
from bedplan.model.materials import Paver
from bedplan.paving.bonds import (
    Bond,
    basket_weave,
    herringbone,
    pinwheel,
    running,
    stack,
)
from bedplan.paving.gaps import tightest_pair

_ANY_SIZES = ((0.3137, 0.1771), (0.2239, 0.1409))
"""Faces without a simple ratio [m]: a pattern that does not repeat with these never does."""


def sizes_of(layout: Layout, bond: str) -> int:
    """Return how many sizes of unit a bond is laid of: 1 or 2."""
    if bond in layout.bonds:
        return layout.bonds[bond].faces
    return 2 if bond in TWO_SIZES else 1


def make_bond(paving: Paving, pavers: Sequence[Paver], pattern: BondPattern | None = None) -> Bond:
    """Return the bond a path asks for, made of its units.

    Parameters
    ----------
    paving
        What the path asks for.
    pavers
        Its unit, and the second one where it names one.
    pattern
        The layout's own pattern of that name, if it has one.

    Raises
    ------
    GeometryError
        If there is no such bond, or the units do not make it.
    """
    first = pavers[0]
    match paving.bond:
        case "stack":
            return stack(first.length_m, first.width_m)
        case "running":
            return running(first.length_m, first.width_m, paving.offset)
        case "herringbone" | "herringbone 45":
            return herringbone(first.length_m, first.width_m)
        case "basket weave":
            return basket_weave(first.length_m, first.width_m)
        case "pinwheel":
            return _pinwheel(pavers)
    if pattern is None:
        message = f"no bond is called {paving.bond!r}; there are {', '.join(BONDS)}"
        raise GeometryError(message)
    return drawn(pattern, [(paver.length_m, paver.width_m) for paver in pavers])


def drawn(pattern: BondPattern, faces: Sequence[tuple[float, float]]) -> Bond:
    """Return a pattern made of units with these faces [m].

    Raises
    ------
    GeometryError
        If the pattern asks for a unit that is not there, or does not repeat.
    """
    needed = max(pattern.faces, (_reach(pattern) + 1) // 2)
    if needed > len(faces):
        message = f"bond {pattern.name!r} is laid of two sizes, and there is one unit"
        raise GeometryError(message)
    return Bond(pattern.name, tuple(faces[:needed]), pattern.units, pattern.along, pattern.across)


def _reach(pattern: BondPattern) -> int:
    """Return how many modules a pattern measures by."""
    steps = [pattern.along, pattern.across, *(unit.at for unit in pattern.units)]
    return max(max(len(step.x), len(step.y)) for step in steps)


def _pinwheel(pavers: Sequence[Paver]) -> Bond:
    if len(pavers) < 2:
        message = "a pinwheel is laid of two sizes, and there is one unit"
        raise GeometryError(message)
    large, small = pavers[:2]
    for paver in (large, small):
        if abs(paver.length_m - paver.width_m) > SNAP_M:
            message = f"a pinwheel is laid of squares, and {paver.name!r} is none"
            raise GeometryError(message)
    if small.length_m > large.length_m - SNAP_M:
        message = f"a pinwheel's second unit is the smaller, and {small.name!r} is none"
        raise GeometryError(message)
    # of a square that is one only to the tape, the longer side keeps the joint
    sides = [max(paver.length_m, paver.width_m) for paver in (large, small)]
    return pinwheel(*sides)


def pattern_faults(layout: Layout) -> Iterator[Fault]:
    """Yield every fault of the layout's patterns, and of the units its paths lay them with."""
    lost = set()
    for name, pattern in layout.bonds.items():
        try:
            drawn(pattern, _ANY_SIZES)
        except GeometryError as error:
            lost.add(name)
            yield Fault(
                ("bond", name, "across"),
                str(error),
                "two steps that point different ways",
                "set along and across to the two steps by which the motif repeats",
            )
    for number, path in enumerate(layout.paths):
        paving = path.paving
        if paving is not None and paving.stride_m is None and paving.bond not in lost:
            yield from _path_faults(layout, number, path, paving)


def _path_faults(layout: Layout, number: int, path: PathSpec, paving: Paving) -> Iterator[Fault]:
    """Yield what is wrong with one path's bond; names that nothing bears are told elsewhere."""
    pavers = [layout.pavers.get(name) for name in (paving.paver, paving.second) if name]
    named = [paver for paver in pavers if paver is not None]
    pattern = layout.bonds.get(paving.bond)
    if (pattern is None and paving.bond not in TWO_SIZES) or len(named) < len(pavers):
        return
    where = ("path", number, "bond")
    if len(named) < sizes_of(layout, paving.bond):
        return
    try:
        bond = make_bond(paving, named, pattern)
        gap_m, one, other = tightest_pair(bond, paving.joint_m[0])
    except GeometryError as error:
        yield Fault(where, str(error), "a bond the units make", "choose another bond or unit")
        return
    if gap_m < paving.joint_m[0] - GRID_M:
        yield Fault(
            where,
            f"with the pavers of path {path.name!r}, {_pair(one, other)} in bond "
            f"{paving.bond!r} {_nearness(gap_m)}",
            f"units at least the least joint apart, {_mm(paving.joint_m[0])}",
            f"move the units of [bond.{paving.bond}] or its steps apart, or choose other units",
        )


def _pair(one: int, other: int) -> str:
    """Return which units of a motif are meant, counted from 1 as the file lists them."""
    if one == other:
        return f"unit {one + 1} and its copy"
    first, last = sorted((one + 1, other + 1))
    return f"units {first} and {last}"


def _nearness(gap_m: float) -> str:
    if gap_m < -GRID_M:
        return f"lie {_mm(-gap_m)} over each other"
    return f"come within {_mm(gap_m)} of each other"


def _mm(length_m: float) -> str:
    """Return a length in inches and millimetres, fine enough to tell a joint from a near miss."""
    return f"{length_m / 0.0254:.4g} in ({np.round(length_m * 1000, 3):g} mm)"
