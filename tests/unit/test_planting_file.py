"""What a layout may say of new plants at a spacing, and what is refused."""

from __future__ import annotations

import pytest

from bedplan.errors import LayoutError
from bedplan.layout_file import parse_layout
from bedplan.model.planting import Planting
from bedplan.outputs.record import record
from bedplan.plan import make_plan

YARD = """\
title = "Y"
unit = "ft"
[enclosure]
corners = { A = [0, 0], B = [20, 0], C = [20, 12], D = [0, 12] }
[[bed]]
name = "herbs"
polygon = [[4, 4], [12, 4], [12, 8], [4, 8]]
[[planting]]
bed = "herbs"
kind = "thyme"
spacing = "12 in"
"""


def test_what_is_left_out_has_its_default():
    (made,) = parse_layout(YARD).plantings
    assert made == Planting("herbs", "thyme", pytest.approx(0.3048))
    assert (made.grid, made.margin_m, made.direction) == ("triangular", made.spacing_m / 2, "best")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('bed = "herbs"', 'bed = "herb"', "did you mean 'herbs'?"),
        ('spacing = "12 in"', 'spacing = "1 mm"', "at least 20 mm"),
        ('spacing = "12 in"', 'spacing = "12 lb"', "measures something else"),
        ('spacing = "12 in"', 'spacing = "12 in"\ndirection = "AX"', "unknown side 'AX'"),
        ('spacing = "12 in"', 'spacing = "12 in"\npattern = "round"', "round"),
        ('spacing = "12 in"', 'spacing = "12 in"\nedge = "-1 in"', "-1 in"),
        ('kind = "thyme"', 'kind = "thyme"\nspaceing = 1', "did you mean 'spacing'?"),
    ],
)
def test_what_cannot_be_meant_is_told_with_its_line(old, new, words):
    changed = YARD.replace(old, new)
    with pytest.raises(LayoutError) as caught:
        parse_layout(changed, "yard.toml")
    (fault,) = [fault for fault in caught.value.faults if words in str(fault)]
    assert fault.line == 1 + changed[: changed.index(new.splitlines()[-1])].count("\n")


def test_a_bed_is_planted_once():
    with pytest.raises(LayoutError, match="a second planting of 'herbs'"):
        parse_layout(YARD + '[[planting]]\nbed = "herbs"\nkind = "sage"\nspacing = 1\n')


def test_plants_of_the_record():
    (row,) = record(make_plan(parse_layout(YARD)))["plants"]
    assert (row["bed"], row["kind"], row["count"]) == ("herbs", "thyme", 32)
    assert row["existing"] is False
    assert len(row["places"]) == 32
    assert row["proven"] is True
