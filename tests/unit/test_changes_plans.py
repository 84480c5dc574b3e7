"""A fence side is measured again: which pieces change is worked out by hand."""

from __future__ import annotations

import json
from functools import cache

import pytest
from gardens import INCH

from bedplan import make_plan, parse_layout
from bedplan.outputs.cut_record import changes_record
from bedplan.outputs.tables_changes import changes_tables, reuse_tables
from bedplan.plan.changes import WITHIN_M, compare, pieces_of
from bedplan.plan.reuse import cut_from
from bedplan.plan.still_wanted import still_wanted

YARD = """
title = "Yard"
unit = "in"
show = "imperial"
[enclosure]
corners = {{ A = [0, 0], B = [{b}, 0], C = [{c}, 120], D = [0, 120] }}
[[bed]]
name = "strip"
along = ["AB"]
width = 24
edging = "cedar"
[[bed]]
name = "island"
rectangle = {{ center = [100, 72], size = [48, 36], square_to = "AB" }}
edging = "cedar"
[[path]]
name = "walk"
area = "rest"
[board.cedar]
thickness = 1
height = 6
kerf = "1/8 in"
stock = [{{ length = 252, price = 20 }}, {{ length = 96, price = 8 }}]
"""


@cache
def yard(b=240, c=240, extra=""):
    return make_plan(parse_layout(YARD.format(b=b, c=c) + extra))


def changed(before, after):
    return {
        (change.after or change.before).label: (
            change.what,
            change.before and round(change.before.long_m / INCH, 4),
            change.after and round(change.after.long_m / INCH, 4),
        )
        for change in compare(before, after).pieces
        if change.what != ("same",)
    }


def test_a_fence_an_inch_longer_lengthens_the_one_board_that_runs_to_it():
    made = compare(yard(), yard(241, 241))
    moved = {corner.name: corner.moved_m / INCH for corner in made.corners}
    assert moved == pytest.approx({"A": 0.0, "B": 1.0, "C": 1.0, "D": 0.0})
    sides = {side.name: side.change / INCH for side in made.sides}
    assert sides == pytest.approx({"AB": 1.0, "BC": 0.0, "CD": 1.0, "DA": 0.0})
    # from fence to fence 240 in, and 241; the island's four boards stay
    assert changed(yard(), yard(241, 241)) == {"1.1": (("longer",), 240.0, 241.0)}
    assert len(made.pieces) == 5
    areas = {bed.name: bed.change / INCH**2 for bed in made.beds}
    assert areas == pytest.approx({"strip": 24.0, "island": 0.0}, abs=1e-6)


def test_a_corner_moved_along_its_side_also_turns_a_saw_setting():
    # C two inches out: at 24 in from AB the side stands 2 × 24/120 = 0.4 in farther out, and
    # leans atan(2/120) = 0.955 degrees
    assert changed(yard(), yard(240, 242)) == {"1.1": (("longer", "other angle"), 240.0, 240.4)}
    last = next(p for p in pieces_of(yard(240, 242)) if p.label == "1.1").ends
    assert max(each.saw_deg for each in last) == pytest.approx(0.9548, abs=1e-3)


def test_half_a_mark_of_the_tape_is_no_change():
    assert changed(yard(), yard(240 + 1 / 32, 240 + 1 / 32)) == {}
    assert changed(yard(), yard(240 + 3 / 32, 240 + 3 / 32)) == {
        "1.1": (("longer",), 240.0, 240.0938)
    }


def test_beds_that_come_and_go_bring_and_take_their_pieces():
    more = '[[bed]]\nname = "new"\nrectangle = { center = [200, 80], size = [40, 20] }\n'
    more += 'edging = "cedar"\n'
    there = changed(yard(), yard(extra=more))
    assert {what for what, _, _ in there.values()} == {("new",)}
    assert len(there) == 4
    gone = changed(yard(extra=more), yard())
    assert {what for what, _, _ in gone.values()} == {("gone",)}


def test_another_splice_brings_a_piece_and_a_block_and_mixes_neither():
    # 300 in are two pieces of 150 and a block of 12; 520 in are three of 173-1/3 and two blocks
    assert changed(yard(300, 300), yard(520, 520)) == {
        "1.1a": (("longer",), 150.0, 173.3333),
        "1.1b": (("longer",), 150.0, 173.3333),
        "1.1c": (("new",), None, 173.3333),
        "1.1b block": (("new",), None, 12.0),
    }


def test_a_bed_put_first_renames_labels_but_changes_no_piece():
    first = '[[bed]]\nname = "first"\nrectangle = { center = [200, 80], size = [40, 20] }\n[[bed]]'
    text = YARD.format(b=240, c=240).replace("[[bed]]", first, 1)
    after = make_plan(parse_layout(text))
    pairs = [(c.before.label, c.after.label, c.what) for c in compare(yard(), after).pieces]
    assert ("1.1", "2.1", ("same",)) in pairs
    assert {what for _, _, what in pairs} == {("same",)}
    # and a piece cut by its old label still stays where it was
    cut = [cut_from(piece) for piece in pieces_of(yard())]
    still = still_wanted(after, compare(yard(), after).pieces, cut)
    assert {served.how for served in still.reuse.served} == {"in its place"}


def test_cut_pieces_of_a_shorter_fence_are_trimmed_and_nothing_is_bought():
    before, after = yard(), yard(239, 239)
    made = compare(before, after)
    cut = [cut_from(piece) for piece in pieces_of(before)]
    still = still_wanted(after, made.pieces, cut)
    how = {served.piece.label: served.how for served in still.reuse.served}
    assert how.pop("1.1") == "trimmed"
    assert set(how.values()) == {"in its place"}
    (trim,) = (served for served in still.reuse.served if served.how == "trimmed")
    assert sum(trim.off_m) == pytest.approx(INCH)
    assert still.parts == ()


def test_cut_pieces_of_a_longer_fence_are_spare_and_one_board_is_bought():
    before, after = yard(), yard(241, 241)
    made = compare(before, after)
    cut = [cut_from(piece) for piece in pieces_of(before)]
    still = still_wanted(after, made.pieces, cut)
    assert [one.label for one in still.reuse.spare] == ["1.1"]
    (part,) = still.parts
    assert [piece.label for piece in part.pieces] == ["1.1"]
    assert part.cut.cost == 20.0
    assert still.sources(part) == ["buy"]
    assert [one.label for one in still.unused] == ["1.1"]
    tables = {table.title for table in reuse_tables(still, "imperial", WITHIN_M)}
    assert tables == {
        "Cut pieces that serve as they are",
        "Cut pieces left over",
        "Still to cut, cedar",
    }


def test_a_long_spare_piece_is_sawn_up_where_that_saves_a_board():
    # of the yard as drawn only the 240 in board is cut; built without the strip, its bed gone, all
    # four boards of the island (48, 48, 34, 34 in and three kerfs) come out of it
    text = YARD.format(b=240, c=240)
    start, end = text.index("[[bed]]"), text.index('[[bed]]\nname = "island"')
    after = make_plan(parse_layout(text[:start] + text[end:]))
    cut = [cut_from(piece) for piece in pieces_of(yard()) if piece.label == "1.1"]
    still = still_wanted(after, compare(yard(), after).pieces, cut)
    # trimmed for one place it would leave three boards to buy: that way is dropped
    assert still.reuse.served == ()
    (part,) = still.parts
    assert part.cut.cost == 0.0
    assert still.sources(part) == ["cut piece 1.1"]
    assert len(part.cut.boards[0].pieces) == 4
    assert still.unused == ()


def test_nothing_changed_makes_no_table_and_a_plain_record():
    made = compare(yard(), yard())
    assert changes_tables(made, "imperial", WITHIN_M) == []
    record = changes_record(made, None)
    assert set(json.loads(json.dumps(record, allow_nan=False))) == set(record)
    assert record["cut_pieces"] is None
    assert {corner["moved_m"] for corner in record["corners"]} == {0.0}


def test_tables_tell_what_changed():
    made = compare(yard(), yard(240, 242))
    # the strip grows by 4.8 square inches, which no table tells, and the board costs the same
    corners, sides, pieces = changes_tables(made, "imperial", WITHIN_M)
    assert corners.rows == (("C", '2"', '2"', '0"'),)
    assert [row[0] for row in sides.rows] == ["CD"]  # BC is longer by a sixtieth of an inch
    (row,) = pieces.rows
    assert row[:6] == ("1.1", "strip", "longer, other angle", "20'", "20' 3/8\"", '3/8"')
    assert any("1.0°" in cell and "[" in cell for cell in row[6:])
    # 240 takes a 252 (20) and the island's 48 + 34 twice a 96 (8): 36. 300 takes two of 150, each
    # in a 252, and the island's four come out of what they leave: 40
    (*_, totals) = changes_tables(compare(yard(), yard(300, 300)), "imperial", WITHIN_M)
    assert totals.rows == (
        ("strip", "40.0 ft²", "50.0 ft²", "10.0 ft²"),
        ("order", "36.00", "40.00", "4.00"),
    )
