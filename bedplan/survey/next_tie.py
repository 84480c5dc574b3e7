"""The tie that would do most for a survey (layer: survey engine).

Public entry point: `tie_to_add`.
"""

from __future__ import annotations

from itertools import combinations
from typing import Final

import numpy as np

from bedplan.model.ties import Tie, TiedRing
from bedplan.survey.model import Survey
from bedplan.survey.network import Array, Network, build_network
from bedplan.survey.reliability import CHECKED, reliability, spread

ENOUGH: Final = 0.25
"""Ties whose redundancy numbers are all above this check one another well enough: our choice.

A tie's least visible error is then at most ``4.13 / sqrt(0.25)``, some eight standard deviations.
"""


def tie_to_add(ring: TiedRing, survey: Survey) -> tuple[str, str] | None:
    """Return the two marks to tape next; None where every tie is checked well, or all are taped.

    Of all pairs not taped yet, the one after which fewest ties stand unchecked, then the one
    that leaves the worst placed mark best placed.

    Parameters
    ----------
    ring
        The fence as told by ties.
    survey
        What they came to.

    Examples
    --------
    >>> from bedplan.survey.solve import solve_ring
    >>> sides = [("A", "B", 4.0), ("B", "C", 3.0), ("C", "D", 4.0), ("D", "A", 3.0)]
    >>> ring = TiedRing(tuple("ABCD"), tuple(Tie(*side) for side in (*sides, ("A", "C", 5.0))))
    >>> tie_to_add(ring, solve_ring(ring))
    ('B', 'D')
    """
    network = build_network(ring.corners, tuple(ring.others), ring.known, ring.ties, ring.tape)
    places = np.array([survey.places[name] for name in network.names])
    if len(network.ties) and float(reliability(network, places).number.min()) >= ENOUGH:
        return None
    taped = {tie.marks for tie in ring.ties}
    held = set(ring.known)
    pairs = [
        pair
        for pair in combinations(network.names, 2)
        if frozenset(pair) not in taped and not set(pair) <= held
    ]
    merits = ((_merit(_with(network, places, pair, ring), places), pair) for pair in pairs)
    return min(merits, key=lambda each: each[0], default=((0, 0.0), None))[1]


def _with(network: Network, places: Array, pair: tuple[str, str], ring: TiedRing) -> Network:
    """Return the network with one more tie, as long as the places say."""
    first, second = (places[network.number[name]] for name in pair)
    far_m = float(np.hypot(*(second - first)))
    return Network(
        network.names,
        network.corner_count,
        network.known,
        (*network.ties, Tie(*pair, far_m)),
        np.append(network.sigma_m, ring.tape.sigma_m(far_m)),
    )


def _merit(network: Network, places: Array) -> tuple[int, float]:
    """Return what is left unchecked, and the largest variance of a mark to the micrometre."""
    unchecked = int(np.count_nonzero(reliability(network, places).number <= CHECKED))
    variances = np.diag(spread(network, places)).reshape(-1, 2).sum(axis=1)
    return unchecked, round(float(np.sqrt(variances.max())), 6)
