"""First figures: marks struck off by arcs from two others, both ways (layer: survey engine).

Two arcs cross twice, so every mark doubles the number of figures; those that miss the remaining
ties least are kept. Where arcs cannot place every mark one by one, rings drawn at random serve.

Public entry points: `struck`, `drawn`.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from bedplan.survey.network import Array, Network

MOST_FIGURES = 512
"""Figures kept while marks are struck off: every choice of nine free marks."""

KEPT_FIGURES = 96
"""Figures handed on to be settled."""

FLAT = 0.01
"""Arcs that just miss are taken to cross this far off the line, as a share of its length."""

MOST_MISFIT = 50.0
"""A mark counts at most so many standard deviations, lest one wrong tie outvote the rest."""


def struck(network: Network) -> Array:
    """Return figures struck off by arcs, ``(k, m, 2)`` in the datum, best first; k may be 0."""
    taped = _taped(network)
    for seed in _seeds(network, taped):
        order = _order(taped, seed)
        if order is not None:
            return _strike_all(network, taped, seed, order)
    return np.empty((0, len(network.names), 2))


def _taped(network: Network) -> Array:
    """Return ``(m, m)`` distances, the mean of several tapings, NaN where there is none [m]."""
    count = len(network.names)
    total, times = np.zeros((count, count)), np.zeros((count, count))
    for i, j, length_m in zip(network.first, network.second, network.length_m, strict=True):
        total[[i, j], [j, i]] += length_m
        times[[i, j], [j, i]] += 1
    mean = np.where(times > 0, total / np.maximum(times, 1), np.nan)
    for (a, at_a), (b, at_b) in combinations(network.known.items(), 2):
        i, j = network.number[a], network.number[b]
        mean[[i, j], [j, i]] = np.hypot(*np.subtract(at_a, at_b))
    return mean


def _seeds(network: Network, taped: Array) -> list[tuple[int, ...]]:
    """Return the sets of marks to begin from: the known ones, or each taped pair."""
    if not network.is_free:
        return [tuple(network.number[name] for name in network.known)]
    pairs = [(int(i), int(j)) for i, j in np.argwhere(~np.isnan(np.triu(taped)))]
    return sorted((p for p in pairs if p[0] != p[1]), key=lambda pair: -taped[pair])


def _order(taped: Array, seed: tuple[int, ...]) -> list[int] | None:
    """Return the marks in the order in which arcs can place them, most ties first, or None."""
    placed, order = set(seed), []
    while len(placed) < len(taped):
        reach = {
            mark: int(np.count_nonzero(~np.isnan(taped[mark, sorted(placed)])))
            for mark in range(len(taped))
            if mark not in placed
        }
        best = max(reach, key=lambda mark: reach[mark])
        if reach[best] < 2:
            return None
        placed.add(best)
        order.append(best)
    return order


def _strike_all(network: Network, taped: Array, seed: tuple[int, ...], order: list[int]) -> Array:
    figures = np.full((1, len(network.names), 2), np.nan)
    if network.is_free:
        figures[0, list(seed)] = ((0.0, 0.0), (taped[seed], 0.0))
    else:
        figures[0, list(seed)] = list(network.known.values())
    missed = np.zeros(1)
    placed = list(seed)
    for mark in order:
        # a free figure's first triangle needs one side only: its mirror image is the same figure
        both = len(placed) > 2 or not network.is_free
        figures, rise = _strike(figures, taped, mark, placed, both)
        missed = np.tile(missed, 1 + both) + np.minimum(
            rise / network.sigma_m.mean() ** 2, MOST_MISFIT**2
        )
        placed.append(mark)
        corners = sorted(i for i in placed if i < network.corner_count)
        best = np.lexsort((_bends(figures[:, corners]), missed))[:MOST_FIGURES]
        figures, missed = figures[best], missed[best]
    return np.array([network.to_datum(figure) for figure in figures[:KEPT_FIGURES]])


def _strike(
    figures: Array, taped: Array, mark: int, placed: list[int], both: bool
) -> tuple[Array, Array]:
    """Return the figures with one mark more, on either side, and the square they miss by [m^2]."""
    near = [other for other in placed if not np.isnan(taped[mark, other])]
    a, b = max(combinations(near, 2), key=lambda pair: _crossing(figures[0], taped[mark], *pair))
    base = figures[:, b] - figures[:, a]
    far = np.maximum(np.hypot(base[:, 0], base[:, 1]), 1e-9)
    ahead = base / far[:, None]
    along = (taped[mark, a] ** 2 - taped[mark, b] ** 2 + far**2) / (2.0 * far)
    aside = np.sqrt(np.maximum(taped[mark, a] ** 2 - along**2, (FLAT * far) ** 2))
    foot = figures[:, a] + along[:, None] * ahead
    left = np.column_stack((-ahead[:, 1], ahead[:, 0])) * aside[:, None]
    more = np.tile(figures, (1 + both, 1, 1))
    more[:, mark] = np.concatenate((foot + left, foot - left)[: 1 + both])
    checks = [other for other in near if other not in (a, b)]
    gap = more[:, checks] - more[:, [mark]]
    missed = np.hypot(gap[..., 0], gap[..., 1]) - taped[mark, checks]
    return more, np.asarray(np.sum(missed**2, axis=1))


def _crossing(figure: Array, reach: Array, a: int, b: int) -> float:
    """Return how squarely arcs from two marks cross: 1 at a right angle, 0 or less in line."""
    base = float(np.hypot(*(figure[b] - figure[a])))
    cos = (reach[a] ** 2 + reach[b] ** 2 - base**2) / (2.0 * reach[a] * reach[b])
    return float(1.0 - abs(cos))


def _bends(rings: Array) -> Array:
    """Return ``(k,)``: how many corners of each ring bend against the greater part."""
    before, after = rings - np.roll(rings, 1, axis=1), np.roll(rings, -1, axis=1) - rings
    left = before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0] > 0.0
    turns = np.count_nonzero(left, axis=1)
    return np.asarray(np.minimum(turns, rings.shape[1] - turns), dtype=float)


def drawn(network: Network, count: int, seed: int = 7) -> Array:
    """Return rings drawn at random, ``(count, m, 2)`` in the datum, known marks in place.

    Half are regular rings of about the right size, shaken; half are thrown anywhere.
    """
    chance = np.random.default_rng(seed)
    marks = len(network.names)
    size_m = float(network.length_m.max())
    if not network.is_free:
        at = np.array(list(network.known.values()), dtype=float)
        size_m = max(size_m, float(np.ptp(at, axis=0).max()))
        middle = at.mean(axis=0)
    else:
        middle = np.zeros(2)
    angle = 2.0 * np.pi * np.arange(marks) / max(network.corner_count, 1)
    turned = angle + chance.uniform(0.0, 2.0 * np.pi, size=(count, 1))
    flip = chance.choice((-1.0, 1.0), size=(count, 1))
    ring = np.stack((np.cos(turned), flip * np.sin(turned)), axis=-1) * size_m / 2.0
    ring[:, network.corner_count :] *= 0.3
    shake = np.where(np.arange(count) % 2, 0.5, 0.12)[:, None, None] * size_m
    figures = middle + ring + shake * chance.normal(size=ring.shape)
    for name, at_m in network.known.items():
        figures[:, network.number[name]] = at_m
    return np.array([network.to_datum(figure) for figure in figures])
