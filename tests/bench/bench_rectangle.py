"""Identical rectangles in a rectangle: share proven, time and gaps over a set of instances.

    python tests/bench/bench_rectangle.py [FILE] [--every N] [--class LOW HIGH] [--exact N]

FILE has a line `L W l w` for each instance; without it, the sample in tests/data is taken.
`--class 51 101` enumerates the classes of equal instances with 1 <= L/W <= 2, 1 <= l/w <= 4 and
an area ratio in that range, from the definition (K. A. Dowsland, EJOR 1984-87).
`--exact N` has an independent solver (ortools) confirm the first N answers.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from collections import Counter
from math import gcd
from pathlib import Path

from bedplan.paving.rectangle import RectanglePacking, pack_rectangle

SAMPLE = Path(__file__).parents[1] / "data" / "rectangle_instances.txt"
LONGEST_UNIT = 40  # the sides of the least instance of a class seldom need more

Instance = tuple[int, int, int, int]


def read(path: Path) -> list[Instance]:
    rows = (line.split() for line in path.read_text(encoding="utf-8").splitlines())
    return [tuple(map(int, row[:4])) for row in rows if row and row[0] != "#"]


def enumerate_classes(low: int, high: int) -> list[Instance]:
    found: dict[tuple, Instance] = {}
    for long in range(1, LONGEST_UNIT + 1):
        for short in range(-(-long // 4), long + 1):
            if gcd(long, short) == 1:
                add_unit(found, long, short, low, high)
    return list(found.values())


def add_unit(found: dict[tuple, Instance], long: int, short: int, low: int, high: int) -> None:
    area, most = long * short, int((2 * high * long * short) ** 0.5) + 1
    sums = sorted(
        {
            i * long + j * short
            for i in range(most // long + 1)
            for j in range((most - i * long) // short + 1)
        }
        - {0}
    )
    rows = {
        side: tuple((side - i * long) // short for i in range(side // long + 1)) for side in sums
    }
    for width in sums:
        for length in sums:
            if width <= length <= 2 * width and low * area <= length * width < high * area:
                found.setdefault((rows[length], rows[width]), (length, width, long, short))


def check(instance: Instance, packing: RectanglePacking) -> None:
    length, width, a, b = instance
    boxes = [
        (p.x, p.y, p.x + (b if p.turned else a), p.y + (a if p.turned else b))
        for p in packing.placements
    ]
    assert len(boxes) == packing.count <= packing.upper_bound
    assert all(x >= 0 and y >= 0 and u <= length and v <= width for x, y, u, v in boxes)
    for n, (x, y, u, v) in enumerate(boxes):
        assert all(x >= s or u <= q or y >= t or v <= r for q, r, s, t in boxes[:n])


def fits(instance: Instance, target: int, seconds: float) -> str:
    from ortools.sat.python import cp_model

    length, width, a, b = instance
    model = cp_model.CpModel()
    sums = {i * a + j * b for i in range(length // a + 1) for j in range(length // b + 1)}
    taken, cover = [], {}
    for along, across in {(a, b), (b, a)}:
        for x in (s for s in sums if s + along <= length):
            for y in (s for s in sums if s + across <= width):
                taken.append(model.new_bool_var(""))
                for cell in ((i, j) for i in range(x, x + along) for j in range(y, y + across)):
                    cover.setdefault(cell, []).append(taken[-1])
    for units in cover.values():
        model.add_at_most_one(units)
    model.add(sum(taken) >= target)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 2, seconds
    return solver.status_name(solver.solve(model))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("file", nargs="?", type=Path, default=SAMPLE)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--class", dest="ratios", type=int, nargs=2)
    parser.add_argument("--exact", type=int, default=0)
    options = parser.parse_args()
    instances = enumerate_classes(*options.ratios) if options.ratios else read(options.file)
    times, gaps = [], Counter()
    for number, instance in enumerate(instances[:: options.every]):
        start = time.perf_counter()
        packing = pack_rectangle(*instance)
        times.append(time.perf_counter() - start)
        gaps[packing.upper_bound - packing.count] += 1
        check(instance, packing)
        if times[-1] > 2 or not packing.proven:
            print(
                *instance,
                ":",
                packing.count,
                "of at most",
                packing.upper_bound,
                f"{times[-1]:.2f} s",
                flush=True,
            )
        if number < options.exact:
            print(
                *instance,
                ":",
                packing.count,
                fits(instance, packing.count, 60),
                packing.count + 1,
                fits(instance, packing.count + 1, 60),
                flush=True,
            )
    ordered = sorted(times)
    print(
        f"{len(times)} instances, {100 * gaps[0] / len(times):.3f} % proven; gaps "
        f"{dict(sorted(gaps.items()))}"
    )
    print(
        f"median {1e3 * statistics.median(times):.2f} ms, "
        f"95 % under {1e3 * ordered[int(0.95 * len(ordered))]:.1f} ms, "
        f"longest {ordered[-1]:.2f} s, together {sum(times):.1f} s"
    )


if __name__ == "__main__":
    sys.exit(main())
