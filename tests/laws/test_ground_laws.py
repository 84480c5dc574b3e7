"""Laws of the ground: volumes add up, do not mind the axes, and agree with an outside library."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import Delaunay
from shapely import affinity
from shapely.geometry import Polygon, box
from strategies import angles, rings

from bedplan.ground import (
    Plane,
    Room,
    balanced,
    best_fit,
    board_top,
    depths_between,
    dig_path,
    earthwork,
    falling,
    level,
    patch_of,
    profile,
    share_spoil,
    surface_of,
    tiers_needed,
    work_on,
)
from bedplan.model.ground import Soil

SOME = settings(max_examples=40, deadline=None)
FENCE = box(-4, -4, 4, 4)
HALF = 4.0
EXACT = 1e-9


@st.composite
def spot_sets(draw, least=1, covering=False):
    """Spots inside a fence of 8 by 8 m: a grid, or strewn; `covering` puts some at its corners."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    if not covering and draw(st.booleans()):
        columns, rows = draw(st.integers(2, 5)), draw(st.integers(2, 5))
        x, y = np.linspace(-HALF, HALF, columns), np.linspace(-HALF, HALF, rows)
        places = np.array([(a, b) for a in x for b in y])
    else:
        places = rng.uniform(-HALF, HALF, (draw(st.integers(least, 14)), 2))
        if covering:
            # off the circle through the corners, so that scipy's split is the only one
            far = [(-4, -4), (4, -4.5), (4.2, 4), (-4.4, 4.3)]
            places = np.concatenate([places, far])
    heights = rng.normal(0.0, 0.4, len(places)) + places @ rng.normal(0.0, 0.1, 2)
    return [(float(x), float(y), float(z)) for (x, y), z in zip(places, heights, strict=True)]


@st.composite
def outlines(draw):
    """A bed inside the fence, crooked, now and then with a hole."""
    ring = Polygon(draw(rings()))
    widest = max(map(abs, ring.bounds))
    shape = affinity.scale(ring, *(2 * [min(1.0, 3.9 / widest)]), origin=(0, 0))
    hole = affinity.scale(shape, 0.4, 0.4, origin=shape.representative_point())
    if draw(st.booleans()) and shape.contains_properly(hole):
        return Polygon(shape.exterior, [hole.exterior])
    return shape


planes = st.builds(
    lambda height, turn, slope: falling((0.3, -0.2), height, turn, slope),
    st.floats(-1, 1),
    angles,
    st.sampled_from([0.0, 0.02, 0.3]),
)


def moved_spots(spots, turn_deg, dx, dy, up):
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return [(c * x - s * y + dx, s * x + c * y + dy, z + up) for x, y, z in spots]


def moved_shape(shape, turn_deg, dx, dy):
    return affinity.translate(affinity.rotate(shape, turn_deg, origin=(0, 0)), dx, dy)


def volumes(work):
    return (work.cut_m3, work.fill_m3, work.cut_area_m2, work.fill_area_m2)


def close(a, b, within=EXACT):
    assert volumes(a) == pytest.approx(volumes(b), abs=within)


@SOME
@given(spot_sets(), outlines(), planes, angles, st.floats(-1, 1))
def test_an_outline_split_in_two_holds_the_same_earth(spots, outline, plane, turn, aside):
    ground = surface_of(spots, FENCE)
    halves = [
        affinity.rotate(box(*side), turn, origin=(0, 0))
        for side in ((-20, aside, 20, 20), (-20, -20, 20, aside))
    ]
    pieces = [shapely.intersection(outline, half) for half in halves]
    works = [earthwork(ground, plane, piece) for piece in pieces if piece.area > 1e-5]
    whole = earthwork(ground, plane, outline)
    sums = [sum(each) for each in zip(*map(volumes, works), strict=True)]
    assert sums == pytest.approx(volumes(whole), abs=1e-5)
    assert max(work.greatest_cut_m for work in works) <= whole.greatest_cut_m + EXACT


@SOME
@given(spot_sets(), outlines(), planes, angles, st.floats(-50, 50), st.floats(-2, 2))
def test_where_the_axes_lie_changes_nothing(spots, outline, plane, turn, away, up):
    before = earthwork(surface_of(spots, FENCE), plane, outline)
    x, y = plane.rise
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    ((at_x, at_y, height),) = moved_spots([(*plane.at, plane.height_m)], turn, away, -away, up)
    after = earthwork(
        surface_of(
            moved_spots(spots, turn, away, -away, up), moved_shape(FENCE, turn, away, -away)
        ),
        Plane((at_x, at_y), height, (c * x - s * y, s * x + c * y)),
        moved_shape(outline, turn, away, -away),
    )
    close(before, after, 1e-7)


def half_plane(rise, at_zero):
    """Return a big square on the side where ``at_zero + rise·p`` is positive."""
    steep = math.hypot(*rise)
    if steep < 1e-12:
        return box(-99, -99, 99, 99) if at_zero > 0 else Polygon()
    turn = math.degrees(math.atan2(rise[1], rise[0]))
    return affinity.rotate(box(-at_zero / steep, -99, 99, 99), turn, origin=(0, 0))


def independent_work(spots, plane, outline):
    """Integrate over scipy's triangles with overlays: cut, fill, by area and centre of area."""
    table = np.array(spots)
    cut = fill = 0.0
    for simplex in Delaunay(table[:, :2]).simplices:
        corners = table[simplex]
        x, y, one = np.linalg.solve(np.column_stack((corners[:, :2], np.ones(3))), corners[:, 2])
        rise = (x - plane.rise[0], y - plane.rise[1])
        nought = one - plane.height_at((0.0, 0.0))
        under = Polygon(corners[:, :2]).intersection(outline)
        for sign in (1, -1):
            side = under.intersection(half_plane((sign * rise[0], sign * rise[1]), sign * nought))
            if side.area:
                deep = nought + rise[0] * side.centroid.x + rise[1] * side.centroid.y
                cut, fill = (
                    (cut + side.area * deep, fill) if sign > 0 else (cut, fill - side.area * deep)
                )
    return cut, fill


@SOME
@given(spot_sets(covering=True), outlines(), planes)
def test_cut_and_fill_agree_with_an_independent_library(spots, outline, plane):
    work = earthwork(surface_of(spots, FENCE), plane, outline)
    assert (work.cut_m3, work.fill_m3) == pytest.approx(
        independent_work(spots, plane, outline), abs=1e-8
    )


@SOME
@given(spot_sets(), outlines(), planes, st.floats(0.001, 0.5))
def test_raising_the_plane_lowers_the_cut_by_at_most_its_area(spots, outline, plane, by):
    patch = patch_of(surface_of(spots, FENCE), outline)
    low, high = work_on(patch, plane), work_on(patch, plane.raised(by))
    assert low.cut_m3 - by * low.cut_area_m2 - EXACT <= high.cut_m3 <= low.cut_m3 + EXACT
    assert low.fill_m3 - EXACT <= high.fill_m3 <= low.fill_m3 + by * high.fill_area_m2 + EXACT
    assert low.surplus_m3 - high.surplus_m3 == pytest.approx(by * outline.area, abs=EXACT)
    assert low.cut_area_m2 + low.fill_area_m2 <= outline.area + 1e-6


@SOME
@given(spot_sets(), st.integers(0, 2**32 - 1))
def test_the_ground_passes_through_its_spots_and_overshoots_none(spots, seed):
    ground = surface_of(spots, FENCE)
    table = np.array(spots)
    assert ground.heights_at(table[:, :2]) == pytest.approx(table[:, 2], abs=1e-9)
    places = np.random.default_rng(seed).uniform(-HALF, HALF, (50, 2))
    heights = ground.heights_at(places)
    assert table[:, 2].min() - EXACT <= heights.min()
    assert heights.max() <= table[:, 2].max() + EXACT
    hull = shapely.MultiPoint(table[:, :2]).convex_hull
    lines = shapely.shortest_line(hull, shapely.points(places))
    nearest = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
    assert heights == pytest.approx(ground.heights_at(nearest), abs=1e-6)
    held = FENCE.area - FENCE.intersection(hull).area
    assert ground.extrapolated.area == pytest.approx(held, abs=1e-5)


@SOME
@given(spot_sets(), outlines(), angles, st.sampled_from([1.0, 1.11, 1.25]))
def test_a_balanced_plane_fills_what_it_cuts(spots, outline, turn, bank_per_fill):
    patch = patch_of(surface_of(spots, FENCE), outline)
    work = work_on(patch, balanced(patch, falling((0, 0), 3.0, turn, 0.02), bank_per_fill))
    assert work.cut_m3 == pytest.approx(work.fill_m3 * bank_per_fill, abs=1e-7)


@SOME
@given(spot_sets(), outlines(), st.floats(-0.1, 0.1), angles, st.sampled_from([0.01, 0.1]))
def test_no_plane_lies_nearer_than_the_best_fit(spots, outline, up, turn, slope):
    patch = patch_of(surface_of(spots, FENCE), outline)
    best = best_fit(patch)
    tilt = falling((0, 0), up, turn, slope)
    other = Plane(
        best.at,
        best.height_m + tilt.height_at(best.at),
        (best.rise[0] + tilt.rise[0], best.rise[1] + tilt.rise[1]),
    )

    def misfit(plane):
        off = patch.heights - plane.heights_at(patch.places)
        return patch.product_integral(off, off)

    assert misfit(best) <= misfit(other) + EXACT
    assert work_on(patch, best).surplus_m3 == pytest.approx(0, abs=1e-9)


@SOME
@given(spot_sets(), angles, st.floats(0.5, 3.9), st.floats(0.05, 0.3), st.floats(0, 0.1))
def test_tiers_reach_the_ground_and_no_further(spots, turn, reach, board, bury):
    ground = surface_of(spots, FENCE)
    x, y = reach * math.cos(math.radians(turn)), reach * math.sin(math.radians(turn))
    line = ((-x, -y), (x, y))
    top = board_top(ground, [line], 0.05)
    spans = tiers_needed(ground, line, top, board, bury)
    assert spans[0].start_m == 0
    assert spans[-1].end_m == pytest.approx(2 * reach)
    assert all(a.end_m == b.start_m and a.tiers != b.tiers for a, b in pairwise(spans))
    stations, heights = zip(*profile(ground, line), strict=True)
    for span in spans:
        # a millimetre from the steps, where either number may stand
        for at in np.linspace(span.start_m + 1e-3, span.end_m - 1e-3, 7).tolist():
            if not span.start_m < at < span.end_m:
                continue
            share = at / (2 * reach)
            (height,) = ground.heights_at([((2 * share - 1) * x, (2 * share - 1) * y)]).tolist()
            assert height == pytest.approx(np.interp(at, stations, heights), abs=1e-6)
            assert top - span.tiers * board <= height - bury + 1e-3
            assert span.tiers == 1 or top - (span.tiers - 1) * board >= height - bury - 1e-3


@SOME
@given(spot_sets(), outlines(), planes, st.floats(0.05, 0.3), st.floats(0.02, 0.2))
def test_a_base_is_nowhere_thinner_than_asked(spots, outline, finish, base, above):
    patch = patch_of(surface_of(spots, FENCE), outline)
    even = dig_path(patch, outline, finish, (base, above), "parallel")
    assert even.base.volume_m3 == pytest.approx(outline.area * base)
    deep = dig_path(patch, outline, finish, (base, above), "level")
    assert deep.base.least_m == pytest.approx(base)
    assert deep.base.volume_m3 >= even.base.volume_m3 - EXACT
    assert deep.work.cut_m3 >= even.work.cut_m3 - EXACT
    # what stands between the finish and the ground: the whole stack fills the dig, and more
    stack = depths_between(finish, deep.formation, outline).volume_m3
    made = deep.surface_work.surplus_m3 + stack
    assert deep.work.surplus_m3 == pytest.approx(made, abs=1e-9)


@SOME
@given(
    st.floats(0, 20),
    st.floats(0, 20),
    st.floats(1, 1.6),
    st.floats(0.8, 1.3),
    st.lists(st.floats(0, 5), max_size=5),
)
def test_no_soil_is_lost(cut, fill, loose, compacted, rooms):
    soil = Soil("some", loose, compacted)
    spoil = share_spoil(cut, fill, soil, [Room(str(i), room) for i, room in enumerate(rooms)])
    placed = sum(room.room_m3 for room in spoil.taken)
    assert spoil.rolled_m3 + (placed + spoil.cart_m3) / loose == pytest.approx(cut, abs=EXACT)
    assert spoil.rolled_m3 * compacted + spoil.wanting_m3 == pytest.approx(fill, abs=EXACT)
    assert all(taken.room_m3 <= room for taken, room in zip(spoil.taken, rooms, strict=True))
    assert spoil.cart_m3 <= EXACT or placed == pytest.approx(sum(rooms))


def test_the_independent_integration_sees_a_wrong_figure():
    spots = [(-4, -4, 0), (4, -4.5, 1), (4.2, 4, 0), (-4.4, 4.3, 1)]
    cut, fill = independent_work(spots, level(0.5), box(-1, -1, 1, 1))
    work = earthwork(surface_of(spots, FENCE), level(0.51), box(-1, -1, 1, 1))
    assert (cut, fill) != pytest.approx((work.cut_m3, work.fill_m3), abs=1e-3)
