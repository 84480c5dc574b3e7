"""Free courses against the best bond of straight rows, and the bound beside them.

Run as ``python tests/bench/bench_courses.py [growth] [directions]``. Yards are crooked ones made
at random from numbered seeds, each with two holes (a bed 2.4 by 1.2 m and a tree's ring); units
are laid along the first of the yard's sides. CPU time, the erosion of the region included.
"""

from __future__ import annotations

import math
import statistics
import sys
import time

import shapely
from bench_shift import crooked_yard
from shapely import affinity
from shapely.geometry import box

from bedplan.paving import best_laying, best_shift, directions, running, stack, upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_directions import direction_bound
from bedplan.paving.courses import best_courses, courses_along
from bedplan.paving.shift import unit_places

JOINT_M = 0.0095
UNITS = {
    "slabs 16 x 16 in": (0.4064, 0.4064),
    "pavers 12 x 6 in": (0.3048, 0.1524),
    "bricks 8 x 4 in": (0.2032, 0.1016),
}


def yard_with_beds(seed, area_m2):
    """A crooked yard less a bed and a tree's ring, each turned and placed by the seed."""
    size = math.sqrt(area_m2 / 40.0)
    bed = affinity.rotate(box(-1.2, -0.6, 1.2, 0.6), 37.0 * seed % 90.0)
    ring = shapely.Point(-1.3, 0.9).buffer(0.5, quad_segs=6)
    holes = shapely.union_all([affinity.translate(bed, 1.0, -0.7), ring])
    return crooked_yard(seed, area_m2, posts=0).difference(
        affinity.scale(holes, size, size, origin=(0, 0))
    )


def timed(work, *args, **more):
    """Return the answer and the CPU time with nothing cached."""
    unit_places.cache_clear()
    started = time.process_time()
    answer = work(*args, **more)
    return answer, time.process_time() - started


def against_bonds(seeds=range(20)):
    print(
        f"{'unit':18}{'area':>6}{'bond':>7}{'courses':>9}{'gain':>16}{'gap':>15}"
        f"{'courses ms':>15}{'bound ms':>14}"
    )
    for name, size in UNITS.items():
        for wanted in (60, 250, 600):
            rows = []
            for seed in seeds:
                yard = yard_with_beds(seed, wanted * (size[0] + JOINT_M) * (size[1] + JOINT_M))
                angle = directions(yard)[0]
                bond = max(
                    best_shift(yard, make(*size), JOINT_M, angle).count
                    for make in (stack, running)
                )
                laying, spent = timed(best_courses, yard, *size, JOINT_M, angle)
                bound, bound_spent = timed(line_bound, yard, *size, JOINT_M, angle)
                rows.append(
                    (
                        bond,
                        laying.count,
                        laying.count / bond - 1.0,
                        min(bound, upper_bound(yard, *size, JOINT_M)) / laying.count - 1.0,
                        1e3 * spent,
                        1e3 * bound_spent,
                    )
                )
            table = list(zip(*rows, strict=True))
            gain, gap = (
                f"{100 * statistics.mean(part):5.1f} % ≤{100 * max(part):5.1f} %"
                for part in table[2:4]
            )
            spent, bound_spent = (
                f"{statistics.median(part):6.1f} ≤{max(part):6.1f}" for part in table[4:]
            )
            print(
                f"{name:18}{wanted:6}{statistics.mean(table[0]):7.0f}"
                f"{statistics.mean(table[1]):9.0f}{gain:>16}{gap:>16}{spent:>15}"
                f"{bound_spent:>15}"
            )


def over_directions(seeds=range(8)):
    print(
        f"\n{'yard':>5}{'bonds':>7}{'courses':>9}{'gain':>8}{'any direction ≤':>17}"
        f"{'courses s':>11}{'bound s':>9}"
    )
    for seed in seeds:
        size = UNITS["slabs 16 x 16 in"]
        yard = yard_with_beds(seed, 40.0)
        bonds = best_laying(yard, [stack(*size), running(*size)], JOINT_M)
        laying, spent = timed(courses_along, yard, *size, JOINT_M)
        bound, bound_spent = timed(direction_bound, yard, *size, JOINT_M, enough=laying.count)
        print(
            f"{seed:5}{bonds.count:7}{laying.count:9}"
            f"{100 * (laying.count / bonds.count - 1):6.1f} %{bound:17}{spent:11.2f}"
            f"{bound_spent:9.2f}"
        )


def growth():
    print(f"\n{'area in units':14}{'courses':>9}{'bound':>8}{'courses ms':>12}{'bound ms':>10}")
    for wanted in (100, 1_000, 10_000, 100_000):
        yard = yard_with_beds(3, wanted * (0.2 + 0.003) * (0.1 + 0.003))
        laying, spent = timed(best_courses, yard, 0.2, 0.1, 0.003, 11.0)
        bound, bound_spent = timed(line_bound, yard, 0.2, 0.1, 0.003, 11.0)
        print(f"{wanted:<14}{laying.count:9}{bound:8}{1e3 * spent:12.1f}{1e3 * bound_spent:10.1f}")


if __name__ == "__main__":
    if len(sys.argv) == 1:
        against_bonds()
    if "directions" in sys.argv or len(sys.argv) == 1:
        over_directions()
    if "growth" in sys.argv or len(sys.argv) == 1:
        growth()
