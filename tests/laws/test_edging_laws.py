"""Boards fill the ring round a bed with neither gap nor overlap, whatever its shape."""

from __future__ import annotations

import math
from collections import Counter

import pytest
import shapely
from gardens import bed, edged, fence, garden, inner_ring, pine, regular, total_area
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from strategies import angles, boarded_rings, fences, rings, tape

from bedplan.edging import edge_beds
from bedplan.model.layout import AlongSides, BedSpec
from bedplan.model.materials import StockItem
from bedplan.plan import make_plan
from bedplan.site import find_faults, resolve
from bedplan.units import nanometres

laws = settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
THICK_M = 0.016
CLOSE_M2 = 1e-7

corners = st.sampled_from([("butt", "long"), ("butt", "pinwheel"), ("mitre", "long")])


@laws
@given(boarded_rings(THICK_M), corners, st.sampled_from([40.0, 2.4, 1.0, 0.45]))
def test_pieces_tile_the_ring_between_outer_and_inner_face(ring, corner, stock):
    points, inner = ring
    board = pine(
        thickness_m=THICK_M, corner=corner[0], through=corner[1], stock=(StockItem(stock, 1.0),)
    )
    placed, made = edged(points, board)
    ring_shape = placed.outline.difference(Polygon(inner))
    pieces = [piece.outline for piece in made.pieces]
    covered = shapely.union_all(pieces)
    assert total_area(pieces) == pytest.approx(ring_shape.area, abs=CLOSE_M2)
    assert covered.area == pytest.approx(ring_shape.area, abs=CLOSE_M2)
    assert shapely.symmetric_difference(covered, ring_shape).area < CLOSE_M2
    assert made.planting.area == pytest.approx(Polygon(inner).area, abs=CLOSE_M2)
    assert made.length_m == pytest.approx(placed.outline.length, abs=1e-6)


@laws
@given(boarded_rings(THICK_M), corners)
def test_pieces_measure_what_their_outline_says(ring, corner):
    board = pine(thickness_m=THICK_M, corner=corner[0], through=corner[1])
    _, made = edged(ring[0], board)
    for piece in made.pieces:
        # area of a strip cut by two straight ends is thickness × mean of its two faces, and its
        # extent along the board is that of its corners
        x, y = piece.outline.exterior.coords.xy
        faces = [math.dist((x[i], y[i]), (x[i + 1], y[i + 1])) for i in (0, 2)]
        assert piece.outline.area == pytest.approx(THICK_M * sum(faces) / 2, abs=1e-9)
        assert min(faces) == pytest.approx(piece.short_m, abs=1e-9)
        along = ((x[1] - x[0]) / faces[0], (y[1] - y[0]) / faces[0])
        stations = [a * along[0] + b * along[1] for a, b in zip(x, y, strict=True)]
        assert max(stations) - min(stations) == pytest.approx(piece.long_m, abs=1e-9)


@laws
@given(boarded_rings(THICK_M))
def test_both_halves_of_a_mitre_are_sawn_alike_and_as_the_corner_asks(ring):
    _, made = edged(ring[0], pine(thickness_m=THICK_M, corner="mitre"))
    points = list(Polygon(ring[0]).exterior.coords)[:-1]
    for before, after in zip(made.pieces, [*made.pieces[1:], made.pieces[0]], strict=True):
        assert before.ends[1].saw_deg == pytest.approx(after.ends[0].saw_deg, abs=1e-6)
    settings_deg = sorted(piece.ends[0].saw_deg for piece in made.pieces)
    turns = []
    for a, b, c in zip([points[-1], *points[:-1]], points, [*points[1:], points[0]], strict=True):
        (ux, uy), (vx, vy) = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
        turns.append(abs(math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))))
    # a mitre halves the turn of its corner
    assert settings_deg == pytest.approx(sorted(turn / 2 for turn in turns), abs=1e-5)


@laws
@given(st.integers(3, 16), tape(12, 100), angles)
def test_a_mitred_regular_ring(count, radius, turn):
    points = regular(count, radius, turn)
    assume(inner_ring(points, THICK_M) is not None)
    placed, made = edged(points, pine(thickness_m=THICK_M, corner="mitre"))
    assert [end.saw_deg for piece in made.pieces for end in piece.ends] == pytest.approx(
        [180 / count] * (2 * count), abs=1e-6
    )
    # the long points of a mitred convex ring are its outline
    assert sum(piece.long_m for piece in made.pieces) == pytest.approx(placed.outline.length)


# ---- beds that touch -----------------------------------------------------------------------


@laws
@given(
    st.tuples(tape(12, 90), tape(12, 90), tape(12, 90), tape(12, 90)),
    tape(-80, 80),
    angles,
    st.booleans(),
)
def test_one_board_serves_two_beds(sizes, slip, turn, swap):
    # second stands right of the first, slipped up or down; shared is what they touch along
    width, height, width_2, height_2 = sizes
    first = [(0, 0), (width, 0), (width, height), (0, height)]
    second = [
        (width, slip),
        (width + width_2, slip),
        (width + width_2, slip + height_2),
        (width, slip + height_2),
    ]
    shared = max(0.0, min(height, slip + height_2) - max(0.0, slip))
    beds = [(first, 2 * (width + height)), (second, 2 * (width_2 + height_2))]
    beds = beds[::-1] if swap else beds
    spec = fence([(-9, -9), (9, -9), (9, 9), (-9, 9)])
    layout = garden(
        spec, [bed(f"b{i}", turned(points, turn)) for i, (points, _) in enumerate(beds)], paths=()
    )
    site = resolve(layout)
    one, two = edge_beds(site, layout.boards)
    assert one.length_m == pytest.approx(beds[0][1], abs=1e-6)
    # stretches no longer than a board is thick get none, at either end of what is shared
    bare = beds[1][1] - shared - two.length_m
    assert -1e-6 <= bare <= (2 * THICK_M + 1e-3 if shared else 1e-6)
    outlines = [piece.outline for made in (one, two) for piece in made.pieces]
    assert shapely.union_all(outlines, grid_size=1e-9).area == pytest.approx(
        total_area(outlines), abs=CLOSE_M2
    )
    for placed, made in zip(site.beds, (one, two), strict=True):
        inside = total_area([piece.outline for piece in made.pieces]) + made.planting.area
        assert inside == pytest.approx(placed.outline.area, abs=CLOSE_M2)


def turned(points, angle):
    a = math.radians(angle)
    return [
        (x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)) for x, y in points
    ]


@laws
@given(fences, tape(10, 40), st.integers(1, 2), st.booleans())
def test_a_border_has_no_board_on_the_fence(points, width, sides, against):
    names = "ABCDEFGHAB"
    along = tuple(names[i : i + 2] for i in range(sides))
    spec = BedSpec("border", AlongSides(along, width), "pine", against)
    layout = garden(fence(points), [spec], paths=(), board=pine(thickness_m=THICK_M))
    assume(not find_faults(layout))
    site = resolve(layout)
    (made,) = edge_beds(site, layout.boards)
    line = site.enclosure.polygon.exterior
    outline = site.beds[0].outline
    on_fence = outline.exterior.intersection(line.buffer(1e-6)).length
    runs = [shapely.LineString([run.start, run.end]) for run in made.runs]
    touching = sum(run.length for run in runs if line.buffer(2e-4).covers(run))
    assert touching == pytest.approx(on_fence if against else 0.0, abs=1e-3)
    assert made.length_m == pytest.approx(
        outline.length - (0.0 if against else on_fence), abs=1e-3
    )


# ---- splices and stock ---------------------------------------------------------------------


@laws
@given(tape(30, 600), st.lists(tape(18, 120), min_size=1, max_size=3), tape(0, 40))
def test_splices_keep_clear_of_the_corners_where_they_can(length, stock, clear):
    board = pine(
        thickness_m=THICK_M,
        splice_clear_m=clear,
        stock=tuple(StockItem(size, 1.0) for size in stock),
    )
    _, made = edged([(0, 0), (length, 0), (length, 0.4), (0, 0.4)], board)
    run = [piece.long_m for piece in made.pieces if piece.run == 1]
    longest = max(stock)
    assert math.fsum(run) == pytest.approx(length)
    assert len(run) == math.ceil(length / longest - 1e-9)
    assert max(run) <= longest + 1e-9
    # with so many pieces the ends can be as long as the stock, or half a run of two
    possible = longest if len(run) > 2 else length / 2
    if len(run) > 1 and clear <= possible:
        assert min(run[0], run[-1]) >= clear - 1e-9


@settings(laws, max_examples=25)
@given(
    st.lists(rings(most_in=60), min_size=1, max_size=4),
    corners,
    st.lists(tape(30, 150), min_size=1, max_size=3, unique=True),
    st.lists(tape(10, 90), max_size=3),
    st.sampled_from([0.0, 0.003, 0.003175]),
    st.sampled_from([0.0, 0.01]),
)
def test_every_board_is_accounted_for(shapes, corner, stock, on_hand, kerf, trim):
    board = pine(
        thickness_m=THICK_M,
        corner=corner[0],
        through=corner[1],
        kerf_m=kerf,
        end_trim_m=trim,
        on_hand_m=tuple(on_hand),
        stock=tuple(StockItem(size, 2.0 + 3.0 * size) for size in stock),
    )
    beds = [bed(f"b{i}", [(x + 6 * i, y) for x, y in shape]) for i, shape in enumerate(shapes)]
    assume(all(inner_ring(shape, THICK_M) is not None for shape in shapes))
    spec = fence([(-4, -4), (30, -4), (30, 4), (-4, 4)])
    plan = make_plan(garden(spec, beds, paths=(), board=board))
    (part,) = plan.boards
    trims, longest = 2 * nanometres(trim), nanometres(max(stock)) - 2 * nanometres(trim)
    for cut in part.cut.boards:
        assert cut.stock_length == sum(cut.pieces) + cut.kerf_loss + cut.offcut + trims
        cuts = len(cut.pieces) - (cut.offcut == 0)
        assert (len(cut.pieces) - 1) * nanometres(kerf) <= cut.kerf_loss
        assert cut.kerf_loss <= max(cuts, len(cut.pieces)) * nanometres(kerf)
    sawn = Counter(length for cut in part.cut.boards for length in cut.pieces)
    assert sawn == Counter(nanometres(piece.long_m) for piece in part.pieces)
    assert Counter(cut.stock_length for cut in part.cut.boards if not cut.on_hand) == Counter(
        dict(part.cut.buy)
    )
    # no plan can do with fewer than the length bound: what is on hand gives what it is long
    free = sum(nanometres(length) for length in on_hand)
    least = math.ceil(max(0, sum(sawn.elements()) - free) / longest)
    assert sum(count for _, count in part.cut.buy) >= least
    prices = {nanometres(item.length_m): item.price for item in board.stock}
    assert part.cut.cost == pytest.approx(
        sum(prices[length] * count for length, count in part.cut.buy)
    )
    assert part.cut.lower_bound <= part.cut.objective + 1e-6
