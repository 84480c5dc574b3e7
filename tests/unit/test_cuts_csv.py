"""CSV files of a cut sheet, and lists of cut pieces read back, whatever wrote them."""

from __future__ import annotations

import csv
from io import StringIO

import pytest
from cutting import board_plan, inches, piece
from gardens import pine

from bedplan.edging.model import Notch
from bedplan.errors import LayoutError, OutputError
from bedplan.layout_file.cut_pieces import read_cut_pieces
from bedplan.model.materials import StockItem
from bedplan.outputs.csv_files import cut_files, write_set
from bedplan.plan.reuse import cut_from
from bedplan.plan.sawing import sawn_boards
from bedplan.units import parse

PIECES = (
    piece("1.1", inches(40), (45.0, -30.0)),
    piece("1.2", inches(30.03)),
    piece('2,1 "odd"', inches(12.5), (0.0, 22.5), notches=(Notch(0.1, 0.2, 0.008, "BC 1"),)),
)
PLANNED = {each.label: each for each in PIECES}


def files(show="imperial"):
    board = pine(kerf_m=inches(1 / 8), stock=(StockItem(inches(72), 9.0),))
    return cut_files(sawn_boards(board_plan(PIECES, board), inches(12)), show)


def rows(content):
    return list(csv.DictReader(StringIO(content.decode(), newline="")))


def test_every_file_reads_back_with_its_figures():
    made = files()
    assert set(made) == {"pieces.csv", "boards.csv", "offcuts.csv", "labels.csv"}
    told = {row["label"]: row for row in rows(made["pieces.csv"])}
    assert set(told) == set(PLANNED)
    first = told["1.1"]
    assert first["long"] == "3' 4\""
    assert (first["first_deg"], first["first_longer"]) == ("45.0", "outer")
    assert (first["last_deg"], first["last_longer"]) == ("30.0", "inner")
    for label, row in told.items():
        assert float(row["long_mm"]) == pytest.approx(PLANNED[label].long_m * 1000, abs=0.006)
        assert abs(parse(row["long"], "length") - PLANNED[label].long_m) <= inches(1 / 32) + 1e-9
    boards = rows(made["boards.csv"])
    # 40 and 30 share a board, so that the other keeps a long offcut
    assert [row["cuts"] for row in boards] == ["2", "1"]
    assert sum(float(row["offcut_mm"]) for row in boards) == pytest.approx(
        25.4 * (2 * 72 - 40 - 30.03 - 12.5 - 3 / 8), abs=0.02
    )
    left = rows(made["offcuts.csv"])
    assert [row["keep"] for row in left] == ["no", "yes"]
    assert [row["name"] for row in left] == ["scrap", "pine offcut 1"]
    assert {row["label"] for row in rows(made["labels.csv"])} == set(PLANNED)
    assert all(row["write"].startswith(row["label"]) for row in rows(made["labels.csv"]))


def test_marks_add_up_along_each_board_of_the_file():
    for row_group in ("1", "2"):
        marks = [
            (float(row["mark_mm"]), float(row["long_mm"]))
            for row in rows(files()["pieces.csv"])
            if row["from_board"] == row_group
        ]
        at = 0.0
        for mark, long in marks:
            assert mark == pytest.approx(at + long, abs=0.02)
            at = mark + 25.4 / 8


def test_existing_files_are_kept_unless_told(tmp_path):
    folder = tmp_path / "new" / "cuts"
    write_set(folder, files())
    (folder / "pieces.csv").write_text("mine")
    (folder / "labels.csv").unlink()
    with pytest.raises(OutputError, match=r"pieces\.csv, boards\.csv, offcuts\.csv in .* --force"):
        write_set(folder, files())
    assert (folder / "pieces.csv").read_text() == "mine"
    assert not (folder / "labels.csv").exists()  # all or nothing
    write_set(folder, files(), replace=True)
    assert (folder / "pieces.csv").read_bytes() == files()["pieces.csv"]
    with pytest.raises(OutputError, match="cannot be made"):
        write_set(folder / "pieces.csv" / "deeper", files())


def read(tmp_path, content):
    file = tmp_path / "cut.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_cut_pieces(file, PLANNED)


def faults(tmp_path, content):
    with pytest.raises(LayoutError) as told:
        read(tmp_path, content)
    return [(fault.line, fault.got) for fault in told.value.faults]


@pytest.mark.parametrize("show", ["imperial", "metric"])
def test_the_file_that_cuts_writes_gives_the_pieces_as_planned(tmp_path, show):
    for one in read(tmp_path, files(show)["pieces.csv"]):
        plan = cut_from(PLANNED[one.label])
        assert abs(one.long_m - plan.long_m) <= inches(1 / 32) + 1e-9
        assert one.slants_deg == pytest.approx(plan.slants_deg, abs=0.05)
        assert (one.board, one.notches) == (plan.board, plan.notches)


@pytest.mark.parametrize(
    "content",
    [
        "1.1\n1.2\n",
        "1.1\r\n\r\n1.2",
        "\ufefflabel\n1.1\n1.2\n",
        "label,board\n1.1,pine\n1.2,\n",
        "Label;Long\r\n1.1;1016 mm\r\n1.2;762,762 mm\r\n",
        "label\tfirst deg\n1.1\t45\n1.2\t0,0\n",
        "label,long_mm\n1.1,1016\n1.2,762.762\n",
        '"label","long"\n"1.1","3\' 4"""\n"1.2","2\' 6"""\n',
        "\n\n label , note\n 1.1 ,good\n 1.2 ,\n,\n",
    ],
)
def test_lists_of_every_make_are_read(tmp_path, content):
    made = read(tmp_path, content)
    assert [one.label for one in made] == ["1.1", "1.2"]
    assert [one.long_m for one in made] == pytest.approx([1.016, 0.762762], abs=inches(1 / 32))
    assert made[0].slants_deg == (45.0, -30.0)


def test_figures_of_the_file_stand_over_those_of_the_plan(tmp_path):
    text = "label,board,long,first_deg,first_longer,last_deg\n1.1,oak,31 in,22.5°,inner,10\n"
    (one,) = read(tmp_path, text)
    assert (one.board, one.long_m) == ("oak", pytest.approx(inches(31)))
    # nothing is said of the last end's face: it is the plan's, inner
    assert one.slants_deg == (-22.5, -10.0)


def test_all_faults_come_at_once_each_with_its_line(tmp_path):
    text = (
        "label,long,first_deg,last_deg,first_longer\n"
        "1.1,40 in,45,30,outer\n"
        "9.9,40 in,45,30,outer\n"
        ",40 in,,,\n"
        "1.2,forty,,,\n"
        '"2,1 ""odd""",-3 in,,,\n'
        "1.1,40 in,,,\n"
    )
    assert faults(tmp_path, text) == [
        (3, "piece '9.9'"),
        (4, "a row without a label"),
        (5, "long 'forty'"),
        (6, "long '-3 in'"),
        (7, "piece '1.1' a second time, first on line 2"),
    ]
    more = "label,first_deg,last_deg,first_longer\n1.1,steep,,\n1.2,,95,\n1.2,,,left\n1.2,,-5,\n"
    assert [line for line, _ in faults(tmp_path, more)] == [2, 3, 4, 5]


@pytest.mark.parametrize(
    ("content", "got"),
    [
        ("", "an empty file"),
        ("\r\n,,\r\n", "an empty file"),
        ("name,long\n1.1,40 in\n", "columns name, long"),
        ("label,long\n1.1,40\n", "long '40'"),
        ("label,long\n1.1,0 in\n", "long '0 in'"),
        ("label,long\n1.1,1e999 in\n", "long '1e999 in'"),
        ('label\n"1.1\n', "a row that is no CSV"),
        (b"label\n1.1\xff\n", "it is not UTF-8 text"),
        ("label\n1.1".encode("utf-16"), "it is not UTF-8 text"),
    ],
)
def test_a_file_that_is_no_list_says_why(tmp_path, content, got):
    ((_, told),) = faults(tmp_path, content)
    assert got in told


def test_a_row_after_one_of_several_lines_keeps_its_own_line(tmp_path):
    text = 'label,note\n1.1,"two\nlines"\n9.9,\n'
    assert faults(tmp_path, text) == [(4, "piece '9.9'")]


def test_a_file_that_is_not_there_is_told_by_name(tmp_path):
    with pytest.raises(LayoutError, match=r"none\.csv: it cannot be opened"):
        read_cut_pieces(tmp_path / "none.csv", PLANNED)
    with pytest.raises(LayoutError, match="cannot be opened"):
        read_cut_pieces(tmp_path, PLANNED)
