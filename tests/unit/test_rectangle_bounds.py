from time import perf_counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.paving.rectangle_blocks import search_blocks
from bedplan.paving.rectangle_bounds import (
    barnes_bound,
    bound_table,
    class_bound,
    critical_ratios,
    fitted,
    strip_waste,
)
from bedplan.paving.rectangle_cover import Weights, cover_model, search, weigh
from bedplan.paving.rectangle_layout import lay
from bedplan.paving.rectangle_sizes import (
    Unit,
    all_normal_sizes,
    decompose,
    normal_size,
    normal_sizes,
    partitions,
    raster,
)

UNITS = st.tuples(st.integers(1, 12), st.integers(1, 12)).map(lambda u: Unit(max(u), min(u)))


@given(st.integers(1, 90), UNITS)
@settings(max_examples=80, deadline=None)
def test_normal_sizes_are_the_sums_of_sides(side, unit):
    sums = {i * unit.long + j * unit.short for i in range(side + 1) for j in range(side + 1)}
    wanted = sorted(value for value in sums if value <= side)
    assert normal_sizes(side, unit).tolist() == wanted
    assert normal_size(side, unit) == wanted[-1]
    longs, shorts = decompose(side, unit)
    assert longs * unit.long + shorts * unit.short == wanted[-1]


def test_too_many_sizes_are_thinned_and_known_to_be():
    unit = Unit(99_991, 99_989)
    sizes = normal_sizes(10**7, unit)
    assert all_normal_sizes(10**7, unit) is None
    assert len(sizes) < 400
    assert sizes[-1] == normal_size(10**7, unit)
    assert cover_model(10**7, 10**6, unit) is None  # no bound is drawn from a thinned list


@given(st.integers(1, 60), UNITS)
@settings(max_examples=60, deadline=None)
def test_raster_is_the_two_pushes(side, unit):
    # first principles: push right, then left, from every normal size
    sizes = normal_sizes(side, unit).tolist()
    for extent in {unit.long, unit.short}:
        if extent <= side:
            pushed = {side - extent - gap for gap in sizes if gap <= side - extent}
            wanted = {max(s for s in sizes if s <= start) for start in pushed}
            assert raster(side, extent, np.array(sizes)).tolist() == sorted(wanted)


@pytest.mark.parametrize(
    ("length", "width", "strip"),
    [
        (length, width, strip)
        for strip in (2, 3, 4, 5)
        for length in range(strip, 12)
        for width in range(strip, 12)
    ],
)
def test_strip_waste_cannot_be_avoided(length, width, strip):
    # colour the cells by diagonals: every strip takes one cell of each colour, so the rarest
    # colour bounds the strips; first principles
    rarest = min(
        sum((x + y) % strip == k for x in range(length) for y in range(width))
        for k in range(strip)
    )
    assert strip_waste(length, width, strip) <= length * width - strip * rarest


def test_class_bound_is_never_worse_and_often_better_than_the_instance_s_own():
    unit, better = Unit(5, 3), 0
    for length in range(8, 40):
        for width in range(8, length + 1):
            shapes = critical_ratios(length, width, unit)
            own, best = (
                barnes_bound(length, width, unit),
                class_bound(length, width, unit, shapes),
            )
            assert best <= own
            better += best < own
    assert better > 20  # of 528


@given(st.integers(1, 60), UNITS, st.integers(1, 9), st.integers(1, 9))
@settings(max_examples=80, deadline=None)
def test_fitted_side_holds_every_row_and_is_least(side, unit, p, q):
    lengths = [i * p + j * q for i, j in partitions(side, unit).tolist()]
    assert fitted(np.array([side]), unit, np.array([[p, q]]))[0, 0] == max(lengths)


def test_table_agrees_with_the_bound_of_each_rectangle():
    unit, shapes = Unit(7, 3), np.array([[7, 3], [5, 2], [2, 1], [9, 4]])
    sizes = normal_sizes(40, unit)
    table = bound_table(sizes, sizes[:12], unit, shapes)
    for i in range(1, len(sizes)):
        for j in range(1, 12):
            length, width = int(sizes[i]), int(sizes[j])
            assert table[i, j] == class_bound(length, width, unit, shapes)


@pytest.mark.parametrize(
    ("length", "width", "long", "short"),
    [(22, 17, 5, 3), (43, 26, 7, 3), (37, 30, 8, 3), (26, 19, 7, 4)],
)
def test_weights_prove_their_bound(length, width, long, short):
    model = cover_model(length, width, Unit(long, short))
    weights = weigh(model, 5.0)
    # the proof, in whole numbers: every place is worth a unit, so no more fit than the whole
    assert all(weights.of_point[cells].sum() >= weights.worth for cells in model.cells)
    assert weights.of_point.min() >= 0
    assert weights.bound == weights.of_point.sum() // weights.worth
    assert weights.bound <= length * width // (long * short)


@pytest.mark.parametrize(
    ("length", "width", "long", "short", "most"),
    [(11, 8, 3, 2, 14), (12, 9, 5, 3, 6), (13, 11, 4, 3, 11), (16, 11, 5, 4, 8)],
)
def test_search_finds_the_most_and_refutes_one_more(length, width, long, short, most):
    # `most` is what trying every whole-number place gives (tests/unit/test_rectangle_packing.py)
    model = cover_model(length, width, Unit(long, short))
    even = Weights(
        np.full(model.points, 10, dtype=np.int64),
        np.array([10 * len(cells) for cells in model.cells]),
        10 * min(len(cells) for cells in model.cells),
    )
    # even weights are poor ones: the search itself has to do the work
    outcome, spots = search(model, even, most, perf_counter() + 20)
    assert (outcome, len(spots)) == ("found", most)
    assert search(model, even, most + 1, perf_counter() + 20) == ("none", [])


def test_search_gives_up_when_late():
    model = cover_model(57, 53, Unit(7, 5))
    weights = weigh(model, 5.0)
    assert search(model, weights, 86, perf_counter() - 1) == ("unknown", [])


def test_blocks_alone_are_not_enough():
    # R. Morabito and S. Morales 1998 leave 43 × 26 by 7 × 3 at 52 (from memory); 53 fit
    unit, shapes = Unit(7, 3), critical_ratios(43, 26, Unit(7, 3))
    tables = search_blocks(43, 26, unit, shapes, perf_counter() + 20)
    assert tables.best == 52
    assert len(lay(tables)) == 52
