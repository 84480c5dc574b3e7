"""Boards under a level one: every tier fills its stretches, laps, and bears on the ground."""

from __future__ import annotations

import math
from collections import Counter
from itertools import combinations

import pytest
import shapely
from gardens import bed, fence, garden, pine, total_area
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon
from strategies import boarded_rings

from bedplan.edging import edge_beds
from bedplan.geometry.lines import through
from bedplan.layout_file import parse_layout
from bedplan.model.materials import StockItem
from bedplan.plan import make_plan
from bedplan.site import resolve

laws = settings(
    max_examples=50,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
T = 0.016
CLOSE_M2 = 2e-7
LEAST_M = 0.4064
"""16 in, as docs/layout-file.md gives `least_piece`."""

corners = st.sampled_from([("butt", "long"), ("butt", "pinwheel"), ("mitre", "long")])
shares = st.floats(0, 1).map(lambda share: round(share, 3))


@st.composite
def wishes(draw, most_runs=8):
    """Shares of runs along which tiers 2 and 3 are wanted, by run and tier."""
    keys = st.tuples(st.integers(1, most_runs), st.integers(2, 3))
    spans = st.lists(st.tuples(shares, shares).map(sorted), min_size=1, max_size=2)
    return draw(st.dictionaries(keys, spans, max_size=5))


def edged_below(points, board, wanted):
    x0, y0, x1, y1 = Polygon(points).bounds
    wide = fence([(x0 - 5, y0 - 5), (x1 + 5, y0 - 5), (x1 + 5, y1 + 5), (x0 - 5, y1 + 5)])
    layout = garden(wide, [bed("bed", points, tiers="ground")], board=board)
    site = resolve(layout)
    (whole,) = edge_beds(site, layout.boards)
    lengths = {run.number: run.length_m for run in whole.runs}
    lower = {
        ("bed", run, tier): [(a * lengths[run], b * lengths[run]) for a, b in sorted(spans)]
        for (run, tier), spans in wanted.items()
        if run in lengths
    }
    (made,) = edge_beds(site, layout.boards, lower=lower)
    return site.beds[0], whole, made, lower


def stretches(made, tier):
    """Yield each stretch of a tier: its run, its pieces in order along it."""
    pieces = [piece for piece in made.pieces if piece.tier == tier]
    for each in made.lower:
        if each.tier == tier:
            mine = [
                piece
                for piece in pieces
                if piece.run == each.run
                and piece.station_m > each.start_m - 0.1
                and piece.station_m + piece.long_m < each.end_m + 0.1
            ]
            run = next(run for run in made.runs if run.number == each.run)
            yield run, each, sorted(mine, key=lambda piece: piece.station_m)


def figure(run, each, pieces, inner):
    """Return what a stretch has to fill: its mitred side, cut square at its free ends."""
    line = through(run.start, run.end)
    corner = {tuple(round(x, 6) for x in outer): at for outer, at in inner}
    ends = [corner[tuple(round(x, 6) for x in at)] for at in (run.start, run.end)]
    side = Polygon([run.start, run.end, ends[1], ends[0]])
    free = [
        pieces[0].ends[0].joint == "square",
        pieces[-1].ends[1].joint == "square",
    ]
    first = each.start_m if free[0] else -9.0
    last = each.end_m if free[1] else run.length_m + 9.0
    slant = [line.station(ends[0]), run.length_m - line.station(ends[1])]
    # a square end within a corner's slant is no part of a mitred side
    assume(not free[0] or first > max(T, slant[0]) + 0.002)
    assume(not free[1] or run.length_m - last > max(T, slant[1]) + 0.002)
    low, high = line.shifted(-1.0), line.shifted(1.0)
    slab = Polygon([low.point(first), low.point(last), high.point(last), high.point(first)])
    return shapely.intersection(side, slab, grid_size=1e-9)


@laws
@given(boarded_rings(T), corners, st.sampled_from([40.0, 1.2]), wishes())
def test_every_tier_tiles_the_ring_over_its_stretches(ring, corner, stock, wanted):
    points, mitred = ring
    board = pine(
        thickness_m=T, corner=corner[0], through=corner[1], stock=(StockItem(stock, 1.0),)
    )
    placed, whole, made, lower = edged_below(points, board, wanted)
    assert [piece for piece in made.pieces if piece.tier == 1] == list(whole.pieces)
    assert made.planting.equals(whole.planting)
    assert made.runs == whole.runs
    outer = list(placed.outline.exterior.coords)[:-1]
    inset = {tuple(round(x, 6) for x in at) for at in points}
    assert {tuple(round(x, 6) for x in at) for at in outer} == inset
    # the mitred corners go counter-clockwise, whichever way the ring was given
    ccw = points if shapely.is_ccw(shapely.LinearRing(points)) else points[::-1]
    inner = list(zip(ccw, mitred, strict=True))
    filled = {1: placed.outline.difference(Polygon(mitred))}
    for tier in range(2, made.tiers + 1):
        pieces = [piece.outline for piece in made.pieces if piece.tier == tier]
        expected = [figure(*found, inner) for found in stretches(made, tier)]
        filled[tier] = shapely.union_all(pieces, grid_size=1e-9)
        assert total_area(pieces) == pytest.approx(total_area(expected), abs=CLOSE_M2)
        apart = shapely.union_all(expected, grid_size=1e-9).symmetric_difference(filled[tier])
        assert apart.area == pytest.approx(0, abs=CLOSE_M2)
        # every board stands under one
        assert filled[tier].difference(filled[tier - 1]).area == pytest.approx(0, abs=CLOSE_M2)
    labels = [piece.label for piece in made.all_pieces]
    assert len(set(labels)) == len(labels)
    for (_, run, tier), spans in lower.items():
        for first, last in (span for span in spans if span[1] - span[0] > 0.001):
            held = [each for each in made.lower if (each.run, each.tier) == (run, tier)]
            ends = [(each.start_m - 2 * T, each.end_m + 2 * T) for each in held]
            length = next(each.length_m for each in made.runs if each.number == run)
            ends = [(0.0 if a < 0.15 else a, length if b > length - 0.15 else b) for a, b in ends]
            assert any(a <= first + 1e-6 and last <= b + 1e-6 for a, b in ends)


@laws
@given(boarded_rings(T), corners, wishes())
def test_lower_boards_lap_and_are_long_enough(ring, corner, wanted):
    board = pine(thickness_m=T, corner=corner[0], through=corner[1])
    _, _, made, _ = edged_below(ring[0], board, wanted)
    pieces = {piece.label: piece for piece in made.pieces}
    lengths = {run.number: run.length_m for run in made.runs}
    swap = {"through": "stop", "stop": "through"}
    for piece in made.pieces:
        above = [p for p in made.pieces if (p.run, p.tier) == (piece.run, piece.tier - 1)]
        for which, end in enumerate(piece.ends):
            if end.joint in ("through", "stop", "mitre"):
                other = pieces[end.joins]
                assert other.tier == piece.tier
                assert other.ends[1 - which].joins == piece.label
                if piece.tier > 1:
                    joints = [p.ends[which].joint for p in above]
                    assert swap.get(end.joint, end.joint) in joints
            else:
                assert (end.joint, piece.tier > 1) == ("square", True)
                assert end.saw_deg == pytest.approx(0, abs=1e-9)
    for each in made.lower:
        # a board stopped at both corners is shorter than its run by what its neighbours take
        whole = lengths[each.run] < LEAST_M + 0.2
        assert whole or each.end_m - each.start_m > LEAST_M - 0.15
    for one, other in combinations(made.lower, 2):
        if (one.run, one.tier) == (other.run, other.tier):
            assert other.start_m - one.end_m > LEAST_M - 1e-6


@laws
@given(boarded_rings(T), wishes())
def test_splices_keep_off_those_of_the_tier_above(ring, wanted):
    board = pine(thickness_m=T, stock=(StockItem(1.2, 1.0),), splice_clear_m=0.1, stagger_m=0.1)
    _, _, made, _ = edged_below(ring[0], board, wanted)
    told = {(each.run, each.tier) for each in made.shortfalls if each.rule == "splice-stagger"}
    for one, other in combinations(made.splices, 2):
        if one.run == other.run and abs(one.tier - other.tier) == 1:
            near = abs(one.station_m - other.station_m) < 0.1 - 1e-6
            assert not near or (one.run, max(one.tier, other.tier)) in told


GROUND = """
title = "Slope"
unit = "m"
[enclosure]
corners = {{ A = [0, 0], B = [12, 0], C = [12, 12], D = [0, 12] }}
[ground]
spots = [[0, 0, 1.0], [12, 0, {b}], [12, 12, {c}], [0, 12, {d}]]
bury = "{bury} cm"
[[bed]]
name = "bed"
rectangle = {{ center = [6, 6], size = [{long}, {wide}], square_to = {turn} }}
edging = "pine"
tiers = "ground"
[board.pine]
thickness = "4 cm"
height = "14 cm"
stock = [{{ length = 4, price = 10 }}]
"""


@laws
@given(
    st.tuples(*[st.floats(0.2, 1.8)] * 3),
    st.sampled_from([0, 3, 5]),
    st.tuples(st.integers(20, 60), st.integers(12, 40)),
    st.integers(0, 90),
)
def test_no_daylight_under_the_boards(heights, bury, size, turn):
    b, c, d = (round(height, 3) for height in heights)
    text = GROUND.format(b=b, c=c, d=d, bury=bury, long=size[0] / 10, wide=size[1] / 10, turn=turn)
    plan = make_plan(parse_layout(text))
    (made,), (works,) = plan.edging, plan.works.beds
    tiers = [
        shapely.union_all([p.outline for p in made.pieces if p.tier == tier], grid_size=1e-9)
        for tier in range(1, made.tiers + 1)
    ]
    for run in made.runs:
        line = through(run.start, run.end)
        for share in range(1, 40):
            at = line.point(run.length_m * share / 40)
            ground = plan.works.surface.heights_at([at]).item()
            stacked = sum(tier.distance(Point(at)) < 1e-6 for tier in tiers)
            assert works.top_m - stacked * 0.14 <= ground - bury / 100 + 2e-3
    assert "board-tiers" not in {finding.rule for finding in plan.findings}
    cut = Counter(piece.label for part in plan.boards for piece in part.pieces)
    assert cut == Counter(piece.label for piece in made.all_pieces)
    assert math.isclose(made.height_m, 0.14)
