"""Best shift of a bond against trying every sixteenth of an inch, and how both grow.

Run as ``python tests/bench/bench_shift.py [growth]``. The reference is an honest grid search:
at every shift of 1/16 in along and across, the centres that fall in the eroded region are
counted with a prepared, vectorised shapely test (``grid_search``). It is given the erosion for
nothing, and its places are eroded by the same units pressed in by the same tolerance.
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

sys.path.insert(0, str(Path(__file__).parents[2]))

from bedplan.geometry.erosion import erode, rectangle_kernel
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving import basket_weave, best_shift, herringbone, running, stack
from bedplan.paving.bonds import lattice_points
from bedplan.paving.centre_lines import centre_lines
from bedplan.paving.shift import unit_places

INCH = 0.0254


def crooked_yard(seed, area_m2, posts=2):
    """A fenced yard as found: five to eight corners, no right angle, posts and stems left out."""
    rng = np.random.default_rng(seed)
    corners = int(rng.integers(5, 9))
    turn = (np.arange(corners) + rng.uniform(-0.3, 0.3, corners)) * (2 * np.pi / corners)
    reach = rng.uniform(0.7, 1.3, corners)
    yard = Polygon(np.column_stack((reach * np.cos(turn), reach * np.sin(turn))))
    size = math.sqrt(area_m2 / yard.area)
    yard = affinity.scale(yard, size, size, origin=(0, 0))
    for x, y in rng.uniform(-0.4, 0.4, (posts, 2)) * size:
        yard = yard.difference(shapely.Point(x, y).buffer(0.15, quad_segs=4))
    return yard


def rail_yard():
    """A path round two beds, all square to each other."""
    return box(0, 0, 7.3, 5.1).difference(
        shapely.union_all([box(1.1, 1.2, 3.1, 3.9), box(4.4, 1.0, 6.1, 4.2)])
    )


def grid_search(region, bond, joint_m, step_m):
    """Return the most units of all shifts on a grid of a given step."""
    lattice, offsets = bond.lattice(joint_m), bond.offsets(joint_m)
    places = [erode(region, rectangle_kernel(*(size - 2 * FIT_M))) for size in bond.sizes()]
    shapely.prepare(places)
    points = lattice_points(lattice, 1.5 * float(np.abs(region.bounds).max()))
    near = [
        points[
            np.all(
                (points + offset > np.array(place.bounds[:2]) - np.abs(lattice).sum(0))
                & (points + offset < np.array(place.bounds[2:])),
                axis=1,
            )
        ]
        + offset
        for place, offset in zip(places, offsets, strict=True)
        if not place.is_empty
    ]
    started, most = time.process_time(), 0
    tries = np.ceil(np.hypot(*lattice.T) / step_m).astype(int)
    for a in range(tries[0]):
        for b in range(tries[1]):
            shift = np.array([a, b]) / tries @ lattice
            most = max(
                most,
                sum(
                    int(shapely.contains_xy(place, at + shift).sum())
                    for place, at in zip(places, near, strict=True)
                ),
            )
    return most, time.process_time() - started


def timed(region, bond, joint_m, direction_deg=0.0, rounds=5):
    """Return the laying and the median time without any cache."""
    times = []
    for _ in range(rounds):
        unit_places.cache_clear()
        centre_lines.cache_clear()
        started = time.process_time()
        laying = best_shift(region, bond, joint_m, direction_deg)
        times.append(time.process_time() - started)
    return laying, statistics.median(times)


def against_the_grid():
    slab, brick = (16 * INCH, 16 * INCH), (8 * INCH, 4 * INCH)
    cases = [
        ("rail yard, slabs", rail_yard(), stack(*slab)),
        ("rail yard, bricks", rail_yard(), running(*brick)),
        ("rail yard, basket", rail_yard(), basket_weave(*brick)),
    ]
    for seed in range(4):
        cases += [
            (f"yard {seed}, slabs", crooked_yard(seed, 35.0), stack(*slab)),
            (f"yard {seed}, half bond", crooked_yard(seed, 10.0), running(*brick)),
            (f"yard {seed}, herringbone", crooked_yard(seed, 6.0), herringbone(*brick)),
        ]
    ratios = []
    print(f"{'case':24}{'units':>6}{'grid':>6}{'ms':>8}{'grid ms':>10}{'ratio':>8}")
    for name, region, bond in cases:
        laying, seconds = timed(region, bond, 0.125 * INCH)
        count, grid_seconds = grid_search(region, bond, 0.125 * INCH, INCH / 16)
        ratios.append(grid_seconds / seconds)
        worse = "" if laying.count >= count and laying.proven else "  WORSE"
        print(
            f"{name:24}{laying.count:6}{count:6}{1e3 * seconds:8.2f}{1e3 * grid_seconds:10.0f}"
            f"{ratios[-1]:8.0f}{worse}"
        )
    print(
        f"ratio: least {min(ratios):.0f}, median {statistics.median(ratios):.0f} (promised: 100)"
    )


def growth():
    bonds = {
        "stack": stack(0.2, 0.2),
        "half bond": running(0.2, 0.1),
        "herringbone": herringbone(0.2, 0.1),
    }
    print(f"\n{'units wanted':14}" + "".join(f"{name + ' [ms]':>20}" for name in bonds))
    for wanted in (100, 1_000, 10_000, 100_000):
        cells = []
        for bond in bonds.values():
            face_m2 = (bond.length_m + 0.003) * (bond.width_m + 0.003)
            results = [
                timed(crooked_yard(seed, wanted * face_m2), bond, 0.003, 11.0, rounds=1)
                for seed in range(5)
            ]
            proven = sum(laying.proven for laying, _ in results)
            median = statistics.median(seconds for _, seconds in results)
            most = max(seconds for _, seconds in results)
            cells.append(f"{1e3 * median:6.1f} ≤{1e3 * most:6.1f} {proven}/5")
        print(f"{wanted:<14}" + "".join(f"{cell:>20}" for cell in cells))


if __name__ == "__main__":
    if "growth" not in sys.argv:
        against_the_grid()
    growth()
