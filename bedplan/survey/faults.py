"""What makes ties useless before anything is computed (layer: survey engine).

Unknown marks, lengths that are none, triangles that no three tapes can make, and too few ties.
Public entry points: `tie_faults`, `triangle_faults`, `missing_ties`, `flat_ties`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from bedplan.errors import Fault
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.ties import Tie, TiedRing, tie_name
from bedplan.survey.network import Array, Network
from bedplan.units import tell_length

TIES = ("enclosure", "ties")
CORNERS = ("enclosure", "corners")
CRITICAL = 3.29
"""Two-sided 0.1 % point of the normal distribution, the level of Baarda (1968)."""

WORST_M = 1.0
WORST_SHARE = 0.1
"""A mark uncertain by more than this [m], or this share of the longest tie, is not fixed."""

RANK = 1e-9
"""Relative size below which a singular value is nought."""


def tie_faults(ring: TiedRing) -> list[Fault]:
    """Return every fault of names and lengths."""
    return [*_name_faults(ring), *_length_faults(ring)]


def _name_faults(ring: TiedRing) -> Iterator[Fault]:
    if len(ring.corners) < 3:
        yield Fault(
            CORNERS,
            f"{len(ring.corners)} corners",
            "at least three corners",
            "add the missing corners in order round the fence",
        )
    for name in sorted(name for name, count in Counter(ring.corners).items() if count > 1):
        yield Fault(CORNERS, f"corner {name} twice", "each corner once", f"remove one {name}")
    for (a, at_a), (b, at_b) in combinations(ring.known.items(), 2):
        if math.dist(at_a, at_b) <= SNAP_M:
            yield Fault(
                (*CORNERS, b),
                f"{b} is given the place of {a}",
                "each mark at its own place",
                f"remove {b} or measure it again",
            )
    marks = dict.fromkeys((*ring.corners, *ring.known, *ring.others))
    for name in sorted((ring.shape.inward or frozenset()) - set(ring.corners)):
        yield Fault(
            CORNERS,
            f"{name} is said to point inward, and is no corner",
            f"one of {', '.join(ring.corners)}",
            f"name a corner, or drop {name}",
        )
    for tie in ring.ties:
        for name in sorted(tie.marks - set(marks)):
            yield Fault(
                (*TIES, tie.name),
                f"{tie.name} runs to {name}, which is no mark",
                f"two of {', '.join(marks)}",
                f"correct the name, or add {name} to the marks",
            )


def _length_faults(ring: TiedRing) -> Iterator[Fault]:
    for tie in ring.ties:
        if tie.first == tie.second:
            yield Fault(
                (*TIES, tie.name),
                f"a tie from {tie.first} to itself",
                "a distance between two marks",
                "name the mark the tape was run to",
            )
        if not (math.isfinite(tie.length_m) and tie.length_m > SNAP_M):
            yield Fault(
                (*TIES, tie.name),
                f"{tie.name} is {tie.length_m:g} m long",
                "a length above zero",
                f"tape {tie.name} again",
            )
        if tie.sigma_m is not None and not tie.sigma_m > 0.0:
            yield Fault(
                (*TIES, tie.name),
                f"{tie.name} has a standard deviation of {tie.sigma_m:g} m",
                "a standard deviation above zero",
                "leave it out to use the tape's own",
            )


def triangle_faults(ring: TiedRing) -> list[Fault]:
    """Return a fault for every three ties of which one is longer than the other two together.

    A shortfall that the tape's own spread explains (below the 0.1 % point) is none: three marks
    in one line are a triangle as well.
    """
    failing = [
        triple for triple in _triangles(ring.ties) if _excess_m(triple) > _allowed_m(triple, ring)
    ]
    return [_open_triangle(triple) for triple in failing]


def _open_triangle(triple: Sequence[Tie]) -> Fault:
    long, one, other = sorted(triple, key=lambda tie: -tie.length_m)
    return Fault(
        (*TIES, long.name),
        f"{long.name} is {tell_length(long.length_m)}, and {one.name} with {other.name} reaches "
        f"only {tell_length(one.length_m + other.length_m)}: "
        f"{tell_length(_excess_m(triple))} short",
        "three ties that close a triangle",
        f"tape {triple[0].name}, {triple[1].name} and {triple[2].name} again",
    )


def _triangles(ties: Sequence[Tie]) -> Iterator[tuple[Tie, Tie, Tie]]:
    between: dict[frozenset[str], list[Tie]] = {}
    for tie in ties:
        between.setdefault(tie.marks, []).append(tie)
    marks = sorted({mark for pair in between for mark in pair})
    for a, b, c in combinations(marks, 3):
        for one in between.get(frozenset((a, b)), ()):
            for two in between.get(frozenset((b, c)), ()):
                for three in between.get(frozenset((a, c)), ()):
                    yield one, two, three


def _excess_m(triple: Sequence[Tie]) -> float:
    lengths = [tie.length_m for tie in triple]
    return 2.0 * max(lengths) - sum(lengths)


def _allowed_m(triple: Sequence[Tie], ring: TiedRing) -> float:
    sigmas = [
        ring.tape.sigma_m(tie.length_m) if tie.sigma_m is None else tie.sigma_m for tie in triple
    ]
    return CRITICAL * math.hypot(*sigmas)


def missing_ties(network: Network) -> list[Fault]:
    """Return the one fault of too few ties: which marks still move, and ties to hold them.

    The rank of the design at places drawn at random is the rank at almost all places, so this
    asks only what is tied to what, never how long a tie is.

    References
    ----------
    L. Asimow and B. Roth (1978), The rigidity of graphs, Trans. AMS 245, 279–289.
    """
    places = _anywhere(network)
    design = network.design(places)
    movable = _movable(network, design)
    if not movable:
        return []
    wanted = _ties_to_add(network, places, design)
    count = len(wanted)
    return [
        Fault(
            TIES,
            f"{len(network.ties)} ties leave {', '.join(movable)} free to move",
            f"at least {count} more {'tie' if count == 1 else 'ties'}",
            f"tape {', '.join(wanted)}, and one or two more as a check",
        )
    ]


def flat_ties(network: Network, places: Array) -> list[Fault]:
    """Return the fault of enough ties that cross too flat: a mark can slip square to them.

    Rows of the design are weighted, so a motion with singular value s is uncertain by 1/s [m].
    """
    design = network.design(places)
    floor = 1.0 / max(WORST_M, WORST_SHARE * float(network.length_m.max()))
    movable = _movable(network, design, floor)
    if not movable:
        return []
    wanted = _ties_to_add(network, places, design, floor)
    return [
        Fault(
            TIES,
            f"the ties of {', '.join(movable)} cross too flat to hold them",
            "ties that cross at a good angle",
            f"tape {', '.join(wanted)}" if wanted else "tape to a mark aside of that line",
        )
    ]


def _movable(network: Network, design: Array, floor: float = 0.0) -> list[str]:
    """Return the marks that can move with every tie held."""
    loose = _motions(design, network, floor)
    if not loose.shape[1]:
        return []
    moves = np.abs((network.basis @ loose).reshape(len(network.names), -1)).max(axis=1)
    moves = moves > (0.1 if floor else 1e-6)
    return [name for name, moving in zip(network.names, moves, strict=True) if moving]


def _anywhere(network: Network) -> Array:
    """Return places drawn at random (seeded), known marks where they are [m]."""
    places = np.random.default_rng(1978).normal(size=(len(network.names), 2))
    if network.known:
        at = np.array(list(network.known.values()), dtype=float)
        places = at.mean(axis=0) + places * max(float(np.ptp(at, axis=0).max()), 1.0)
        places[[network.number[name] for name in network.known]] = at
    return places


def _motions(design: Array, network: Network, floor: float = 0.0) -> Array:
    """Return ``(u, k)``: the ways the marks can move with every tie held, or held weakly."""
    if not design.shape[0]:
        return np.eye(network.basis.shape[1])
    _, sizes, rows = np.linalg.svd(design)
    rank = int(np.count_nonzero(sizes > max(RANK * sizes[0], floor))) if len(sizes) else 0
    return np.asarray(rows[rank:].T)


def _ties_to_add(network: Network, places: Array, design: Array, floor: float = 0.0) -> list[str]:
    """Return ties that would hold all marks: sides first, then the shortest way round."""
    wanted: list[str] = []
    for first, second in _untaped(network):
        loose = _motions(design, network, floor)
        if not loose.shape[1]:
            break
        tied = Network(
            network.names,
            network.corner_count,
            network.known,
            (Tie(network.names[first], network.names[second], 1.0),),
            network.sigma_m.mean(keepdims=True) if len(network.ties) else np.ones(1),
        )
        row = tied.design(places)
        if np.abs(row @ loose).max() > (0.1 if floor else 1e-6) * np.abs(row).max():
            design = np.vstack((design, row))
            wanted.append(tie_name(network.names[first], network.names[second]))
    return wanted


def _untaped(network: Network) -> list[tuple[int, int]]:
    """Return pairs of marks without a tie: sides, then diagonals from short to long way round."""
    corners = network.corner_count
    taped = {tie.marks for tie in network.ties}

    def steps(pair: tuple[int, int]) -> tuple[int, int]:
        apart = pair[1] - pair[0]
        others = sum(mark >= corners for mark in pair)
        return (others, min(apart, corners - apart) if not others else 0)

    pairs = [
        pair
        for pair in combinations(range(len(network.names)), 2)
        if frozenset(network.names[i] for i in pair) not in taped
        and not set(pair) <= set(network.fixed)
    ]
    return sorted(pairs, key=steps)
