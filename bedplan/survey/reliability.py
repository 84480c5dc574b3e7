"""How well each tie is checked by the others, and which looks wrong (layer: survey engine).

The *redundancy number* r of a tie, 0 to 1, is the share of an error in it that shows in its own
residual; all of them add up to the redundancy. A residual over ``sigma · sqrt(r)`` is standard
normal where no tie is wrong, so a large one points at a tie: *data snooping*.

References
----------
W. Baarda (1968), A testing procedure for use in geodetic networks, Netherlands Geodetic
Commission, Publications on Geodesy, New Series 2(5), Delft.

Public entry points: `reliability`, `spread`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bedplan.survey.faults import CRITICAL, RANK
from bedplan.survey.network import Array, Network

CHECKED = 1e-4
"""Least redundancy number that says anything about a tie; less is rounding."""

ODDS = 2.0 * math.log(20.0)
"""Difference of squared misfits at which one account is twenty times as likely as another."""

NON_CENTRALITY = 4.13
"""Shift of a standard normal that a 0.1 % test sees 4 times in 5: 3.29 + 0.84 (Baarda 1968)."""


@dataclass(frozen=True)
class Reliability:
    """Figures of every tie, in order.

    Parameters
    ----------
    misfit
        ``(t,)`` taped less computed, over sigma.
    number
        ``(t,)`` redundancy numbers, 0 to 1.
    standardised
        ``(t,)`` misfit over the root of the redundancy number; 0 where nothing checks the tie.
    """

    misfit: Array
    number: Array
    standardised: Array

    @property
    def chi2(self) -> float:
        """Sum of squared misfits."""
        return float(self.misfit @ self.misfit)

    @property
    def worst(self) -> int | None:
        """The tie with the largest standardised residual over the critical value, if any."""
        if not len(self.number):
            return None
        largest = int(np.argmax(np.abs(self.standardised)))
        return largest if abs(self.standardised[largest]) > CRITICAL else None

    def as_likely(self, tie: int) -> list[int]:
        """Return the other ties whose error would account for the misfits nearly as well.

        Leaving out tie i lowers the sum of squares by the square of its standardised residual,
        so the likelihoods of two accounts compare by the difference of those squares. With one
        redundant tie all squares are equal, and nothing tells the ties of a figure apart.
        """
        square = self.standardised**2
        alike = (square[tie] - square < ODDS) & (self.number > CHECKED)
        return [int(i) for i in np.flatnonzero(alike) if i != tie]


def reliability(network: Network, places: Array) -> Reliability:
    """Return residuals and redundancy numbers at the places found, ``(m, 2)`` [m]."""
    misfit, design = network.misfit(places), network.design(places)
    if design.size:
        axes, sizes, _ = np.linalg.svd(design, full_matrices=False)
        axes = axes[:, sizes > RANK * sizes[0]]
        number = np.clip(1.0 - np.sum(axes**2, axis=1), 0.0, 1.0)
    else:
        number = np.ones(len(misfit))
    root = np.sqrt(np.where(number > CHECKED, number, np.inf))
    return Reliability(misfit, number, misfit / root)


def chi2_limit(redundancy: int) -> float:
    """Return the sum of squared misfits that good ties pass once in a thousand.

    References
    ----------
    E. B. Wilson and M. M. Hilferty (1931), The distribution of chi-square, PNAS 17(12), 684–688.

    Examples
    --------
    >>> round(chi2_limit(10))  # tables: 29.59
    30
    """
    if redundancy <= 0:
        return 0.0
    part = 2.0 / (9.0 * redundancy)
    return float(redundancy * (1.0 - part + 3.0902 * math.sqrt(part)) ** 3)


def spread(network: Network, places: Array) -> Array:
    """Return ``(2m, 2m)`` covariance of all places for the tape as stated [m^2]."""
    design = network.design(places)
    if not design.shape[1]:
        return np.zeros((2 * len(network.names), 2 * len(network.names)))
    inner = np.linalg.pinv(design.T @ design, hermitian=True)
    return np.asarray(network.basis @ inner @ network.basis.T)
