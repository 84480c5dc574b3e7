from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.errors import GeometryError
from bedplan.paving.rectangle import RectanglePacking, full_strip, pack_rectangle, surplus
from bedplan.paving.rectangle_sizes import Unit

LAWS = settings(max_examples=60, deadline=None)
SIDES = st.integers(1, 70)
UNITS = st.tuples(st.integers(1, 13), st.integers(1, 13))


def boxes(packing: RectanglePacking, unit_length: int, unit_width: int):
    for p in packing.placements:
        along, across = (unit_width, unit_length) if p.turned else (unit_length, unit_width)
        yield p.x, p.y, p.x + along, p.y + across


def assert_sound(packing, length, width, unit_length, unit_width):
    placed = list(boxes(packing, unit_length, unit_width))
    assert len(placed) == packing.count <= packing.upper_bound
    assert packing.proven == (packing.count == packing.upper_bound)
    for x0, y0, x1, y1 in placed:
        assert 0 <= x0 < x1 <= length
        assert 0 <= y0 < y1 <= width
    for n, (x0, y0, x1, y1) in enumerate(placed):
        for u0, v0, u1, v1 in placed[:n]:
            assert x0 >= u1 or x1 <= u0 or y0 >= v1 or y1 <= v0


def most_by_trying_all(length: int, width: int, a: int, b: int) -> int:
    # every whole-number place, cell by cell: no raster, no weights, no cuts
    ways = {(a, b), (b, a)}

    def mask(along, across):
        return sum(1 << (i * width + j) for i in range(along) for j in range(across))

    masks = {way: mask(*way) for way in ways}

    @cache
    def best(cell: int, taken: int) -> int:  # taken: cells from this one on
        if cell >= length * width:
            return 0
        x, y = divmod(cell, width)
        found = best(cell + 1, taken >> 1)
        if taken & 1:
            return found
        for along, across in ways:
            if x + along <= length and y + across <= width and not taken & masks[along, across]:
                with_it = (taken | masks[along, across]) >> 1
                found = max(found, 1 + best(cell + 1, with_it))
        return found

    return best(0, 0)


@pytest.mark.parametrize(
    ("a", "b"),
    [(2, 1), (3, 1), (3, 2), (4, 3), (5, 2), (5, 3), (5, 4), (3, 3), (6, 5), (7, 2), (1, 4)],
)
def test_count_is_the_best_of_all_whole_number_packings(a, b):
    small = a * b <= 4  # many small units make trying all slow
    for width in range(1, 8 if small else 9):
        for length in range(width, 8 if small else 13):
            packing = pack_rectangle(length, width, a, b)
            assert packing.proven, (length, width)
            assert packing.count == most_by_trying_all(length, width, a, b), (length, width)


@pytest.mark.parametrize("strip", [2, 3, 4, 5, 7])
def test_strips_one_wide_waste_what_barnes_says(strip):
    # F. W. Barnes, Discrete Mathematics 26, 1979: the least waste of 1 × k strips, exactly
    for length in range(strip, 24):
        for width in range(strip, length + 1):
            rest, other = length % strip, width % strip
            waste = min(rest * other, (strip - rest) * (strip - other))
            packing = pack_rectangle(length, width, strip, 1)
            assert packing.proven
            assert length * width - packing.count * strip == waste


@LAWS
@given(SIDES, SIDES, UNITS)
def test_units_lie_inside_and_apart(length, width, unit):
    if length * width <= 100 * unit[0] * unit[1]:
        packing = pack_rectangle(length, width, *unit, time_limit_s=2)
        assert_sound(packing, length, width, *unit)


@LAWS
@given(SIDES, SIDES, UNITS, st.integers(2, 50))
def test_swapping_sides_and_changing_the_measure_change_nothing(length, width, unit, factor):
    if length * width <= 60 * unit[0] * unit[1]:
        first = pack_rectangle(length, width, *unit)
        others = [
            pack_rectangle(width, length, *unit),
            pack_rectangle(length, width, *unit[::-1]),
            pack_rectangle(*(factor * side for side in (length, width, *unit))),
        ]
        assert {(p.count, p.upper_bound) for p in others} == {(first.count, first.upper_bound)}


@LAWS
@given(SIDES, SIDES, UNITS, st.integers(0, 3), st.integers(0, 3))
def test_a_greater_rectangle_never_holds_fewer(length, width, unit, more, wider):
    if length * width <= 50 * unit[0] * unit[1]:
        less = pack_rectangle(length, width, *unit)
        greater = pack_rectangle(length + more, width + wider, *unit)
        assert less.count <= greater.upper_bound
        if greater.proven:
            assert less.count <= greater.count


@LAWS
@given(SIDES, UNITS)
def test_one_row_is_plain_division(length, unit):
    # in a row as wide as the unit's short side, no unit can stand across
    long, short = max(unit), min(unit)
    if long > short:
        assert pack_rectangle(length, short, *unit).count == length // long


@pytest.mark.parametrize(
    ("length", "width", "unit", "count"),
    [
        (40 * 480, 36 * 10, (80, 40), 40 * 480 * 36 * 10 // 3200),  # 4 × 8 in, no waste
        (1000, 900, (7, 3), 42857),  # the area bound is met
        (10**9, 10**9, (10**7, 3 * 10**6), 33333),  # nanometres or inches, the work is the same
        (12_192_000, 1_219_200, (406_400, 406_400), 90),  # squares: 30 × 3
    ],
)
def test_long_walks_and_fine_measures(length, width, unit, count):
    packing = pack_rectangle(length, width, *unit)
    assert packing.proven
    assert packing.count == count
    assert_inside_and_apart_by_counting(packing, length, width, *unit)


def assert_inside_and_apart_by_counting(packing, length, width, a, b):
    # pairs are too many to try: count how often each cell between two coordinates is covered
    placed = np.array(list(boxes(packing, a, b)))
    assert len(placed) == packing.count
    assert placed[:, :2].min() >= 0
    assert placed[:, 2].max() <= length
    assert placed[:, 3].max() <= width
    xs, ys = np.unique(placed[:, [0, 2]]), np.unique(placed[:, [1, 3]])
    covered = np.zeros((len(xs), len(ys)), dtype=np.int8)
    lefts, rights = np.searchsorted(xs, placed[:, 0]), np.searchsorted(xs, placed[:, 2])
    lows, highs = np.searchsorted(ys, placed[:, 1]), np.searchsorted(ys, placed[:, 3])
    for left, right, low, high in zip(lefts, rights, lows, highs, strict=True):
        covered[left:right, low:high] += 1
    assert covered.max() == 1


def test_what_is_too_fine_to_prove_still_has_a_sound_bound():
    packing = pack_rectangle(10_000_000, 900_000, 190_500, 92_075, time_limit_s=2)
    assert_sound(packing, 10_000_000, 900_000, 190_500, 92_075)
    assert packing.upper_bound - packing.count <= 3


def test_a_strip_of_whole_periods_is_filled_without_waste():
    unit = Unit(5, 3)
    strip = full_strip(30, 11, unit)
    assert len(strip) * unit.area == 30 * 11
    covered = {(x + i, y + j) for x, y, a, b in strip for i in range(a) for j in range(b)}
    assert covered == {(x, y) for x in range(30) for y in range(11)}
    assert surplus(100, unit) == 0
    assert surplus(1000, unit) == (1000 // 15 - 3) * 15


@pytest.mark.parametrize(
    ("sides", "said"),
    [
        ((0, 5, 3, 2), "length must be a whole number above 0, not 0"),
        ((5, -1, 3, 2), "width must be a whole number above 0, not -1"),
        ((5, 5, 3.0, 2), "unit length must be a whole number above 0, not 3.0"),
        ((5, 5, 3, True), "unit width must be a whole number above 0, not True"),
        ((5, 5, 3, "2"), "unit width must be a whole number above 0, not '2'"),
        ((10**6, 10**6, 3, 2), "lay it out in parts"),
    ],
)
def test_what_cannot_be_packed_is_said(sides, said):
    with pytest.raises(GeometryError) as caught:
        pack_rectangle(*sides)
    assert said in str(caught.value)


def test_no_time_is_refused():
    with pytest.raises(GeometryError, match="time limit must be above 0"):
        pack_rectangle(5, 5, 3, 2, time_limit_s=0)


def test_nothing_fits():
    assert pack_rectangle(10, 3, 5, 4) == RectanglePacking(0, 0, True, ())
