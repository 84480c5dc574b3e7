"""Every tier fills its ring; splices and stakes keep their rules; posts keep their place."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
import shapely
from gardens import bed, edged, fence, garden, inner_ring, pine, rectangle, total_area
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from strategies import boarded_rings, fences, tape

from bedplan.edging import edge_beds
from bedplan.geometry.lines import through
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import AlongSides, BedSpec, Gate, Pipe, Plant, PostRow, Posts
from bedplan.model.materials import Stake, StockItem
from bedplan.plan import make_plan
from bedplan.site import find_faults, resolve

laws = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
T = 0.016
CLOSE_M2 = 2e-7
PEG = Stake("peg", 0.3, 0.6)
"""Thicker than any notch of a random corner that is tried."""

corners = st.sampled_from(
    [("butt", "long"), ("butt", "pinwheel"), ("mitre", "long"), ("stake", "long")]
)


def kites(points, inner):
    """Return what corner stakes close: from the corner to the feet of the corner across."""
    found = []
    ring = Polygon(points)
    points = list(points) if ring.exterior.is_ccw else list(points)[::-1]
    for i, (corner, across) in enumerate(zip(points, inner, strict=True)):
        before, after = points[i - 1], points[(i + 1) % len(points)]
        lines = [through(before, corner), through(corner, after)]
        if lines[0].left_of(after) > 0:
            feet = [line.point(line.station(across)) for line in lines]
        else:
            faces = [line.shifted(T) for line in lines]
            feet = [face.point(face.station(corner)) for face in faces]
        found.append(Polygon([corner, feet[0], across, feet[1]]))
    return found


def staked(board, **more):
    return {"peg": PEG} if board.corner == "stake" else {}


def edged_with(points, board, stakes, **more):
    x0, y0, x1, y1 = Polygon(points).bounds
    wide = fence([(x0 - 5, y0 - 5), (x1 + 5, y0 - 5), (x1 + 5, y1 + 5), (x0 - 5, y1 + 5)])
    layout = garden(wide, [bed("bed", points, **more)], board=board, stakes=stakes)
    site = resolve(layout)
    return site.beds[0], edge_beds(site, layout.boards, layout.stakes)[0]


@laws
@given(
    boarded_rings(T), corners, st.integers(1, 3), st.sampled_from([40.0, 2.4, 1.0]), st.booleans()
)
def test_every_tier_tiles_the_ring(ring, corner, tiers, stock, blocks):
    points, inner = ring
    board = pine(
        thickness_m=T,
        corner=corner[0],
        through=corner[1],
        stock=(StockItem(stock, 1.0),),
        stake="peg",
        block_m=0.3 if blocks else 0.0,
    )
    closed = kites(points, inner) if corner[0] == "stake" else []
    # a board cut square at both ends must have a length left
    assume(all(kite.length < 0.8 for kite in closed))
    placed, made = edged_with(points, board, {"peg": PEG}, tiers=tiers)
    whole = placed.outline.difference(Polygon(inner))
    assert made.tiers == tiers
    for tier in range(1, tiers + 1):
        pieces = [piece.outline for piece in made.pieces if piece.tier == tier]
        filled = [*pieces, *closed]
        assert total_area(filled) == pytest.approx(whole.area, abs=CLOSE_M2)
        assert shapely.union_all(filled, grid_size=1e-9).symmetric_difference(
            whole
        ).area == pytest.approx(0, abs=CLOSE_M2)
    assert made.planting.area == pytest.approx(Polygon(inner).area, abs=CLOSE_M2)
    told = [opening.outline for opening in made.openings]
    assert total_area(told) == pytest.approx(total_area(closed), abs=len(closed) * 2e-6)
    assert {opening.kind for opening in made.openings} <= {"stake"}
    labels = [piece.label for piece in made.all_pieces]
    assert len(set(labels)) == len(labels)


@laws
@given(boarded_rings(T), corners, st.integers(2, 4))
def test_corners_lap_in_turn(ring, corner, tiers):
    board = pine(thickness_m=T, corner=corner[0], through=corner[1], stake="peg")
    if corner[0] == "stake":
        assume(all(kite.length < 0.8 for kite in kites(*ring)))
    _, made = edged_with(ring[0], board, {"peg": PEG}, tiers=tiers)
    swap = {"through": "stop", "stop": "through"}
    by_tier = [[p for p in made.pieces if p.tier == tier] for tier in range(1, tiers + 1)]
    for low, high in pairwise(by_tier):
        for one, other in zip(low, high, strict=True):
            assert [end.joint for end in other.ends] == [
                swap.get(end.joint, end.joint) for end in one.ends
            ]
            # a notch or a cut moves by what the saw takes of it, never the faces
            assert one.run == other.run


@laws
@given(boarded_rings(T), corners, st.sampled_from([40.0, 1.3]), st.integers(1, 2))
def test_ends_say_what_they_meet(ring, corner, stock, tiers):
    board = pine(
        thickness_m=T,
        corner=corner[0],
        through=corner[1],
        stake="peg",
        stock=(StockItem(stock, 1.0),),
    )
    if corner[0] == "stake":
        assume(all(kite.length < 0.8 for kite in kites(*ring)))
    _, made = edged_with(ring[0], board, {"peg": PEG}, tiers=tiers)
    pieces = {piece.label: piece for piece in made.pieces}
    stakes = {stake.label: stake for stake in made.stakes}
    for piece in made.pieces:
        for which, end in enumerate(piece.ends):
            x, y = piece.outline.exterior.coords.xy
            if end.joint == "stake":
                assert end.joins in stakes or end.joins == "peg"
                continue
            other = pieces[end.joins]
            assert other.tier == piece.tier
            corner_at = Point(x[which], y[which]), Point(x[3 - which], y[3 - which])
            near = min(other.outline.distance(at) for at in corner_at)
            assert near < 1e-6
            assert piece.label in [each.joins for each in other.ends]
            # the face that keeps more wood is the one whose corner lies farther along
            along = through((x[0], y[0]), (x[1], y[1]))
            outer, inner = (along.station((at.x, at.y)) for at in corner_at)
            way = 1 if which else -1
            if end.saw_deg > 0.01:
                assert end.longer == ("outer" if way * (outer - inner) > 0 else "inner")


# ---- splices -------------------------------------------------------------------------------


@laws
@given(
    tape(40, 700),
    st.lists(tape(24, 120), min_size=1, max_size=2),
    tape(0, 30),
    tape(0, 20),
    st.integers(1, 4),
)
def test_splices_keep_off_corners_and_off_the_tier_below(length, stock, clear, stagger, tiers):
    board = pine(
        thickness_m=T,
        splice_clear_m=clear,
        stagger_m=stagger,
        stock=tuple(StockItem(size, 1.0) for size in stock),
    )
    _, made = edged([(0, 0), (length, 0), (length, 0.4), (0, 0.4)], board, tiers=tiers)
    told = {(each.rule, each.run, each.tier) for each in made.shortfalls}
    below = []
    for tier in range(1, tiers + 1):
        run = [piece for piece in made.pieces if (piece.run, piece.tier) == (1, tier)]
        here = [piece.station_m + piece.long_m for piece in run[:-1]]
        assert max(piece.long_m for piece in run) <= max(stock) + 1e-9
        first, last = run[0].station_m, run[-1].station_m + run[-1].long_m
        assert math.fsum(piece.long_m for piece in run) == pytest.approx(last - first)
        ends = [min(at - first, last - at) for at in here]
        apart = [abs(a - b) for a in here for b in below]
        broken = any(at < clear - 2e-5 for at in ends)
        assert broken == (("splice-clear", 1, tier) in told)
        near = any(at < stagger - 2e-5 for at in apart)
        assert near == (("splice-stagger", 1, tier) in told)
        # a rule is broken only where it must be: pieces of even length would break it as well
        if broken:
            assert clear > min(max(stock), (last - first) / 2) - 1e-4
        below = here
    # as few as the stock allows where nothing stands below
    tier_1 = [piece for piece in made.pieces if (piece.run, piece.tier) == (1, 1)]
    assert len(tier_1) <= math.ceil(length / max(stock) - 1e-9) + 2
    places = {(s.run, s.tier, round(s.station_m, 9)) for s in made.splices}
    assert len(places) == len(made.splices) == len(made.blocks)


def test_stagger_breaks_only_where_no_two_more_pieces_help():
    # 3 m of 1 m stock and a stagger of 0.45 m: joints at 1 and 2 leave 0.45 to 0.55, 1.45 to
    # 1.55, 2.45 to 2.55 above them; four pieces of at most 1 m join exactly there
    board = pine(thickness_m=T, splice_clear_m=0.3, stagger_m=0.45, stock=(StockItem(1.0, 1.0),))
    _, made = edged([(0, 0), (3, 0), (3, 0.9), (0, 0.9)], board, tiers=2)
    above = sorted(s.station_m for s in made.splices if (s.run, s.tier) == (1, 2))
    assert len(above) == 3
    below = [s.station_m for s in made.splices if (s.run, s.tier) == (1, 1)]
    assert min(abs(a - b) for a in above for b in below) >= 0.45 - 1e-5
    assert not made.shortfalls


# ---- posts ---------------------------------------------------------------------------------


@st.composite
def posted(draw):
    """A fence of four sides, square or not, with posts that may stand proud of it."""
    square = draw(st.booleans())
    width, height = draw(tape(200, 400)), draw(tape(150, 300))
    skew = [(0, 0)] * 4 if square else [(draw(tape(0, 30)), draw(tape(0, 30))) for _ in range(4)]
    base = [(0, 0), (width, 0), (width, height), (0, height)]
    points = [(x + dx, y + dy) for (x, y), (dx, dy) in zip(base, skew, strict=True)]
    rows = tuple(
        PostRow(side, tuple(sorted(draw(st.lists(tape(20, 120), max_size=2, unique=True)))))
        for side in ("AB", "BC", "CD", "DA")
    )
    posts = Posts(draw(tape(2, 5)), draw(st.sampled_from([0.0, 0.005, T, 0.03])), rows)
    return points, posts, square


@laws
@given(posted(), corners, st.integers(1, 2), st.sampled_from([("AB",), ("AB", "BC"), "all"]))
def test_boards_on_the_fence_leave_the_posts_free(plot, corner, tiers, sides):
    points, posts, square = plot
    along = ("AB", "BC", "CD", "DA") if sides == "all" else sides
    board = pine(thickness_m=T, corner=corner[0], through=corner[1], stake="peg")
    spec = fence(points)
    layout = garden(
        type(spec)(spec.corners, posts),
        [BedSpec("border", AlongSides(along, 0.6), "pine", against_fence=True, tiers=tiers)],
        paths=(),
        board=board,
        stakes={"peg": PEG},
    )
    assume(not find_faults(layout))
    site = resolve(layout)
    (made,) = edge_beds(site, layout.boards, layout.stakes)
    outlines = [post.outline for post in site.posts]
    ring = site.beds[0].outline
    # trimming by a skew fence can leave two corners some micrometres apart: one to a tape
    tidy = shapely.remove_repeated_points(ring.exterior, SNAP_M)
    inset = inner_ring(list(tidy.coords)[:-1], T)
    assume(inset is not None)  # a side shorter than a board is thick has none to compare with
    inner = Polygon(inset)
    if ring.interiors:
        hole = Polygon(ring.interiors[0])
        inner = inner.difference(hole.buffer(T, join_style="mitre", mitre_limit=20))
    whole = ring.difference(inner)
    for tier in range(1, tiers + 1):
        pieces = [piece.outline for piece in made.pieces if piece.tier == tier]
        assert shapely.union_all(pieces, grid_size=1e-9).area == pytest.approx(
            total_area(pieces), abs=CLOSE_M2
        )
        for piece, post in ((p, q) for p in pieces for q in outlines):
            assert piece.intersection(post).area < CLOSE_M2
        # on a grid: without one an overlay of nearly coincident edges may lose a whole board
        outside = shapely.difference(pieces, whole, grid_size=1e-9)
        assert total_area(list(outside)) < CLOSE_M2
    for run in made.runs:
        tiered = [
            shapely.union_all(
                [p.outline for p in made.pieces if (p.run, p.tier) == (run.number, k)]
            )
            for k in range(1, tiers + 1)
        ]
        # one run is one bay in every tier: laps move its ends by a board's thickness or so
        for other in tiered[1:]:
            if not tiered[0].is_empty and not other.is_empty:
                assert shapely.hausdorff_distance(tiered[0], other) < 0.1
    first = shapely.union_all([p.outline for p in made.pieces if p.tier == 1], grid_size=1e-9)
    told = total_area([opening.outline for opening in made.openings])
    assert first.area + told == pytest.approx(whole.area, abs=1e-5)
    assert {o.kind for o in made.openings} <= {"post", "stake", "gap"}
    if square and corner[0] != "stake":
        # what is left is the place of a post, or a stub shorter than a board is thick
        left = whole.difference(first.buffer(1e-6))
        slots = shapely.union_all([post.buffer(T + 2e-3) for post in outlines])
        assert left.difference(slots).area < CLOSE_M2


@laws
@given(
    tape(6, 200),
    tape(0, 3),
    st.sampled_from([0.004, 0.010, T, 0.05]),
    st.sampled_from(["stop", "notch"]),
    st.booleans(),
)
def test_a_board_that_passes_a_post(along, inside, proud, at_posts, far):
    # a bed a little off the fence, whose lower board meets posts at `along`
    points = [(0.5, inside), (5.5, inside), (5.5, 1.5), (0.5, 1.5)]
    spec = rectangle(6, 4)
    posts = Posts(
        0.09,
        proud,
        (
            PostRow(
                "AB",
                (0.5 + along, *([4.9] if far else [])),
            ),
        ),
    )
    board = pine(thickness_m=T, at_posts=at_posts)
    layout = garden(type(spec)(spec.corners, posts), [bed("b", points)], paths=(), board=board)
    assume(inside > 1e-3 and along < 4.2 and not 4.2 < along + 0.5 < 5.1)
    site = resolve(layout)
    (made,) = edge_beds(site, layout.boards)
    ring = site.beds[0].outline.difference(site.beds[0].outline.buffer(-T, join_style="mitre"))
    taken = shapely.union_all([post.outline for post in site.posts]).intersection(ring)
    pieces = [piece.outline for piece in made.pieces]
    notched = [notch for piece in made.pieces for notch in piece.notches]
    assert shapely.union_all(pieces).intersection(taken).area < CLOSE_M2
    if at_posts == "notch" and notched:
        # the notch is the post's: board and post fill the ring together
        assert total_area(pieces) + taken.area == pytest.approx(ring.area, abs=1e-6)
        for piece in made.pieces:
            for notch in piece.notches:
                assert 0 <= notch.start_m < notch.end_m <= piece.long_m + 1e-9
                assert 0 < notch.depth_m <= 0.75 * T + 1.1e-4
                assert notch.face == "outer"
    elif taken.area > 1e-6:
        ends = [end for piece in made.pieces for end in piece.ends if end.joint == "post"]
        assert ends
        assert all(end.joins.startswith("AB") for end in ends)
        if proud - inside >= T:
            assert total_area(pieces) + taken.area == pytest.approx(ring.area, abs=T * T)


# ---- stakes --------------------------------------------------------------------------------


@st.composite
def buried(draw):
    """Pipes and stems somewhere under a bed of 5 by 2 m."""
    spot = st.tuples(tape(-10, 210), tape(-10, 90))
    pipes = tuple(
        Pipe(f"pipe {i}", (draw(spot), draw(spot)), draw(tape(0, 8)))
        for i in range(draw(st.integers(0, 2)))
    )
    plants = tuple(
        Plant(f"plant {i}", draw(spot), draw(tape(1, 8)), keep_clear_m=draw(tape(0, 6)))
        for i in range(draw(st.integers(0, 2)))
    )
    return pipes, plants


@laws
@given(
    buried(),
    st.sampled_from([None, 0.6, 1.0, 2.5]),
    st.sampled_from(["butt", "mitre", "stake"]),
    st.sampled_from([0.0, 0.3]),
    st.integers(1, 2),
)
def test_stakes_keep_clear_and_within_their_spacing(ground, every, corner, block, tiers):
    pipes, plants = ground
    peg = Stake("peg", 0.038, 0.6, every)
    board = pine(
        thickness_m=T, corner=corner, stake="peg", block_m=block, stock=(StockItem(2.4, 1.0),)
    )
    layout = garden(
        fence([(-9, -9), (19, -9), (19, 12), (-9, 12)]),
        [bed("b", [(0, 0), (5, 0), (5, 2), (0, 2)], tiers=tiers)],
        paths=(),
        board=board,
        stakes={"peg": peg},
        pipes=pipes,
        plants=plants,
    )
    assume(all(math.dist(*pipe.line) > 0.01 for pipe in pipes))
    site = resolve(layout)
    (made,) = edge_beds(site, layout.boards, layout.stakes)
    half = peg.size_m / 2
    for stake in made.stakes:
        turn = shapely.affinity.rotate(
            shapely.box(*(c - half for c in stake.at), *(c + half for c in stake.at)),
            stake.direction_deg,
            origin=stake.at,
        )
        for pipe in pipes:
            assert turn.distance(LineString(pipe.line)) >= pipe.clear_m - 2e-4
        for plant in plants:
            assert turn.distance(Point(plant.at)) >= plant.ring_m - 2e-4
        boards = shapely.union_all([piece.outline for piece in made.pieces if piece.tier == 1])
        assert turn.intersection(boards).area < CLOSE_M2
        assert turn.distance(boards) < 1e-6
        assert stake.below_m == pytest.approx(0.6 - tiers * 0.14)
    if not pipes and not plants:
        assert not made.shortfalls
        assert sum(stake.kind == "corner" for stake in made.stakes) == 4
        assert all(stake.shifted_m == 0 for stake in made.stakes)
    if every is not None and not made.shortfalls:
        for number, side in ((1, 5.0), (2, 2.0), (3, 5.0), (4, 2.0)):
            run = made.runs[number - 1]
            line = through(run.start, run.end)
            near = [
                line.station(stake.at)
                for stake in made.stakes
                if abs(line.left_of(stake.at) - T - half) < 1e-6
            ]
            gaps = [b - a for a, b in pairwise(sorted(near))]
            assert max(gaps) <= every + 2e-4
            assert side - (max(near) - min(near)) == pytest.approx(2 * (T + half), abs=1.25)
    unheld = [s for s in made.splices if s.held_by == "nothing"]
    assert not unheld or made.shortfalls
    if block:
        assert {s.held_by for s in made.splices} <= {"block"}
    labels = [stake.label for stake in made.stakes]
    assert labels == list(dict.fromkeys(labels))


def test_every_gate_is_left_free():
    spec = rectangle(8, 6)
    gate = Gate("gate", "AB", 3.0, 1.0)
    layout = garden(
        spec,
        [BedSpec("b", AlongSides(("AB",), 0.8), "pine", against_fence=True)],
        paths=(),
        gates=(gate,),
    )
    site = resolve(layout)
    (made,) = edge_beds(site, layout.boards)
    opening = LineString(combinations([(3, 0), (4, 0)], 2).__next__())
    assert all(piece.outline.intersection(opening).length < 1e-6 for piece in made.pieces)
    at_gate = [e.joins for p in made.pieces for e in p.ends if e.joins == "gate"]
    assert len(at_gate) == 2
    assert make_plan(layout).edging[0].length_m == pytest.approx(made.length_m)


@laws
@given(fences, st.integers(1, 2), corners)
def test_a_lone_board_never_ends_in_a_feather(points, sides, corner):
    names = "ABCDEFGHAB"
    along = tuple(names[i : i + 2] for i in range(sides))
    board = pine(thickness_m=T, corner=corner[0], through=corner[1], stake="peg")
    layout = garden(
        fence(points),
        [BedSpec("border", AlongSides(along, 0.5), "pine")],
        paths=(),
        board=board,
        stakes={"peg": PEG},
    )
    assume(not find_faults(layout))
    site = resolve(layout)
    try:
        (made,) = edge_beds(site, layout.boards, layout.stakes)
    except ValueError:
        assume(False)
    for piece in made.pieces:
        for end in piece.ends:
            if end.joint == "fence":
                assert end.saw_deg <= 60 + 1e-6
                assert end.joins
    gaps = [each for each in made.openings if each.kind == "gap"]
    told = [each for each in made.shortfalls if each.rule == "edging-gap"]
    assert len(told) == len([gap for gap in gaps if gap.length_m > 1e-3])
