"""Packings of identical rectangles, proven.

Every 25th class of `identical_rectangles_1` (K. A. Dowsland, EJOR 1984-87; E. G. Birgin, R. D.
Lobato & R. Morabito, JORS 61, 2010); the whole set runs in `tests/bench/bench_rectangle.py`.
"""

from pathlib import Path

import pytest

from bedplan.paving.rectangle import pack_rectangle

INSTANCES = [
    tuple(map(int, line.split()))
    for line in (Path(__file__).parents[1] / "data" / "rectangle_instances.txt")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]


def assert_sound(packing, length, width, a, b):
    cells = set()
    for p in packing.placements:
        along, across = (b, a) if p.turned else (a, b)
        assert p.x >= 0
        assert p.y >= 0
        assert p.x + along <= length
        assert p.y + across <= width
        unit = {(x, y) for x in range(p.x, p.x + along) for y in range(p.y, p.y + across)}
        assert not unit & cells
        cells |= unit
    assert packing.count == len(packing.placements)


def test_every_instance_of_the_sample_is_proven():
    assert len(INSTANCES) == 314
    for instance in INSTANCES:
        packing = pack_rectangle(*instance)
        assert packing.proven, instance
        assert_sound(packing, *instance)


# Rectangles that five-block cuts leave one unit short. Each count equals the area bound, so the
# places themselves are the proof. L. Lins, S. Lins, R. Morabito, J. Oper. Res. Soc. 54, 2003
# solve such cases by L-shaped cuts (the list is from memory, the counts are proven by area).
@pytest.mark.parametrize(
    "instance",
    [
        (43, 26, 7, 3),
        (49, 28, 8, 3),
        (57, 34, 7, 4),
        (61, 35, 10, 3),
        (61, 38, 10, 3),
        (63, 44, 8, 5),
        (67, 37, 11, 3),
        (67, 40, 11, 3),
        (74, 49, 11, 4),
        (106, 59, 13, 5),
    ],
)
def test_hard_rectangles_reach_the_area_bound(instance):
    length, width, a, b = instance
    packing = pack_rectangle(*instance, time_limit_s=20)
    assert packing.count == packing.upper_bound == length * width // (a * b)
    assert_sound(packing, *instance)


def most_by_constraints(length, width, a, b, target):
    """Say whether `target` units fit, by an independent solver on every normal place."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    model = cp_model.CpModel()
    sums = {i * a + j * b for i in range(length) for j in range(length)}
    taken, cover = [], {}
    for along, across in ((a, b), (b, a)):
        for x in sorted(s for s in sums if s + along <= length):
            for y in sorted(s for s in sums if s + across <= width):
                here = model.new_bool_var("")
                taken.append(here)
                for i in range(x, x + along):
                    for j in range(y, y + across):
                        cover.setdefault((i, j), []).append(here)
    for units in cover.values():
        model.add_at_most_one(units)
    model.add(sum(taken) >= target)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = 120
    status = solver.solve(model)
    assert status in (cp_model.FEASIBLE, cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return status != cp_model.INFEASIBLE


# Rectangles where every linear bound allows one unit more than fits: only the search proves it.
@pytest.mark.parametrize(
    ("instance", "count"),
    [
        ((37, 30, 8, 3), 45),
        ((32, 22, 5, 4), 34),
        ((40, 26, 7, 4), 36),
        ((32, 27, 5, 4), 42),
        ((40, 33, 7, 4), 46),
        ((83, 46, 11, 7), 48),
    ],
)
def test_where_linear_bounds_fail_the_search_proves(instance, count):
    packing = pack_rectangle(*instance, time_limit_s=20)
    assert (packing.count, packing.proven) == (count, True)
    assert_sound(packing, *instance)


@pytest.mark.parametrize(("instance", "count"), [((22, 17, 5, 3), 24), ((17, 15, 5, 3), 16)])
def test_an_independent_solver_agrees(instance, count):
    packing = pack_rectangle(*instance)
    assert packing.proven
    assert most_by_constraints(*instance, packing.count)
    assert not most_by_constraints(*instance, packing.count + 1)
