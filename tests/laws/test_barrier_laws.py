"""Laws of a laid weed barrier on random ground with holes and separate walks."""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box

from bedplan.geometry.polygons import as_area, minus, parts
from bedplan.geometry.tolerance import GRID_M
from bedplan.takeoff.barrier import lay_strips

metres = st.floats(0.4, 4.0)


@st.composite
def grounds(draw, beds=4, islands=2):
    """A crooked star with beds cut out at any angle and separate walks beside it."""
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.floats(1.0, 6.0), min_size=count, max_size=count))
    ways = np.arange(count) * 2 * math.pi / count
    ground = Polygon(np.column_stack((radii * np.cos(ways), radii * np.sin(ways))))
    place = st.tuples(
        metres, metres, st.sampled_from([0.0, 30.0, 71.3]), st.floats(-6, 5), st.floats(-6, 5)
    )
    for length, width, turn, x, y in draw(st.lists(place, max_size=islands)):
        ground = ground.union(
            affinity.rotate(box(x, y, x + length, y + width), turn), grid_size=GRID_M
        )
    for length, width, turn, x, y in draw(st.lists(place, max_size=beds)):
        ground = ground.difference(
            affinity.rotate(box(x, y, x + length, y + width), turn), grid_size=GRID_M
        )
    ground = as_area(ground)
    assume(ground.area > 0.1)
    return ground


rolls = st.tuples(st.floats(0.4, 3.0), st.sampled_from([0.0, 0.05, 0.15, 0.3, 0.6])).map(
    lambda pair: {"roll_width_m": pair[0], "lap_m": pair[0] * pair[1]}
)
angles = st.sampled_from([0.0, 17.0, 30.0, 90.0, 123.4])


def laid(strips):
    return shapely.union_all([strip.outline for strip in strips], grid_size=GRID_M)


@settings(max_examples=120, deadline=None)
@given(
    grounds(),
    rolls,
    st.sampled_from([0.0, 0.08]),
    st.none() | st.lists(st.floats(-400, 400), min_size=1, max_size=3),
)
def test_strips_cover_the_ground_and_its_turned_up_edge(ground, roll, turn_up, ways):
    laying = lay_strips(ground, **roll, turn_up_m=turn_up, directions_deg=ways)
    edge = ground.buffer(turn_up, quad_segs=16) if turn_up else ground
    assert shapely.difference(edge, laid(laying.strips), grid_size=GRID_M).area <= 1e-6
    total = sum(strip.outline.area for strip in laying.strips)
    assert abs(laying.fabric_area_m2 - total) <= 1e-6
    assert laying.net_area_m2 == ground.area


@settings(max_examples=80, deadline=None)
@given(grounds(), rolls, angles, st.sampled_from([0.02, 0.5, 0.98]))
def test_crossing_from_strip_to_strip_crosses_the_full_lap(ground, roll, angle, share):
    # Cut the ground along one line of every lap, near either edge or in the middle of it: what
    # still hangs together lies under one single strip, so all the lap is under both.
    assume(roll["lap_m"] > 0.02)
    laying = lay_strips(ground, **roll, directions_deg=[angle])
    turned = affinity.rotate(ground, -angle, origin=(0, 0))
    strips = [affinity.rotate(s.outline, -angle, origin=(0, 0)) for s in laying.strips]
    pitch = roll["roll_width_m"] - roll["lap_m"]
    cuts = []
    for one, other in permutations([strip.bounds for strip in strips], 2):
        start, end = max(one[0], other[0]), min(one[2], other[2])
        if abs(other[1] - one[1] - pitch) < 1e-6 and start < end:
            assert one[3] - other[1] >= roll["lap_m"] - 1e-9
            line = other[1] + share * roll["lap_m"]
            cuts.append(box(start - 1e-7, line - 1e-6, end + 1e-7, line + 1e-6))
    cut = shapely.difference(turned, shapely.union_all(cuts, grid_size=GRID_M), grid_size=GRID_M)
    for piece in parts(cut):
        assert min(minus(piece, strip).area for strip in strips) <= 1e-4


def total_at(ground, low, roll):
    """Total length of strips along x whose row passes `low`, part by part with shapely."""
    width, lap = roll["roll_width_m"], roll["lap_m"]
    west, south, east, north = ground.bounds
    low, total = low - math.ceil((low - south + width) / (width - lap)) * (width - lap), 0.0
    while low < north:
        runs = []
        for polygon in shapely.get_parts(ground):
            band = polygon.intersection(box(west - 1, low, east + 1, low + width))
            for part in shapely.get_parts(band):
                start, bottom, end, top = part.bounds
                in_lower_lap = top <= low + lap + 1e-9
                in_upper_lap = bottom >= low + width - lap - 1e-9
                spare = in_upper_lap and polygon.bounds[3] > low + width + 1e-9
                if part.area > 1e-13 and not in_lower_lap and not spare:
                    runs.append((start, end))
        reach = -math.inf
        for start, end in sorted(runs):
            total += max(0.0, end - max(start, reach))
            reach = max(reach, end)
        low += width - lap
    return total


@settings(max_examples=60, deadline=None)
@given(grounds(), rolls, angles)
def test_no_offset_of_a_dense_grid_is_shorter(ground, roll, angle):
    laying = lay_strips(ground, **roll, directions_deg=[angle])
    assume(laying.complete)
    turned = affinity.rotate(ground, -angle, origin=(0, 0))
    pitch = roll["roll_width_m"] - roll["lap_m"]
    tried = [total_at(turned, low, roll) for low in np.linspace(0.0, pitch, 60)]
    assert laying.total_length_m <= min(tried) + 1e-6


@settings(max_examples=60, deadline=None)
@given(
    grounds(beds=2, islands=0),
    rolls,
    st.floats(-180, 180),
    st.floats(-500, 500),
    st.floats(-500, 500),
)
def test_turning_and_moving_changes_no_length(ground, roll, turn, x, y):
    ways = [0.0, 30.0, 90.0]
    before = lay_strips(ground, **roll, directions_deg=ways)
    there = affinity.translate(affinity.rotate(ground, turn, origin=(0, 0)), x, y)
    after = lay_strips(there, **roll, directions_deg=[way + turn for way in ways])
    assume(before.complete and after.complete)
    assert abs(before.total_length_m - after.total_length_m) <= 1e-6


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 12), st.floats(0.5, 12), rolls, st.floats(-180, 180))
def test_a_rectangle_at_any_angle_takes_the_counted_strips(length, width, roll, turn):
    # ceil((W - o) / (r - o)) strips of the other side, the better of both ways
    pitch = roll["roll_width_m"] - roll["lap_m"]
    wanted = min(
        max(1, math.ceil((across - roll["lap_m"]) / pitch - 1e-9)) * along
        for along, across in ((length, width), (width, length))
    )
    laying = lay_strips(affinity.rotate(box(0, 0, length, width), turn), **roll)
    assert abs(laying.total_length_m - wanted) <= 1e-6


@settings(max_examples=60, deadline=None)
@given(grounds(beds=2), rolls, st.floats(1.0, 6.0))
def test_pieces_fit_the_roll_and_make_up_each_strip(ground, roll, spare):
    longest = roll["lap_m"] + spare
    laying = lay_strips(ground, **roll, longest_m=longest)
    for strip in laying.strips:
        laps = (len(strip.pieces_m) - 1) * roll["lap_m"]
        assert abs(sum(strip.pieces_m) - laps - strip.length_m) <= 1e-9
        assert max(strip.pieces_m) <= longest + 1e-8
        assert len(strip.pieces_m) == max(
            1, math.ceil((strip.length_m - roll["lap_m"]) / spare - 1e-8)
        )
