"""Free laying against bonds, courses and every bound beside it.

Run as ``python tests/bench/bench_free.py [free seconds] [bound seconds]``; 10 and 20 if not
given. Bonds and courses are tried in all of a region's own directions. The bound on units along
and across one direction is taken where all units of the free laying lie so; else, and for any
layout whatever, only the bound by area holds. Rectangles stand beside the proven packing.
"""

from __future__ import annotations

import math
import statistics
import sys
import time

from bench_courses import JOINT_M, yard_with_beds
from shapely import affinity
from shapely.geometry import Polygon, box

from bedplan.errors import GeometryError
from bedplan.paving import (
    basket_weave,
    best_laying,
    courses_along,
    herringbone,
    pack_rectangle,
    running,
    stack,
    upper_bound,
)
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_mixed import mixed_bound
from bedplan.paving.free import lay_free

UNITS = {"square": (0.4, 0.4), "2:1": (0.4, 0.2), "3:2": (0.45, 0.3)}
ELL = Polygon([(0, 0), (5.3, 0), (5.3, 2.4), (2.6, 2.4), (2.6, 4.7), (0, 4.7)])
RAIL = box(0, 0, 7.3, 5.1).difference(box(1.1, 1.2, 3.1, 3.9)).difference(box(4.4, 1.0, 6.1, 4.2))
TILTED = (
    box(0, 0, 6.0, 4.5)
    .difference(affinity.rotate(box(1.0, 1.2, 2.6, 2.2), 30.0))
    .difference(affinity.rotate(box(3.6, 1.6, 4.9, 3.0), -20.0))
)
REGIONS = {
    "crooked yard, two holes": yard_with_beds(1, 30.0),
    "crooked yard, small": yard_with_beds(4, 12.0),
    "ell": ELL,
    "rectilinear, two beds": RAIL,
    "tilted beds": TILTED,
    "triangle": Polygon([(0, 0), (5.2, 0.4), (1.4, 4.1)]),
    "rectangle, about 30": box(0, 0, 2.5, 2.0),
    "rectangle, about 150": box(0, 0, 5.7, 4.3),
    "rectangle, about 600": box(0, 0, 11.3, 8.9),
}
# one within the bounds of the 7,827 classes of bench_rectangle, in whole numbers, no joint
KNOWN = (43, 26, 7, 4)


def best_bond(region, face):
    makes = (stack, running) if face[0] == face[1] else (stack, running, herringbone, basket_weave)
    counts = []
    for make in makes:
        try:
            counts.append(best_laying(region, make(*face), JOINT_M).count)
        except GeometryError:
            continue
    return max(counts)


def one_frame(laying):
    """The direction all units lie along or square to, or None."""
    first = laying.units[0].turn_deg
    apart = [abs((unit.turn_deg - first + 45.0) % 90.0 - 45.0) for unit in laying.units]
    return first if max(apart) < 1e-6 else None


def packed(region, face):
    """The proven packing of an upright rectangle, joints counted with the units, or None."""
    if region.symmetric_difference(region.envelope).area > 1e-9:
        return None
    sides = [round(1e6 * (side + JOINT_M)) for side in (*region.bounds[2:], *face)]
    packing = pack_rectangle(*sides)
    return packing.count if packing.proven else None


def row(name, kind, region, face, seconds):
    bond, courses = best_bond(region, face), courses_along(region, *face, JOINT_M)
    any_turn = upper_bound(region, *face, JOINT_M)
    known = packed(region, face)
    free = lay_free(region, courses, time_limit_s=seconds[0], enough=known or any_turn)
    angle = one_frame(free)
    alike = line_bound(region, *face, JOINT_M, courses.direction_deg)
    framed = any_turn
    if angle is not None:
        framed = mixed_bound(
            region, *face, JOINT_M, angle, enough=free.count, time_limit_s=seconds[1]
        )
    best = known or framed
    gap = best / free.count - 1.0
    print(
        f"{name:26}{kind:8}{bond:6}{courses.count:9}{free.count:6}"
        f"{alike:9}{framed if angle is not None else '-':>8}{any_turn:6}"
        f"{known or '-':>8}{gap:8.1%}{any_turn / free.count - 1.0:8.1%}",
        flush=True,
    )
    return bond, courses.count, free.count, gap, any_turn / free.count - 1.0, known


def main():
    seconds = [float(sys.argv[i]) if len(sys.argv) > i else (10.0, 20.0)[i - 1] for i in (1, 2)]
    print(
        f"{'region':26}{'unit':8}{'bond':>6}{'courses':>9}{'free':>6}"
        f"{'alike ≤':>9}{'0/90 ≤':>8}{'any ≤':>6}{'packed':>8}{'gap':>8}{'any gap':>8}"
    )
    began = time.time()
    rows = [
        row(name, kind, region, face, seconds)
        for name, region in REGIONS.items()
        for kind, face in UNITS.items()
    ]
    print(f"mean gap to the tightest bound that holds {statistics.mean(r[3] for r in rows):.2%}")
    print(f"mean gap to the bound on any layout {statistics.mean(r[4] for r in rows):.2%}")
    print(f"mean gain on courses {statistics.mean(r[2] / r[1] - 1.0 for r in rows):.2%}")
    print(f"mean gain on the best bond {statistics.mean(r[2] / r[0] - 1.0 for r in rows):.2%}")
    known = [r for r in rows if r[5]]
    print(f"rectangles as full as proven: {sum(r[2] == r[5] for r in known)} of {len(known)}")
    length, width, a, b = KNOWN
    region, packing = box(0, 0, length, width), pack_rectangle(*KNOWN)
    free = lay_free(
        region, courses_along(region, a, b, 0.0), time_limit_s=seconds[0], enough=packing.count
    )
    print(f"{a} by {b} in {length} by {width}: {free.count} of {packing.count} proven")
    assert all(math.isfinite(r[3]) and r[2] >= max(r[0], r[1]) for r in rows)
    print(f"{time.time() - began:.0f} s")


if __name__ == "__main__":
    main()
