"""Free laying of small ground against an exact count by an independent solver.

Ground and units of whole sides, no joints: pushed left and down as far as they go, units along
and across lie at whole coordinates, so placing them there is all there is to try.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

from bedplan.paving import courses_along, upper_bound
from bedplan.paving.bound_mixed import mixed_bound
from bedplan.paving.free import lay_free

ELL = Polygon([(0, 0), (9, 0), (9, 4), (4, 4), (4, 8), (0, 8)])
TEE = Polygon([(0, 0), (11, 0), (11, 3), (7, 3), (7, 8), (4, 8), (4, 3), (0, 3)])
STAIRS = Polygon([(0, 0), (8, 0), (8, 3), (6, 3), (6, 5), (3, 5), (3, 8), (0, 8)])
ROUND_A_POST = box(0, 0, 8, 7).difference(box(3, 3, 4, 5))
CASES = {
    "square of bricks": (box(0, 0, 5, 5), (3, 2), 4),
    "eight by eight": (box(0, 0, 8, 8), (5, 3), 4),
    "thirteen by eleven": (box(0, 0, 13, 11), (5, 3), 9),
    "ell": (ELL, (3, 2), None),
    "ell of long units": (ELL, (4, 1), None),
    "tee": (TEE, (3, 2), None),
    "stairs": (STAIRS, (2, 1), None),
    "stairs of squares": (STAIRS, (2, 2), None),
    "round a post": (ROUND_A_POST, (3, 2), None),
    "round a post, three by one": (ROUND_A_POST, (3, 1), None),
}


def most_at_whole_places(region, size):
    """The most units of whole sides, both ways round, by integer programme over their places."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    west, south, east, north = map(int, region.bounds)
    cells = {
        cell: i
        for i, cell in enumerate(
            (x, y)
            for x, y in itertools.product(range(west, east), range(south, north))
            if region.covers(box(x, y, x + 1, y + 1))
        )
    }
    units = []
    starts = itertools.product(range(west, east), range(south, north))
    for (a, b), (x, y) in itertools.product({size, size[::-1]}, starts):
        under = [cells.get((x + i, y + j)) for i in range(a) for j in range(b)]
        if None not in under:
            units.append(under)
    table = np.zeros((len(cells), len(units)))
    for unit, under in enumerate(units):
        table[under, unit] = 1.0
    answer = milp(
        -np.ones(len(units)),
        constraints=LinearConstraint(table, ub=1.0),
        integrality=np.ones(len(units)),
        bounds=Bounds(0, 1),
    )
    assert answer.status == 0
    return round(-answer.fun)


@pytest.mark.parametrize("angle", [0.0, 23.0])
@pytest.mark.parametrize("name", CASES)
def test_small_ground_holds_as_many_as_can_be_placed(name, angle):
    region, size, known = CASES[name]
    most = most_at_whole_places(region, size)
    assert known in (None, most)
    turned = affinity.translate(affinity.rotate(region, angle, origin=(0, 0)), 12.3, -4.5)
    laying = lay_free(turned, courses_along(turned, *size, 0.0), enough=most, time_limit_s=20.0)
    assert laying.count >= most
    assert laying.count <= mixed_bound(turned, *size, 0.0, angle, enough=most)
    units = laying.outlines()
    assert np.all(shapely.covers(turned.buffer(3e-5), units))
    first, second = np.triu_indices(len(units), 1)
    assert np.all(shapely.area(shapely.intersection(units[first], units[second])) < 1e-6)


def test_joints_are_part_of_the_packing():
    # bricks 215 by 102.5 mm with 10 mm joints: 225 by 112.5, so 2 to 1 with the joint counted.
    # A bay of 5 by 3 half bricks (joints between them only) holds 7, the odd half left open.
    half, joint = 0.1125, 0.010
    bay = box(0, 0, 5 * half - joint, 3 * half - joint)
    laying = lay_free(bay, courses_along(bay, 0.215, 0.1025, joint), enough=7, time_limit_s=20.0)
    assert (laying.count, upper_bound(bay, 0.215, 0.1025, joint)) == (7, 7)
    tight = box(0, 0, 5 * half - joint - 1e-3, 3 * half - joint)
    assert lay_free(tight, laying_of(tight, joint), time_limit_s=1.0).count == 6


def laying_of(ground, joint):
    return courses_along(ground, 0.215, 0.1025, joint)


def test_a_start_with_nothing_in_it_is_filled():
    ground = box(0, 0, 5, 5)
    empty = replace(courses_along(ground, 3, 2, 0.0), units=(), faces=())
    laying = lay_free(ground, empty, enough=4, time_limit_s=20.0)
    assert (laying.count, laying.bond.name, laying.proven) == (4, "free", True)


def test_what_another_bond_holds_is_never_missed():
    # herringbone fits a bay that neither courses nor a search of no time would fill as well
    from bedplan.paving import best_laying, herringbone

    ground = Polygon([(0, 0), (2.2, 0.1), (2.0, 1.9), (0.2, 1.7)])
    other = best_laying(ground, herringbone(0.4, 0.2), 0.005)
    one = replace(other, units=other.units[:1], faces=(0,))
    assert lay_free(ground, one, time_limit_s=1.5).count >= other.count
