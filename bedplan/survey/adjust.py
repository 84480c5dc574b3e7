"""Least squares by Levenberg and Marquardt, many starts at once (layer: survey engine).

Every start goes downhill to the nearest best fit; a step is taken only if it lowers the sum of
squares, so no start ever diverges. Whether one arrived is told, never assumed.

Public entry point: `settle`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from bedplan.survey.network import Array, Network

Flags = npt.NDArray[np.bool_]

MOST_STEPS = 300
PATIENCE = 30
HOPELESS = 100.0
"""A start still moving after so many steps, and so much worse than the best, is given up.

Far from the ties, where no figure fits, steps are many and lead nowhere of use.
"""

STILL_M = 1e-8
"""A figure has arrived when its next undamped step would move no mark farther than this [m]."""


def settle(network: Network, starts: Array, most_steps: int = MOST_STEPS) -> tuple[Array, Flags]:
    """Return each start moved to its nearest best fit, and whether it arrived there.

    Parameters
    ----------
    network
        Marks, ties and datum.
    starts
        ``(k, m, 2)`` places to start from [m], in the datum.
    most_steps
        Steps after which a start is given up.

    Returns
    -------
    places, arrived
        ``(k, m, 2)`` places [m] and ``(k,)`` flags.

    References
    ----------
    D. W. Marquardt (1963), An algorithm for least-squares estimation of nonlinear parameters,
    J. SIAM 11(2), 431–441; the damping is multiplied by 1/5 after a good step and 4 after a bad.
    """
    places = starts.copy()
    damping = np.full(len(places), 1e-3)
    arrived = np.zeros(len(places), dtype=bool)
    if not network.basis.shape[1]:
        return places, ~arrived
    given_up = np.zeros(len(places), dtype=bool)
    for step in range(most_steps):
        if step == PATIENCE:
            squares = np.sum(network.misfit(places) ** 2, axis=1)
            given_up = ~arrived & (squares > HOPELESS * (squares.min() + network.redundancy + 1))
        active = np.flatnonzero(~arrived & ~given_up)
        if not len(active):
            break
        moved, better, still = _step(network, places[active], damping[active])
        places[active[better]] = moved[better]
        damping[active] = np.where(better, damping[active] / 5.0, damping[active] * 4.0)
        damping = np.clip(damping, 1e-14, 1e14)
        arrived[active[still]] = True
    return places, arrived


def _step(network: Network, places: Array, damping: Array) -> tuple[Array, Flags, Flags]:
    """Return the figures one step on, which of them fit better, and which hardly move."""
    misfit, design = network.misfit(places), network.design(places)
    normal = np.swapaxes(design, -1, -2) @ design
    slope = np.swapaxes(design, -1, -2) @ misfit[..., None]
    unknowns = np.arange(normal.shape[-1])
    scale = normal[:, unknowns, unknowns]
    ridge = 1e-12 * scale.max(axis=1, keepdims=True) + 1e-30
    normal[:, unknowns, unknowns] = scale + damping[:, None] * scale + ridge
    free = np.linalg.solve(normal, slope)
    moved = places + (network.basis @ free)[..., 0].reshape(places.shape)
    before = np.sum(misfit**2, axis=1)
    after = np.sum(network.misfit(moved) ** 2, axis=1)
    still = np.abs(free[..., 0]).max(axis=1) * (1.0 + damping) <= STILL_M
    return moved, after <= before, still & (after <= before * (1.0 + 1e-9) + 1e-12)
