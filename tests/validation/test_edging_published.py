"""Boards in dressed sizes, mitre settings, boxes and rings against published figures.

Dressed sizes: rows L07 to L16, American Softwood Lumber Standard, PS 20. Corners of regular
figures: rows G02, G06 and G07, geometry.
"""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest
from gardens import INCH, bed, fence, garden, pine, rectangle, regular

from bedplan.edging import edge_beds
from bedplan.model.layout import BedSpec, Circle
from bedplan.model.materials import Stake, StockItem
from bedplan.site import resolve

TABLE = Path(__file__).parents[1] / "data/check-values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())}
THICKNESSES = ["L07", "L08", "L09", "L16"]
WIDTHS = ["L11", "L12"]


def dry_in(row):
    """Return the dry dressed size of a row [in]."""
    return float(re.findall(r"\d+\.?\d*", ROWS[row]["expected"])[0])


def edged_in(points, board, **more):
    """Return the edging of a bed drawn in inches."""
    points = [(x * INCH, y * INCH) for x, y in points]
    wide = fence([(-9, -9), (9, -9), (9, 9), (-9, 9)])
    stakes = {"peg": Stake("peg", 4 * INCH, 0.6)}
    layout = garden(wide, [bed("b", points, **more)], board=board, stakes=stakes)
    return edge_beds(resolve(layout), layout.boards, layout.stakes)[0]


BOX_IN = [(0, 0), (96, 0), (96, 48), (0, 48)]


def longs_in(made, tier=1):
    return [piece.long_m / INCH for piece in made.pieces if piece.tier == tier]


@pytest.mark.parametrize("row", THICKNESSES)
def test_butt_box_of_dressed_boards(row):
    # L07, L08, L09, L16: PS 20 thicknesses; a box 96 by 48 in outside takes two boards of 96 in
    # and two of 48 in less both thicknesses, and in the tier above the other way about
    thick = dry_in(row)
    made = edged_in(BOX_IN, pine(thickness_m=thick * INCH), tiers=2)
    assert longs_in(made, 1) == pytest.approx([96, 48 - 2 * thick] * 2)
    assert longs_in(made, 2) == pytest.approx([96 - 2 * thick, 48] * 2)


@pytest.mark.parametrize("row", THICKNESSES)
def test_mitred_box_of_dressed_boards(row):
    # G06: long points 96 and 48 in, 288 in in all; short points less two thicknesses of PS 20
    thick = dry_in(row)
    made = edged_in(BOX_IN, pine(thickness_m=thick * INCH, corner="mitre"))
    assert longs_in(made) == pytest.approx([96, 48, 96, 48])
    assert math.fsum(longs_in(made)) == pytest.approx(288)
    shorts = [piece.short_m / INCH for piece in made.pieces]
    assert shorts == pytest.approx([96 - 2 * thick, 48 - 2 * thick] * 2)
    assert {round(end.saw_deg, 6) for piece in made.pieces for end in piece.ends} == {45.0}


def test_planting_area_of_a_box_at_stakes():
    # G07: 96 by 48 in with boards of 1.5 in leave 4185 in2 inside, whatever the corners
    for corner in ("butt", "mitre", "stake"):
        board = pine(thickness_m=1.5 * INCH, corner=corner, stake="peg")
        assert edged_in(BOX_IN, board).planting.area / INCH**2 == pytest.approx(4185)


@pytest.mark.parametrize("count", [3, 4, 5, 6, 7, 8, 9, 10, 12, 16, 24])
def test_mitre_settings_of_regular_figures(count):
    # G02: a ring of n boards is sawn at 180/n degrees, every tier of it
    ring = [(x * 40, y * 40) for x, y in regular(count, 1.0)]
    made = edged_in(ring, pine(thickness_m=0.75 * INCH, corner="mitre"), tiers=2)
    assert [end.saw_deg for piece in made.pieces for end in piece.ends] == pytest.approx(
        [180 / count] * (4 * count)
    )


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8])
def test_boards_of_a_regular_figure_at_stakes(count):
    # geometry: cut square where the inner corner lies beside them, each board is a side of the
    # inner figure: 2 (r cos(180/n) - t) tan(180/n)
    thick, reach = 0.75, 40
    ring = [(x * reach, y * reach) for x, y in regular(count, 1.0)]
    made = edged_in(ring, pine(thickness_m=thick * INCH, corner="stake", stake="peg"))
    half = math.pi / count
    side = 2 * (reach * math.cos(half) - thick) * math.tan(half)
    assert longs_in(made) == pytest.approx([side] * count)


@pytest.mark.parametrize("row", WIDTHS)
def test_tiers_of_dressed_widths(row):
    # L11, L12: PS 20 face widths; n boards reach n widths, a quarter inch more takes one more
    width = dry_in(row)
    for count in (1, 2, 3):
        board = pine(height_m=width * INCH)
        assert edged_in(BOX_IN, board, height_m=count * width * INCH).tiers == count
        assert edged_in(BOX_IN, board, height_m=(count * width + 0.25) * INCH).tiers == count + 1


@pytest.mark.parametrize(("radius_in", "sagitta_in"), [(24, 0.25), (36, 0.5), (18, 0.125)])
def test_facets_by_the_sagitta_of_a_chord(radius_in, sagitta_in):
    # geometry: a chord c of a circle r stands off by s where r = s/2 + c^2 / (8 s)
    shape = Circle((4, 4), radius_in * INCH, 0, sagitta_in * INCH)
    layout = garden(rectangle(8, 8), [BedSpec("r", shape, "pine")], board=pine(thickness_m=0.016))
    site = resolve(layout)
    (made,) = edge_beds(site, layout.boards)
    reached = site.beds[0].sagitta_m / INCH
    chord = made.pieces[0].long_m / INCH
    assert reached <= sagitta_in
    assert reached / 2 + chord**2 / (8 * reached) == pytest.approx(radius_in)
    # one board fewer would stray farther
    fewer = radius_in * (1 - math.cos(math.pi / (len(made.pieces) - 1)))
    assert fewer > sagitta_in


@pytest.mark.parametrize(
    ("diameter_in", "stock_ft", "pieces"), [(48, 16, 1), (72, 16, 2), (60, 8, 2)]
)
def test_bent_edging_by_arc_length(diameter_in, stock_ft, pieces):
    # geometry: pi d; 48 in round takes 12 ft 6.8 in, 72 in takes 18 ft 10.2 in
    board = pine(thickness_m=0.003, bends=True, stock=(StockItem(stock_ft * 12 * INCH, 1.0),))
    spec = BedSpec("r", Circle((4, 4), diameter_in / 2 * INCH), "pine")
    layout = garden(rectangle(8, 8), [spec], board=board)
    (made,) = edge_beds(resolve(layout), layout.boards)
    assert len(made.pieces) == pieces
    assert sum(longs_in(made)) == pytest.approx(math.pi * diameter_in)
