"""Stakes, posts, notches, gates and hardware against places worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from gardens import bed, fence, garden, pine, rectangle

from bedplan import make_plan
from bedplan.edging import count_hardware, edge_beds
from bedplan.edging.hardware import screw_counts
from bedplan.model.layout import (
    AlongSides,
    BedSpec,
    Circle,
    EnclosureSpec,
    Gate,
    Pipe,
    Plant,
    PostRow,
    Posts,
)
from bedplan.model.materials import Screw, Stake, StockItem
from bedplan.site import resolve

T = 0.02
PEG = Stake("peg", 0.04, 0.6, every_m=1.0)
BOX = [(1, 1), (4, 1), (4, 3), (1, 3)]
YARD = rectangle(8, 6)


def edged(beds, spec=YARD, board=None, stake=PEG, **more):
    board = board or pine(thickness_m=T, stake="peg")
    layout = garden(spec, beds, board=board, stakes={"peg": stake}, paths=(), **more)
    return edge_beds(resolve(layout), layout.boards, layout.stakes)


def posted(rows, proud=0.0, size=0.1, spec=YARD, footing=0.0):
    return EnclosureSpec(spec.corners, Posts(size, proud, rows, footing))


def spots(made, kind):
    return sorted(stake.at for stake in made.stakes if stake.kind == kind)


# ---- stakes --------------------------------------------------------------------------------


def test_a_stake_in_every_corner_against_both_boards():
    (made,) = edged([bed("b", BOX)], stake=replace(PEG, every_m=None))
    inside = T + 0.02
    assert [s.kind for s in made.stakes] == ["corner"] * 4
    corners = [(x, y) for x in (1 + inside, 4 - inside) for y in (1 + inside, 3 - inside)]
    assert sum(spots(made, "corner"), ()) == pytest.approx(sum(corners, ()))


@pytest.mark.parametrize(
    ("every", "long", "short"), [(1.0, 2, 1), (2.92, 0, 0), (2.91, 1, 0), (0.5, 5, 3)]
)
def test_stakes_between_stand_at_equal_spacing(every, long, short):
    # corner stakes stand 2.92 m apart on the long sides, 1.92 m on the short ones
    (made,) = edged([bed("b", BOX)], stake=replace(PEG, every_m=every))
    assert len(spots(made, "between")) == 2 * (long + short)
    low = [x for x, y in spots(made, "between") if y == pytest.approx(1.04)]
    assert low == pytest.approx([1.04 + 2.92 * (i + 1) / (long + 1) for i in range(long)])


def test_labels_follow_the_runs():
    (made,) = edged([bed("b", BOX)])
    assert [stake.label for stake in made.stakes] == [f"1.s{i + 1}" for i in range(10)]
    assert [stake.run for stake in made.stakes] == [1, 1, 1, 2, 2, 3, 3, 3, 4, 4]


@pytest.mark.parametrize(
    ("tiers", "above", "below"),
    [(1, 0.0, 0.46), (2, 0.0, 0.32), (1, 0.05, 0.41), (2, -0.04, 0.36)],
)
def test_what_of_a_stake_is_in_the_ground(tiers, above, below):
    (made,) = edged([bed("b", BOX, tiers=tiers)], stake=replace(PEG, above_m=above))
    assert [stake.below_m for stake in made.stakes] == pytest.approx([below] * 10)


def test_a_lone_run_has_stakes_at_its_free_ends_only():
    # a bed on the fence: its boards die into it, so one corner stake a corner and no more
    border = BedSpec("b", AlongSides(("AB",), 1.0, 2.0, 2.0), "pine")
    (made,) = edged([border], stake=replace(PEG, every_m=None))
    assert [stake.kind for stake in made.stakes] == ["corner", "corner"]
    # beside a neighbour that ends part way the board ends free
    low, high = [(1, 1), (4, 1), (4, 2), (1, 2)], [(2, 2), (6, 2), (6, 3), (2, 3)]
    _, two = edged([bed("a", low), bed("b", high)], stake=replace(PEG, every_m=None))
    (end,) = [stake for stake in two.stakes if stake.kind == "end"]
    assert end.at == pytest.approx((4 + 0.02, 2 + T + 0.02))


def test_an_inward_corner_has_its_stake_behind_the_arriving_board():
    shape = [(1, 1), (5, 1), (5, 2), (2, 2), (2, 4), (1, 4)]
    (made,) = edged([bed("b", shape)], stake=replace(PEG, every_m=None))
    assert len(made.stakes) == 6
    boards = shapely.union_all([piece.outline for piece in made.pieces])
    for stake in made.stakes:
        square = shapely.Point(stake.at).buffer(0.02, cap_style="square")
        assert square.intersection(boards).area < 1e-9
        assert square.distance(boards) < 1e-9


@pytest.mark.parametrize("corner", ["butt", "stake"])
def test_stakes_at_the_splices_no_block_holds(corner):
    board = pine(
        thickness_m=T, stake="peg", block_m=0.0, stock=(StockItem(2.0, 1.0),), corner=corner
    )
    (made,) = edged([bed("b", BOX, tiers=2)], board=board)
    assert {splice.held_by for splice in made.splices} == {"stake"}
    along = {(round(x, 6), y > 2) for x, y in spots(made, "splice")}
    assert along == {(round(s.at[0], 6), s.at[1] > 2) for s in made.splices}


# ---- what is in the ground -----------------------------------------------------------------


def test_stakes_step_aside_of_a_pipe():
    # a pipe across the bed where a stake would stand, kept clear by 0.1 m and half a diagonal
    x = 1.04 + 2.92 / 3
    pipe = Pipe("water", ((x, 0), (x, 5)), 0.1)
    (made,) = edged([bed("b", BOX)], pipes=(pipe,))
    moved = [stake for stake in made.stakes if stake.shifted_m]
    assert len(moved) == 2
    apart = 0.1 + 0.02 * math.sqrt(2)
    assert [abs(stake.at[0] - x) for stake in moved] == pytest.approx([apart] * 2, rel=2e-3)
    assert all(abs(stake.at[0] - x) >= apart - 1e-6 for stake in made.stakes)
    assert {s.rule for s in made.shortfalls} <= {"stake-spacing"}


def test_a_corner_over_a_pipe_gets_a_stake_on_either_side():
    pipe = Pipe("gas", ((0.5, 0.5), (1.3, 1.3)), 0.0)
    (made,) = edged([bed("b", BOX)], pipes=(pipe,))
    assert len(spots(made, "corner")) == 3
    one, other = spots(made, "end")
    assert {round(one[0], 3), round(other[1], 3)} == {1.04}


def test_where_no_place_is_clear_it_is_told():
    pipe = Pipe("main", ((1.04, 0), (1.04, 5)), 0.7)
    (made,) = edged([bed("b", BOX)], pipes=(pipe,))
    told = [each for each in made.shortfalls if each.rule == "stake-clear"]
    assert told
    assert {each.cause for each in told} == {"main"}
    assert all(each.limit_m == 0.7 and 0 <= each.figure_m < 0.7 for each in told)
    assert all(stake.at[0] > 1.74 for stake in made.stakes)


@pytest.mark.parametrize(("footing", "moved"), [(0.0, False), (0.3, True), (2.2, None)])
def test_stakes_keep_off_footings(footing, moved):
    # a post whose footing reaches under the board that dies into the fence beside it
    spec = posted((PostRow("AB", (3.0,)),), size=0.1, footing=footing)
    border = bed("b", [(1, 0.05), (5, 0.05), (5, 1.5), (1, 1.5)])
    (made,) = edged([border], spec=spec, stake=replace(PEG, every_m=2.0))
    near = [s for s in made.stakes if s.run == 1 and s.kind == "between"]
    if moved is None:
        assert not near
        assert "footing of post AB 1" in {each.cause for each in made.shortfalls}
    else:
        assert [bool(stake.shifted_m) for stake in near] == [moved]


def test_stakes_keep_out_of_stem_rings():
    x = 1.04 + 2.92 / 3
    plant = Plant("rose", (x, 1.1), stem_m=0.1, keep_clear_m=0.15)
    (made,) = edged([bed("b", BOX)], plants=(plant,))
    assert all(math.dist(s.at, plant.at) >= 0.2 + 0.02 * math.sqrt(2) - 1e-6 for s in made.stakes)
    assert any(stake.shifted_m for stake in made.stakes)


def test_a_round_bed_has_stakes_round_it():
    board = pine(bends=True, thickness_m=0.003, stake="peg")
    spec = BedSpec("r", Circle((4, 3), 1.0), "pine")
    (made,) = edged([spec], board=board)
    assert len(made.stakes) == math.ceil(2 * math.pi)
    radii = [math.dist(stake.at, (4, 3)) for stake in made.stakes]
    assert radii == pytest.approx([1 - 0.003 - 0.02] * 7)


# ---- posts and gates -----------------------------------------------------------------------


def on_fence(spec, board=None, gates=(), sides=("AB",), **more):
    border = BedSpec("b", AlongSides(sides, 1.0, **more), "pine", against_fence=True)
    board = board or pine(thickness_m=T)
    layout = garden(spec, [border], board=board, gates=gates, paths=())
    return edge_beds(resolve(layout), layout.boards)[0]


@pytest.mark.parametrize("proud", [0.0, 0.01, 0.03])
def test_boards_on_the_fence_are_cut_for_the_bay(proud):
    # posts at 2.5 and 5 m, 0.1 m wide: bays of 1.45, 2.4 and 1.95 m on a border from 1 to 7 m,
    # the first and the last board stopped at its other end
    spec = posted((PostRow("AB", (2.5, 5.0)),), proud)
    made = on_fence(spec, pine(thickness_m=T, through="long"), start_m=1.0, end_m=1.0)
    bays = [p for p in made.pieces if "post" in [e.joint for e in p.ends]]
    lap = {"stop": T, "through": 0.0, "post": 0.0}
    for piece, bay in zip(bays, (1.45, 2.4, 1.95), strict=True):
        assert piece.long_m == pytest.approx(bay - sum(lap[end.joint] for end in piece.ends))
    names = [end.joins for p in bays for end in p.ends if end.joint == "post"]
    assert names == ["AB 1", "AB 1", "AB 2", "AB 2"]
    assert {run.on_fence for run in made.runs} == {"AB", ""}
    assert made.openings[0].kind == "post"


def test_bays_between_corner_posts():
    # posts 10 mm proud at the corners of the fence: a border all round stops at their faces
    made = on_fence(posted((), 0.03), sides=("AB", "BC", "CD", "DA"))
    outer = [p for p in made.pieces if p.ends[0].joint == "post"]
    assert [p.long_m for p in outer] == pytest.approx([8 - 0.06, 6 - 0.06] * 2)
    assert [p.ends[0].joins for p in outer] == ["A", "B", "C", "D"]


def test_a_thin_post_leaves_the_corner_to_the_boards():
    # 5 mm proud, boards 20 mm: the stopped board never reaches the post, the other does
    made = on_fence(posted((), 0.005), sides=("AB", "BC", "CD", "DA"))
    joints = {end.joint for p in made.pieces[:4] for end in p.ends}
    assert joints == {"post", "stop"}
    area = sum(p.outline.area for p in made.pieces)
    assert shapely.union_all([p.outline for p in made.pieces]).area == pytest.approx(area)


def test_no_board_stands_across_a_gate():
    made = on_fence(YARD, gates=(Gate("gate", "AB", 3.0, 1.2),))
    on_ab = [p for p in made.pieces if made.runs[p.run - 1].on_fence == "AB"]
    assert sorted(p.outline.bounds[::2] for p in on_ab) == [
        pytest.approx((0, 3)),
        pytest.approx((4.2, 8)),
    ]
    assert [e.joins for p in on_ab for e in p.ends].count("gate") == 2


@pytest.mark.parametrize(
    ("at_posts", "proud", "lengths", "notch"),
    [
        # the bed's edge lies 10 mm off the fence; boards are 20 mm thick
        ("stop", 0.02, [1.45, 1.45], None),
        ("notch", 0.02, [3.0], 0.01),
        ("notch", 0.025, [3.0], 0.015),
        # a notch that leaves less than a quarter of the board stops it
        ("notch", 0.026, [1.45, 1.45], None),
        ("stop", 0.01, [3.0], None),
    ],
)
def test_a_board_stops_at_a_post_or_is_notched_round_it(at_posts, proud, lengths, notch):
    spec = posted((PostRow("AB", (3.5,)),), proud)
    board = pine(thickness_m=T, at_posts=at_posts)
    layout = garden(
        spec, [bed("b", [(2, 0.01), (5, 0.01), (5, 1), (2, 1)])], board=board, paths=()
    )
    (made,) = edge_beds(resolve(layout), layout.boards)
    low = [p for p in made.pieces if p.outline.bounds[3] < 0.1]
    assert [p.long_m for p in low] == pytest.approx(lengths)
    if notch is None:
        assert not any(p.notches for p in low)
        return
    (cut,) = low[0].notches
    assert (cut.start_m, cut.end_m, cut.depth_m) == pytest.approx((1.45, 1.55, notch))
    assert (cut.post, cut.face) == ("AB 1", "outer")
    assert low[0].outline.area == pytest.approx(3 * T - 0.1 * notch)


def test_a_skew_post_is_met_along_its_face():
    # a run at 20° to the fence passes a post: the board is cut along the post's face, 20°
    a = math.radians(20)
    x, y = 3.0, 0.05
    along, across = (math.cos(a), math.sin(a)), (-math.sin(a), math.cos(a))

    def point(s, t):
        return (x + s * along[0] + t * across[0], y + s * along[1] + t * across[1])

    corners = [point(-0.1, 0), point(2, 0), point(2, 1), point(-0.1, 1)]
    spec = posted((PostRow("AB", (3.9,)),), proud=0.5, size=0.4)
    layout = garden(spec, [bed("b", corners)], board=pine(thickness_m=T), paths=())
    (made,) = edge_beds(resolve(layout), layout.boards)
    ends = [e for p in made.pieces for e in p.ends if e.joint == "post"]
    assert [end.saw_deg for end in ends] == pytest.approx([20, 20], abs=1e-6)
    post = resolve(layout).posts[-1].outline
    for piece in made.pieces:
        assert piece.outline.intersection(post).area < 1e-9


# ---- hardware ------------------------------------------------------------------------------


def test_screws_by_what_they_are_for():
    board = pine(
        thickness_m=T,
        stake="peg",
        screws="deck",
        stock=(StockItem(2.0, 1.0),),
        corner_screws=3,
        block_screws=8,
        stake_screws=2,
    )
    (made,) = edged([bed("b", BOX, tiers=2)], board=board)
    counts = dict(screw_counts(made, board))
    assert counts["corners"] == 2 * 4 * 3
    # two long sides in two tiers, each spliced once, or twice where staggered
    assert counts["blocks"] == 8 * len(made.blocks) == 8 * len(made.splices)
    assert len(spots(made, "between")) == 6
    assert counts["stakes"] == 2 * (2 * 4 + 6) * 2
    assert counts["fence"] == 0
    total = count_hardware([made], {"pine": board})
    assert total.stakes == {"peg": 10}
    assert total.screws == {"deck": sum(counts.values())}


def test_boards_on_a_rail_are_screwed_to_it():
    spec = posted((), 0.03)
    board = pine(thickness_m=T, screws="deck")
    made = on_fence(spec, board, sides=("AB", "BC", "CD", "DA"))
    # 8 ends at posts, and places no more than 24 in apart between them: 7.94 m and 5.94 m
    inner = 2 * (math.ceil(7.94 / 0.6096) - 1 + math.ceil(5.94 / 0.6096) - 1)
    assert dict(screw_counts(made, board))["fence"] == 2 * (8 + inner)


@pytest.mark.parametrize(("stock", "connectors"), [(7.0, 1), (4.0, 2), (2.0, 4)])
def test_a_connector_for_every_joint_of_a_ring(stock, connectors):
    board = pine(bends=True, thickness_m=0.003, stock=(StockItem(stock, 1.0),))
    (made,) = edged([BedSpec("r", Circle((4, 3), 1.0), "pine")], board=board)
    assert count_hardware([made], {"pine": board}).connectors == {"pine": connectors}


def order_lines(stake, screw, **more):
    board = pine(thickness_m=T, stake="peg", screws="deck", connector_price=2.5, **more)
    beds = [bed("b", BOX)]
    if more.get("bends"):
        beds.append(BedSpec("r", Circle((6, 4), 1.0), "pine"))
    layout = garden(
        YARD, beds, board=board, stakes={"peg": stake}, screws={"deck": screw}, paths=()
    )
    plan = make_plan(layout)
    return plan, {line.item: line for line in plan.order.lines if line.group == "Hardware"}


@pytest.mark.parametrize(
    ("pack", "on_hand", "quantity", "unit", "cost"),
    [
        (1, 0, 10, "each", 20.0),
        (1, 4, 6, "each", 12.0),
        (6, 0, 2, "box of 6", 4.0),
        (6, 4, 1, "box of 6", 2.0),
        (10, 0, 1, "box of 10", 2.0),
        (9, 0, 2, "box of 9", 4.0),
    ],
)
def test_stakes_are_bought_by_the_pack(pack, on_hand, quantity, unit, cost):
    stake = replace(PEG, pack=pack, on_hand=on_hand, price=2.0)
    plan, lines = order_lines(stake, Screw("deck", 0.06, 100, 9.0))
    line = lines["peg stake"]
    assert (line.quantity, line.unit, line.cost) == (quantity, unit, cost)
    used = plan.hardware.screws["deck"]
    assert used == 4 * 3 + 2 * (2 * 4 + 6)
    assert lines["deck screws"].quantity == 1


def test_what_has_no_price_is_missing_and_what_is_on_hand_is_not_bought():
    plan, lines = order_lines(PEG, Screw("deck", 0.06, 100, None, on_hand=40))
    assert "deck screws" not in lines
    assert plan.order.missing == ("peg stake",)
    plan, lines = order_lines(PEG, Screw("deck", 0.06, 10, None, on_hand=35))
    assert lines["deck screws"].quantity == 1
    assert set(plan.order.missing) == {"peg stake", "deck screws"}


def test_connectors_stand_in_the_order():
    _, lines = order_lines(PEG, Screw("deck", 0.06), bends=True)
    assert (lines["pine connector"].quantity, lines["pine connector"].cost) == (1, 2.5)


def test_blocks_are_cut_from_the_same_boards():
    board = pine(thickness_m=T, block_m=0.3, stock=(StockItem(2.0, 5.0),))
    plan = make_plan(garden(YARD, [bed("b", BOX)], board=board, paths=()))
    (part,) = plan.boards
    assert sum(piece.kind == "block" for piece in part.pieces) == 2
    sawn = sorted(length for cut in part.cut.boards for length in cut.pieces)
    assert sawn == sorted(round(piece.long_m * 1e9) for piece in part.pieces)


def test_beds_far_from_posts_are_edged_as_if_there_were_none():
    spec = posted((PostRow("AB", (2.0, 4.0)),), 0.05, footing=0.25)
    one, other = (edged([bed("b", BOX)], spec=each)[0] for each in (YARD, spec))
    assert [p.long_m for p in one.pieces] == [p.long_m for p in other.pieces]
    assert one.planting.equals(other.planting)


def test_a_fence_without_posts_is_boarded_from_corner_to_corner():
    made = on_fence(fence([(0, 0), (8, 0), (8, 6), (0, 6)]), sides=("AB", "BC", "CD", "DA"))
    outer = [p.long_m for p in made.pieces[:4]]
    assert outer == pytest.approx([8, 6 - 2 * T, 8, 6 - 2 * T])


def test_boards_on_the_fence_stop_at_posts_they_could_be_notched_round():
    spec = posted((PostRow("AB", (2.5, 5.0)),), 0.005)
    made = on_fence(spec, pine(thickness_m=T, at_posts="notch"), start_m=1.0, end_m=1.0)
    assert not any(piece.notches for piece in made.pieces)
    assert [e.joins for p in made.pieces for e in p.ends].count("AB 1") == 2
