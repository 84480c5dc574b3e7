"""Corners from taped distances by least squares (layer: survey engine).

Public entry points: `solve`, `solve_ring`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from bedplan.errors import Fault, LayoutError
from bedplan.model.layout import Point
from bedplan.model.ties import RingShape, Tape, Tie, TiedRing, Where
from bedplan.survey.adjust import settle
from bedplan.survey.faults import (
    CRITICAL,
    TIES,
    flat_ties,
    missing_ties,
    tie_faults,
    triangle_faults,
)
from bedplan.survey.figures import Figure, best_figures, interior_angles, settling_pairs
from bedplan.survey.model import (
    Closure,
    CornerAngle,
    Ellipse,
    Mark,
    Rival,
    Survey,
    Suspect,
    TieCheck,
)
from bedplan.survey.network import Array, Network, build_network
from bedplan.survey.reliability import (
    CHECKED,
    NON_CENTRALITY,
    Reliability,
    chi2_limit,
    reliability,
    spread,
)
from bedplan.units import tell_length

NEAR_SQUARE_DEG = 15.0
"""A corner this near 90° or 270° is meant to be square [deg]: our choice."""


def solve(
    corners: Sequence[str],
    known: Mapping[str, Point],
    ties: Sequence[Tie],
    *,
    others: Mapping[str, Where] | None = None,
    shape: RingShape | None = None,
    tape: Tape | None = None,
) -> Survey:
    """Return the places of all marks by least squares, and how far each tie can be believed.

    Parameters
    ----------
    corners
        Names in order round the fence.
    known
        Marks with given places [m]. With none, the first corner is the origin and the second
        lies along x; with one, that mark is held and the first side keeps the direction of x;
        with two or more, all of them are held.
    ties
        Taped distances; both ways between two marks are two observations.
    others
        Marks that are no corners, and on which side of the fence they stand; known marks may be
        among them.
    shape
        Which way the corners run, and which of them point inward if anybody has said.
    tape
        Standard deviation of ties that have none of their own.

    Raises
    ------
    LayoutError
        With every fault found: unknown marks, lengths that are none, triangles that no tapes
        can make, too few ties (which marks move, which ties would hold them), no fence line.

    References
    ----------
    C. F. Gauss (1823), Theoria combinationis observationum erroribus minimis obnoxiae;
    W. Baarda (1968) for the suspect, see `survey.reliability`.

    Examples
    --------
    >>> sides = [Tie("A", "B", 4.0), Tie("B", "C", 3.0), Tie("C", "A", 5.0)]
    >>> found = solve(["A", "B", "C"], {}, sides)
    >>> [tuple(round(v, 6) + 0.0 for v in at) for at in found.places.values()]
    [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]
    >>> solve(["A", "B", "C"], {}, sides[:2])
    Traceback (most recent call last):
    ...
    bedplan.errors.LayoutError: enclosure.ties: 2 ties leave C free to move
        wanted: at least 1 more tie
        remedy: tape AC, and one or two more as a check
    """
    return solve_ring(
        TiedRing(
            tuple(corners), tuple(ties), known, others or {}, shape or RingShape(), tape or Tape()
        )
    )


def solve_ring(ring: TiedRing) -> Survey:
    """Return the survey of a fence told by ties; see `solve`."""
    faults = tie_faults(ring)
    if faults:
        raise LayoutError(faults)
    network = build_network(ring.corners, tuple(ring.others), ring.known, ring.ties, ring.tape)
    faults, opened = missing_ties(network), triangle_faults(ring)
    if opened and not faults:
        raise LayoutError(_told_which(opened, network, ring))
    if faults:
        raise LayoutError([*faults, *opened])
    best, *rivals = best_figures(network, ring)
    _refuse_unmet(network, best)
    faults = flat_ties(network, best.places)
    if faults:
        raise LayoutError(faults)
    return _survey(network, best, rivals)


def _told_which(opened: Sequence[Fault], network: Network, ring: TiedRing) -> list[Fault]:
    """Return triangles that cannot close, told which tie the others deny, if just one is.

    Each tie of these triangles is left out in turn. With fewer than two ties to spare the rest
    would fit whichever is left out, so nothing is told.
    """
    accused = [
        (tie, length_m)
        for number, tie in enumerate(network.ties)
        if network.redundancy > 1 and any(_names(fault, tie) for fault in opened)
        for length_m in _length_without(network, number, ring)
    ]
    if len(accused) != 1:
        return list(opened)
    ((tie, length_m),) = accused
    told = f"begin with {tie.name}, which by all other ties is {tell_length(length_m)}"
    return [
        replace(fault, remedy=f"{fault.remedy}; {told}") if _names(fault, tie) else fault
        for fault in opened
    ]


def _names(fault: Fault, tie: Tie) -> bool:
    return tie.name in fault.remedy.replace(",", "").split()


def _length_without(network: Network, number: int, ring: TiedRing) -> list[float]:
    """Return the length a tie has by all others, if these agree without it [m]."""
    rest = network.without(number)
    if missing_ties(rest):
        return []
    try:
        best = best_figures(rest, ring)[0]
    except LayoutError:
        return []
    agrees = best.squares <= chi2_limit(rest.redundancy)
    return [float(network.distances(best.places)[number])] if agrees else []


def _refuse_unmet(network: Network, best: Figure) -> None:
    """Raise where there is no redundancy and still a tie is missed: no figure has these lengths.

    With redundancy a tie that is missed is a suspect, and the figure stands without it.
    """
    misfit = np.abs(network.misfit(best.places))
    if network.redundancy or not len(misfit) or misfit.max() <= CRITICAL:
        return
    missed = [network.ties[int(i)].name for i in np.flatnonzero(misfit > CRITICAL / 2)]
    worst_m = float(np.abs(misfit * network.sigma_m).max())
    raise LayoutError.of(
        TIES,
        f"no figure has these lengths: the nearest misses by {tell_length(worst_m)}",
        "ties that close",
        f"tape {', '.join(missed)} again",
    )


def _survey(network: Network, best: Figure, rivals: Sequence[Figure]) -> Survey:
    found = reliability(network, best.places)
    redundancy = network.redundancy
    weight = math.sqrt(found.chi2 / redundancy) if redundancy else None
    # where the ties agree worse than the tape promises, every uncertainty grows with them
    covariance = spread(network, best.places) * max(1.0, weight or 0.0) ** 2
    suspect = _suspect(network, best.places, found)
    return Survey(
        marks=_marks(network, best.places, covariance),
        corners=_corners(network, best.places, covariance),
        ties=_checks(network, best.places, found),
        redundancy=redundancy,
        unit_weight=weight,
        suspect=suspect,
        sound=suspect is None and (not redundancy or found.chi2 <= chi2_limit(redundancy)),
        closure=_closure(network, best.places),
        rivals=_rivals(network, best.places, rivals),
    )


def _point(place: Array) -> Point:
    return (float(place[0]), float(place[1]))


def _marks(network: Network, places: Array, covariance: Array) -> tuple[Mark, ...]:
    return tuple(
        Mark(
            name,
            _point(places[i]),
            None
            if i in network.fixed
            else ellipse(covariance[2 * i : 2 * i + 2, 2 * i : 2 * i + 2]),
        )
        for i, name in enumerate(network.names)
    )


def ellipse(covariance: Array) -> Ellipse:
    """Return the standard error ellipse of a ``(2, 2)`` covariance [m^2]."""
    sizes, axes = np.linalg.eigh(covariance)
    minor, major = np.sqrt(np.maximum(sizes, 0.0)).tolist()
    return Ellipse(major, minor, math.degrees(math.atan2(axes[1, 1], axes[0, 1])) % 180.0)


def _corners(network: Network, places: Array, covariance: Array) -> tuple[CornerAngle, ...]:
    count = network.corner_count
    angles = interior_angles([_point(place) for place in places[:count]])
    found = []
    for i, angle in enumerate(angles):
        slope = np.zeros(2 * len(network.names))
        for other, sign in ((i - 1) % count, -1.0), ((i + 1) % count, 1.0):
            dx, dy = (places[other] - places[i]).tolist()
            turn = sign * np.array((-dy, dx)) / (dx * dx + dy * dy)
            slope[2 * other : 2 * other + 2] += turn
            slope[2 * i : 2 * i + 2] -= turn
        sigma = math.degrees(math.sqrt(max(float(slope @ covariance @ slope), 0.0)))
        off = min(angle - 90.0, angle - 270.0, key=abs)
        near = off if abs(off) <= NEAR_SQUARE_DEG else None
        found.append(CornerAngle(network.names[i], angle, sigma, near))
    return tuple(found)


def _checks(network: Network, places: Array, found: Reliability) -> tuple[TieCheck, ...]:
    computed = network.distances(places)
    checks = []
    for i, tie in enumerate(network.ties):
        sigma_m, number = float(network.sigma_m[i]), float(found.number[i])
        checked = number > CHECKED
        checks.append(
            TieCheck(
                tie,
                sigma_m,
                float(computed[i]),
                tie.length_m - float(computed[i]),
                number,
                float(found.standardised[i]) if checked else None,
                NON_CENTRALITY * sigma_m / math.sqrt(number) if checked else None,
            )
        )
    return tuple(checks)


def _suspect(network: Network, places: Array, found: Reliability) -> Suspect | None:
    """Return the worst tie if it is beyond chance, its length by the others found without it."""
    worst = found.worst
    if worst is None:
        return None
    rest = network.without(worst)
    settled, arrived = settle(rest, places[None])
    tie = network.ties[worst]
    computed = float(network.distances(settled[0] if arrived[0] else places)[worst])
    return Suspect(
        tie,
        float(found.standardised[worst]),
        computed,
        tie.length_m - computed,
        tuple(network.ties[i] for i in found.as_likely(worst)),
    )


def _closure(network: Network, places: Array) -> Closure:
    """Return the gap left when the ring is walked with its taped lengths."""
    count = network.corner_count
    gap, perimeter_m, taped_sides = np.zeros(2), 0.0, 0
    for i in range(count):
        j = (i + 1) % count
        pair = frozenset((network.names[i], network.names[j]))
        taped = [tie.length_m for tie in network.ties if tie.marks == pair]
        ahead = places[j] - places[i]
        far = float(np.hypot(*ahead))
        perimeter_m += far
        if taped:
            gap += ahead / far * (sum(taped) / len(taped) - far)
            taped_sides += 1
    return Closure(float(np.hypot(*gap)), perimeter_m, taped_sides)


def _rivals(network: Network, chosen: Array, others: Sequence[Figure]) -> tuple[Rival, ...]:
    pairs = settling_pairs(network, chosen, [other.places for other in others])
    return tuple(
        Rival(
            {name: _point(at) for name, at in zip(network.names, other.places, strict=True)},
            other.inward,
            (network.names[first], network.names[second]),
            here_m,
            there_m,
        )
        for other, (first, second, here_m, there_m) in zip(others, pairs, strict=True)
    )
