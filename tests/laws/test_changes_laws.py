"""Laws of changes: nothing changes against itself, and all that was cut for a plan serves it."""

from __future__ import annotations

import random

from gardens import bed, garden, pine, rectangle, regular
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan import make_plan
from bedplan.model.materials import StockItem
from bedplan.outputs.tables_changes import changes_tables
from bedplan.plan.changes import WITHIN_M, compare, pieces_of
from bedplan.plan.reuse import cut_from
from bedplan.plan.still_wanted import still_wanted

CORNERS = st.sampled_from(["butt", "mitre"])


@st.composite
def plans(draw):
    """A yard with two or three beds of odd shapes, their boards butted or mitred."""
    beds = [
        bed(
            f"bed {number}",
            [
                (x + 3.0 + 5.0 * number, y + 3.0)
                for x, y in regular(
                    draw(st.integers(3, 7)), draw(st.floats(0.7, 1.9)), draw(st.floats(0.0, 90.0))
                )
            ],
        )
        for number in range(draw(st.integers(1, 3)))
    ]
    board = pine(corner=draw(CORNERS), stock=(StockItem(2.4, 5.0),))
    return make_plan(garden(rectangle(20.0, 6.0), beds, board=board))


@settings(max_examples=25, deadline=None)
@given(plan=plans(), seed=st.integers(0, 99))
def test_nothing_changes_against_itself_and_every_cut_piece_serves(plan, seed):
    made = compare(plan, plan)
    assert {change.what for change in made.pieces} <= {("same",)}
    assert changes_tables(made, "metric", WITHIN_M) == []
    cut = [cut_from(piece) for piece in pieces_of(plan)]
    random.Random(seed).shuffle(cut)
    still = still_wanted(plan, made.pieces, cut)
    assert {served.how for served in still.reuse.served} <= {"in its place"}
    assert all(served.cut.label == served.piece.label for served in still.reuse.served)
    assert len(still.reuse.served) == len(cut)
    assert (still.reuse.spare, still.reuse.wanted, still.parts) == ((), (), ())


@settings(max_examples=15, deadline=None)
@given(plan=plans(), taken=st.integers(0, 2**12 - 1))
def test_what_was_not_cut_yet_is_still_to_cut(plan, taken):
    cut = [cut_from(p) for n, p in enumerate(pieces_of(plan)) if taken >> (n % 12) & 1]
    still = still_wanted(plan, compare(plan, plan).pieces, cut)
    done = sorted(served.piece.label for served in still.reuse.served)
    left = sorted(piece.label for part in still.parts for piece in part.pieces)
    assert sorted([*done, *left]) == sorted(piece.label for piece in pieces_of(plan))
    assert {one.label for one in cut} <= set(done)


@settings(max_examples=15, deadline=None)
@given(before=plans(), after=plans())
def test_change_and_its_undoing_are_each_others_mirror(before, after):
    there, back = compare(before, after), compare(after, before)
    turned = {"longer": "shorter", "shorter": "longer", "new": "gone", "gone": "new"}
    forth = sorted(tuple(turned.get(word, word) for word in c.what) for c in there.pieces)
    assert forth == sorted(c.what for c in back.pieces)
    assert [-(a.change or 0) for a in there.sides] == [b.change for b in back.sides]
