"""Marks along each board, offcuts by name, and what is left on hand, added up to the nanometre."""

from __future__ import annotations

from collections import Counter

import pytest
from cutting import board_plan, inches, piece
from gardens import pine
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.edging.model import Notch
from bedplan.model.materials import StockItem
from bedplan.outputs.tables_cuts import (
    end_words,
    notches_table,
    offcuts_table,
    on_hand_lines,
    rounded_down,
    sawing_table,
)
from bedplan.plan.sawing import left_on_hand, sawn_boards
from bedplan.units import nanometres

EIGHTH = 3_175_000  # 1/8 in [nm]
INCH_NM = 25_400_000


def eight_foot(**changes):
    plain = {"kerf_m": inches(1 / 8), "stock": (StockItem(inches(96), 9.0),)}
    return pine(**plain | changes)


def test_marks_of_one_board_worked_by_hand():
    # 96 in, 1/4 in off each end: 1/4 + 40 = 40-1/4; + 1/8 + 30 = 70-3/8; + 1/8 + 20 = 90-1/2;
    # + 1/8 = 90-5/8; the offcut runs from there to 95-3/4 and is 5-1/8 long
    pieces = [piece("a", inches(20)), piece("b", inches(40)), piece("c", inches(30))]
    (board,) = sawn_boards(board_plan(pieces, eight_foot(end_trim_m=inches(1 / 4))), inches(12))
    marks = [(sawn.piece.label, sawn.end / INCH_NM) for sawn in board.pieces]
    assert marks == [("b", 40.25), ("c", 70.375), ("a", 90.5)]
    assert [(start / INCH_NM, end / INCH_NM) for start, end in board.kerfs] == [
        (40.25, 40.375),
        (70.375, 70.5),
        (90.5, 90.625),
    ]
    assert (board.offcut.start / INCH_NM, board.offcut.end / INCH_NM) == (90.625, 95.75)
    assert board.offcut.name == ""
    assert board.offcut.length == 5.125 * INCH_NM


def test_pieces_that_fill_a_board_need_no_last_cut():
    pieces = [piece("a", inches(96 - 1 / 8) / 2), piece("b", inches(96 - 1 / 8) / 2)]
    (board,) = sawn_boards(board_plan(pieces, eight_foot()), inches(12))
    assert board.offcut is None
    assert len(board.kerfs) == 1
    assert board.pieces[-1].end == board.length


def test_a_last_cut_takes_what_is_there():
    # 96 - 95-15/16 leaves 1/16 in, half a kerf: all of it goes to dust
    (board,) = sawn_boards(board_plan([piece("a", inches(95.9375))], eight_foot()), inches(12))
    assert board.offcut is None
    assert board.kerfs == ((board.pieces[0].end, board.length),)
    assert board.kerfs[0][1] - board.kerfs[0][0] == EIGHTH // 2


def test_offcuts_worth_keeping_are_named_in_turn_and_the_others_are_scrap():
    pieces = [piece("a", inches(84 - 1 / 8)), piece("b", inches(84)), piece("c", inches(50))]
    boards = sawn_boards(board_plan(pieces, eight_foot()), inches(12))
    left = {board.pieces[0].piece.label: board.offcut for board in boards}
    assert left["a"].length == 12 * INCH_NM  # exactly the least length is kept
    assert left["b"].length == 12 * INCH_NM - EIGHTH
    assert left["b"].name == ""
    assert sorted(each.name for each in left.values()) == ["", "pine offcut 1", "pine offcut 2"]


def test_what_is_left_on_hand_is_kept_offcuts_and_leftovers_not_sawn():
    board = eight_foot(on_hand_m=(inches(31), inches(10), inches(31)))
    part = board_plan([piece("a", inches(30)), piece("b", inches(70))], board)
    boards = sawn_boards(part, inches(12))
    # one 31 in gives the 30; 96 - 70 - 1/8 = 25-7/8 stays of a bought one
    lengths = [length / INCH_NM for length in left_on_hand(part, boards)]
    assert lengths == [31.0, 25.875, 10.0]
    assert on_hand_lines(part, boards, "imperial") == (
        '[board.pine]\non_hand = ["31 in", "25-7/8 in", "10 in"]'
    )


def test_lines_for_the_next_layout_are_sound_toml_and_never_too_long():
    import tomllib

    from bedplan.units import parse

    part = board_plan([piece("a", 1.23456789)], eight_foot(name='2" x 6" [rough]'))
    boards = sawn_boards(part, 0.1)
    for show in ("imperial", "metric"):
        table = tomllib.loads(on_hand_lines(part, boards, show))
        (told,) = table["board"]['2" x 6" [rough]']["on_hand"]
        step = 0.0254 / 16 if show == "imperial" else 0.001
        assert 0 <= boards[0].offcut.length * 1e-9 - parse(told, "length") < step


@pytest.mark.parametrize(
    ("length", "told"),
    [(0, "0 in"), (INCH_NM - 1, "15/16 in"), (INCH_NM, "1 in"), (96 * INCH_NM, "96 in")],
)
def test_rounding_down_to_a_sixteenth(length, told):
    assert rounded_down(length, "imperial") == told


def test_tables_tell_every_piece_cut_and_offcut():
    pieces = [piece("1.1", inches(40), (45.0, -30.0)), piece("1.2", inches(30))]
    part = board_plan(pieces, eight_foot(end_trim_m=inches(1 / 4)))
    boards = sawn_boards(part, inches(12))
    table = sawing_table(part, boards, "imperial")
    assert [row[1] for row in table.rows] == ["1.1", "1.2", "–"]
    # the two slants shorten opposite faces: the inner one by 16 mm at 45°, 5/8 in
    assert table.rows[0][3:5] == ("3' 4\"", "3' 3-3/8\"")
    assert table.rows[0][5:] == ("45.0° outer", "30.0° inner", "3' 4-1/4\"")
    assert table.rows[1][5:] == ("square", "square", "5' 10-3/8\"")
    assert table.note.startswith('Square both ends of every board first, 1/4" off each')
    assert table.note.endswith('Kerf 1/8".')
    (left,) = offcuts_table(boards, inches(12), "imperial").rows
    assert left == ("pine offcut 1", "pine 1", "2' 1-1/4\"")
    assert notches_table(boards, "imperial") is None


def test_notches_are_told_with_their_face():
    notch = Notch(inches(10), inches(13.5), inches(1 / 4), "BC 1", "inner")
    pieces = [piece("1.1", inches(40), notches=(notch,)), piece("1.2", inches(30))]
    boards = sawn_boards(board_plan(pieces, eight_foot()), inches(12))
    table = notches_table(boards, "imperial")
    assert table.rows == (("1.1", "BC 1", '10"', "1' 1-1/2\"", '1/4"', "inner"),)


def test_an_end_is_told_by_its_setting_and_longer_face():
    first, last = piece("a", 1.0, (0.04, -22.5)).ends
    assert end_words(first) == "mitre, square"  # a saw's scale cannot be set so fine
    assert end_words(last) == "mitre 22.5° inner"


@settings(max_examples=60, deadline=None)
@given(
    lengths=st.lists(st.integers(50, 2390), min_size=1, max_size=14),
    kerf=st.sampled_from([0, 2, 3]),
    trim=st.sampled_from([0, 5]),
    leftovers=st.lists(st.integers(30, 1500), max_size=3),
    keep=st.integers(0, 800),
)
def test_every_board_adds_up_and_every_piece_is_sawn_once(lengths, kerf, trim, leftovers, keep):
    board = pine(
        kerf_m=kerf / 1000,
        end_trim_m=trim / 1000,
        stock=(StockItem(2.4, 5.0), StockItem(3.0, 6.0)),
        on_hand_m=tuple(length / 1000 for length in leftovers),
    )
    pieces = [piece(f"p{number}", each / 1000) for number, each in enumerate(lengths)]
    part = board_plan(pieces, board)
    boards = sawn_boards(part, keep / 1000)
    for sawn in boards:
        dust = sum(end - start for start, end in sawn.kerfs)
        wood = sum(each.length for each in sawn.pieces)
        left = sawn.offcut.length if sawn.offcut else 0
        assert 2 * sawn.trim + wood + dust + left == sawn.length
        at = sawn.trim
        for each in sawn.pieces:
            assert each.start == at
            assert each.length == nanometres(each.piece.long_m)
            at = each.end + kerf * 1_000_000
        if sawn.offcut:
            assert bool(sawn.offcut.name) == (left >= keep * 1_000_000)
            assert sawn.offcut.start == at
    labels = Counter(each.piece.label for sawn in boards for each in sawn.pieces)
    assert labels == Counter(each.label for each in pieces)
    named = [sawn.offcut.name for sawn in boards if sawn.offcut and sawn.offcut.name]
    assert named == [f"pine offcut {number}" for number in range(1, len(named) + 1)]
