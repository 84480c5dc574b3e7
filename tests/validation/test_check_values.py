"""Published figures against ours: agencies, standards, extension services, textbooks.

The figures stand in ``tests/data/check-values.csv`` with document, section and year; a test takes
them from there by the row's id, so nobody can bend a figure to fit. Rows whose last column says
``memory`` are marked ``from memory`` here. Every test works the figure out with bedplan's code.
"""

from __future__ import annotations

import csv
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from gardens import FOOT, INCH, YARD3, bed, edged, fence, garden, pine, rectangle, regular

from bedplan import make_plan
from bedplan.edging import edge_beds
from bedplan.model.layout import BedSpec, Circle, Layer, PathSpec, Plant, Rest
from bedplan.model.materials import Bag, Bulk, Material, StockItem
from bedplan.model.site import Enclosure
from bedplan.paving import best_shift, stack
from bedplan.site import resolve
from bedplan.site.enclosure import build_enclosure
from bedplan.stock import StockLength, cut
from bedplan.takeoff.barrier import lay_strips
from bedplan.takeoff.fill import PavedArea, bed_fill, fill_line, loose_volume, path_fill
from bedplan.takeoff.loose import buy_loose
from bedplan.units import format_mass, format_volume, nanometres, parse, parse_unit

TABLE = Path(__file__).parents[1] / "data/check-values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())}

POUND = float(ROWS["U04"]["expected"])
FOOT2, FOOT3, SHORT_TON = FOOT**2, FOOT**3, 2000 * POUND
LB_YD3 = POUND / YARD3
EXACT = 1e-12
"""Relative: figures that are exact by definition, less the rounding of a float."""


def figures(row):
    """Return the numbers of a row's answer, in the order they are printed."""
    return [float(text) for text in re.findall(r"\d+\.?\d*", ROWS[row]["expected"])]


def figure(row):
    (only,) = figures(row)
    return only


def paired(*columns):
    return list(zip(*columns, strict=True))


def test_every_row_says_where_it_comes_from():
    for row in ROWS.values():
        assert row["source"].strip(), row["id"]
        assert row["seen_or_memory"] in ("seen", "memory"), row["id"]


# ---- units ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "text", "dimension", "in_unit", "tolerance"),
    [
        # International Yard and Pound agreement, 1959
        ("U01", "1 yd", "length", 1.0, EXACT),
        ("U02", "1 ft", "length", 1.0, EXACT),
        ("U03", "1 in", "length", 1e-3, EXACT),
        ("U04", "1 lb", "mass", 1.0, EXACT),
        # derived from the exact yard; 0.7646 stands in USBM IC 9298
        ("U06", "1 yd^3", "volume", 1.0, EXACT),
        ("U07", "1 ft^3", "volume", 1.0, EXACT),
        # gallons in a cubic yard, to the six places of the row
        ("U09", "1 yd^3", "volume", 231 * INCH**3, 1e-8),
        # US Army TM 9-2320-366-10-1, Table 2-15: printed to a whole kg/m^3
        ("U11", "95 lb/ft^3", "density", 1.0, 1 / 1522),
        # FAO X5738E misprints 33.31; the row holds the true figure to four places
        ("U13", "1 m^3", "volume", FOOT3, 1e-4 / 35.3147),
    ],
)
def test_units_have_their_defined_size(row, text, dimension, in_unit, tolerance):
    assert parse(text, dimension) / in_unit == pytest.approx(figure(row), rel=tolerance)


@pytest.mark.parametrize(
    ("row", "big", "dimension", "small"),
    [
        ("U05", "1 yd^3", "volume", ["1 ft^3", "1 in^3"]),  # 27; 46656
        ("U08", "1 gal", "volume", ["1 in^3", "1 L"]),  # 231; 3.785411784
        ("U10", "1 ton", "mass", ["1 lb", "1 kg", "1 t"]),  # 2000; 907.18474; 0.90718474
    ],
)
def test_units_hold_so_many_of_another(row, big, dimension, small):
    ratios = [parse(big, dimension) / parse(text, dimension) for text in small]
    assert ratios == pytest.approx(figures(row), rel=EXACT)


def test_feet_are_international_and_not_survey_feet():
    # U12: a survey foot is 1200/3937 m; over 100 ft the two part by 0.0002 ft
    apart_ft = (100 * 1200 / 3937 - parse("100 ft", "length")) / FOOT
    assert apart_ft == pytest.approx(figure("U12"), abs=1e-5)


@pytest.mark.parametrize(
    ("text", "lb_yd3"), paired(["95 lb/ft^3", "100 lb/ft^3", "110 lb/ft^3"], figures("A08"))
)
def test_weight_by_volume_of_crushed_rock_limestone_and_gravel(text, lb_yd3):
    # A08: US Army TM 9-2320-366-10-1, Table 2-15
    assert parse(text, "density") == pytest.approx(
        parse(f"{lb_yd3} lb/yd^3", "density"), rel=EXACT
    )


# ---- boards --------------------------------------------------------------------------------


@pytest.mark.parametrize("row", ["L07", "L08", "L09", "L10", "L16"])
def test_boards_of_dressed_thickness_leave_the_planting_area(row):
    # American Softwood Lumber Standard PS 20, size tables: dry thickness of the nominal board
    dry_in = figures(row)[0]
    box = [(0, 0), (96 * INCH, 0), (96 * INCH, 48 * INCH), (0, 48 * INCH)]
    _, made = edged(box, pine(thickness_m=parse(f"{dry_in} in", "length")))
    assert made.planting.area / INCH**2 == pytest.approx(
        (96 - 2 * dry_in) * (48 - 2 * dry_in), rel=1e-9
    )


@pytest.mark.parametrize(("row", "nominal"), [("L11", 4), ("L12", 6)])
def test_fill_as_deep_as_a_dressed_board_is_wide_stays_behind_it(row, nominal):
    # PS 20, face width: fill to the dry width fits, fill to the nominal width spills
    width_m = figures(row)[0] * INCH
    board = pine(height_m=width_m)

    def rules(depth_m):
        spec = BedSpec("b", Circle((2, 2), 0.5), "pine", layers=(Layer("soil", depth_m),))
        layout = garden(
            rectangle(4, 4),
            [spec],
            board=replace(board, bends=True),
            materials={"soil": Material("soil", density_kg_m3=1.0)},
        )
        return [finding.rule for finding in make_plan(layout).findings]

    assert "fill-height" not in rules(width_m)
    assert "fill-height" in rules(nominal * INCH)


def test_kerf_takes_the_fourth_piece_of_a_board():
    # L19, from memory (exact arithmetic): n × 24 + (n − 1)/8 ≤ 96 in
    inch = nanometres(INCH)

    def on_one_board(kerf):
        return max(
            len(b.pieces)
            for b in cut([24 * inch] * 12, [StockLength(96 * inch)], kerf=kerf).boards
        )

    assert on_one_board(inch // 8) == figure("L19")
    assert on_one_board(0) == 4


# ---- mulch, soil, rock ---------------------------------------------------------------------


@pytest.mark.parametrize(("depth_in", "area_ft2"), paired([1, 2, 3, 4, 6], figures("M01")))
def test_area_a_cubic_yard_covers(depth_in, area_ft2):
    # M01, from memory (extension tables): 324 ft² at 1 in
    line = fill_line(Material("bark"), "bed", "mulch", area_ft2 * FOOT2, depth_in * INCH)
    assert line.in_place_m3 == pytest.approx(parse("1 yd^3", "volume"), rel=EXACT)


def test_mulch_of_a_bed_20_by_30_ft():
    # M02: extension column, 2002; the column rounds to 0.01 yd³
    area_ft2, volume_ft3, volume_yd3 = figures("M02")
    spec = bed(
        "b",
        [(1, 1), (1 + 30 * FOOT, 1), (1 + 30 * FOOT, 1 + 20 * FOOT), (1, 1 + 20 * FOOT)],
        edging=None,
        mulch=Layer("bark", 3 * INCH),
    )
    plan = make_plan(garden(rectangle(12, 9), [spec], materials={"bark": Material("bark")}))
    (line,) = plan.fill
    assert line.area_m2 / FOOT2 == pytest.approx(area_ft2, rel=1e-9)
    assert line.in_place_m3 / FOOT3 == pytest.approx(volume_ft3, rel=1e-9)
    assert line.loose_m3 / YARD3 == pytest.approx(volume_yd3, abs=0.005)
    assert format_volume(line.loose_m3) == f"{volume_yd3} yd^3"


def test_mulch_two_inches_deep_is_a_sixth_and_not_the_printed_factor():
    # M05: the column prints 0.167, which is 0.2 % too much
    printed, exact = figures("M05")
    line = fill_line(Material("bark"), "bed", "mulch", 600 * FOOT2, parse("2 in", "length"))
    assert line.in_place_m3 / FOOT3 == pytest.approx(exact, abs=0.05)
    assert line.in_place_m3 / FOOT3 != pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(("bag_ft3", "bags"), paired([1.5, 2, 3], figures("M14")))
def test_bags_in_a_cubic_yard(bag_ft3, bags):
    # M14, from memory (exact): 13.5 bags means that 14 are bought
    bark = Material("bark", bags=(Bag(bag_ft3 * FOOT3, 5.0),))
    ((_, bought),) = buy_loose(YARD3, bark).bags
    assert bought == math.ceil(bags)


def test_compost_is_ordered_by_the_whole_yard():
    # M16: City of Greeley, Colorado, Water Dept.: round to a whole cubic yard (here M02's bed)
    compost = Material("compost", bulk=Bulk("volume", "yd^3", YARD3, step=YARD3, price=30.0))
    need_yd3 = figures("M02")[2]
    assert "whole cubic yard" in ROWS["M16"]["expected"]
    assert buy_loose(need_yd3 * YARD3, compost).bulk_units == math.ceil(need_yd3)


def test_mulch_ring_with_the_trunk_left_clear():
    # M17, from memory (annulus): 3 ft radius, 6 in kept clear, 3 in deep; tolerance of the row
    spec = BedSpec("ring", Circle((3, 3), 3 * FOOT), mulch=Layer("bark", 3 * INCH))
    pear = Plant("pear", (3, 3), keep_clear_m=6 * INCH)
    plan = make_plan(
        garden(rectangle(6, 6), [spec], plants=(pear,), materials={"bark": Material("bark")})
    )
    assert plan.fill[0].in_place_m3 / FOOT3 == pytest.approx(figure("M17"), abs=0.001)


@pytest.mark.parametrize(
    ("row", "truck", "compacted", "ratio"),
    [
        ("A02", 2950, 3700, figures("A02")[0]),
        ("A03", 2850, 3700, figures("A03")[2]),
        ("A04", 3100, 3900, figures("A04")[2]),
    ],
)
def test_truck_volume_for_a_compacted_yard(row, truck, compacted, ratio):
    # Washington State DOT Design Manual M 22-01, Exhibit 620-1; ratios printed to 0.001, 0.006
    rock = Material("rock", compaction=compacted / truck)
    assert loose_volume(YARD3, rock.compaction) / YARD3 == pytest.approx(ratio, abs=0.001)


@pytest.mark.parametrize(
    ("truck", "printed"),
    [
        (2950, figures("A01")),
        (2850, [2850, 3700, *figures("A03")[:2]]),
        (3100, [3100, 3900, *figures("A04")[:2]]),
    ],
)
def test_weight_of_a_compacted_yard(truck, printed):
    # the same table, A01 A03 A04: a yard in place weighs what the table gives compacted
    _, compacted, truck_ton, compacted_ton = printed
    rock = Material("rock", compaction=compacted / truck, density_kg_m3=truck * LB_YD3)
    line = fill_line(rock, "walk", "layer", 9 * FOOT2, 3 * FOOT)
    assert line.mass_kg / POUND == pytest.approx(compacted, rel=1e-9)
    assert line.mass_kg / SHORT_TON == pytest.approx(compacted_ton, abs=0.006)
    assert truck * LB_YD3 * YARD3 / SHORT_TON == pytest.approx(truck_ton, abs=0.006)
    assert format_mass(line.mass_kg) == f"{compacted_ton:.2f} ton"


def test_bedding_sand_of_a_path():
    # A29: 90 ft² at the nominal inch of the paver institute's tolerances
    feet3, yards3 = figures("A29")
    (line,) = path_fill(
        PathSpec("walk", Rest(), layers=(Layer("sand", INCH),)),
        PavedArea(90 * FOOT2),
        {"sand": Material("sand")},
    )
    assert line.in_place_m3 / FOOT3 == pytest.approx(feet3, rel=1e-9)
    assert line.in_place_m3 / YARD3 == pytest.approx(yards3, abs=1e-4)


def test_base_as_wide_as_the_paving():
    # A32, second figure: 3 × 30 ft, 4 in; no margin where none is asked for
    plan = make_plan(
        garden(
            rectangle(30 * FOOT, 3 * FOOT),
            paths=[PathSpec("walk", Rest(), layers=(Layer("rock", 4 * INCH),))],
            materials={"rock": Material("rock", compaction=1.25)},
        )
    )
    assert plan.fill[0].in_place_m3 / FOOT3 == pytest.approx(figures("A32")[1], rel=1e-9)


@pytest.mark.parametrize(
    ("lb_yd3", "bag_lb", "heavy"), paired([300, 800], figures("W06"), [False, True])
)
def test_bags_heavier_than_the_reference_weight_are_named(lb_yd3, bag_lb, heavy):
    # W06 from M18 (CalRecycle) and W03 (NIOSH 51 lb, quoted by OSHA): a 2 ft³ bag, 0.05 lb
    bark = Material("bark", density_kg_m3=lb_yd3 * LB_YD3, bags=(Bag(2 * FOOT3, 4.0),))
    spec = BedSpec("b", Circle((2, 2), 0.9), mulch=Layer("bark", 0.07))
    plan = make_plan(garden(rectangle(4, 4), [spec], materials={"bark": bark}))
    assert bark.density_kg_m3 * bark.bags[0].volume_m3 / POUND == pytest.approx(bag_lb, abs=0.05)
    assert (bag_lb > figures("W03")[0]) is heavy
    assert any(caution.topic == "lifting" for caution in plan.cautions) is heavy


def test_soil_layers_fill_inside_the_boards():
    # M02's bed again, 1.5 in boards (L09) round it: the layer takes the ground inside them
    thick_m = figures("L09")[0] * INCH
    box = [(0, 0), (30 * FOOT, 0), (30 * FOOT, 20 * FOOT), (0, 20 * FOOT)]
    placed, made = edged(box, pine(thickness_m=thick_m), layers=(Layer("soil", 3 * INCH),))
    (line,) = bed_fill(placed.spec, made.planting, made.planting, {"soil": Material("soil")})
    assert line.in_place_m3 / FOOT3 == pytest.approx((30 - 0.25) * (20 - 0.25) * 0.25, rel=1e-9)


# ---- whole units ---------------------------------------------------------------------------


def laid(length_in, width_in, unit, joint_in):
    region = shapely.box(0, 0, length_in * INCH, width_in * INCH)
    return best_shift(region, stack(unit[0] * INCH, unit[1] * INCH), joint_in * INCH).count


@pytest.mark.parametrize(
    ("row", "which", "unit", "joint"),
    [
        ("A21", 0, (8, 4), 0),
        ("A21", 1, (7.625, 3.625), 0.375),  # C. Beall, Masonry and Concrete
        ("A23", 0, (8, 4), 0.125),  # from memory (exact arithmetic)
        ("A27", 1, (8, 2.25), 0.5),  # US Navy NAVEDTRA 14045
    ],
)
def test_units_per_square_foot(row, which, unit, joint):
    # the region is cut to whole modules less the last joint, so the count is area × rate
    across, along = 40, 30
    module = (unit[0] + joint, unit[1] + joint)
    count = laid(across * module[0] - joint, along * module[1] - joint, unit, joint)
    per_ft2 = count / (across * module[0] * along * module[1] / 144)
    assert per_ft2 == pytest.approx(figures(row)[which], abs=0.005 if row == "A27" else 1e-4)


def test_walk_4_by_20_ft_of_whole_units():
    # A22: derived from the same table
    assert laid(240, 48, (8, 4), 0) == figure("A22")


@pytest.mark.parametrize(("joint", "slabs"), paired([0, 0.125], figures("A24")))
def test_whole_slabs_across_48_in(joint, slabs):
    # A24, from memory (exact arithmetic): 4 × 12 in fill 48 in only without joints
    assert laid(12, 48, (12, 12), joint) == slabs


# ---- weed barrier --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "lap_in", "strips"), [("F05", 6, figures("F05")[0]), ("F06", 12, figures("F06")[0])]
)
def test_strips_across_a_bed_10_ft_wide(row, lap_in, strips):
    # F05 F06, from memory: (W − lap)/(roll − lap) rounded up; the 12 in lap is F03's
    bed_area = shapely.box(0, 0, 20 * FOOT, 10 * FOOT)
    laying = lay_strips(bed_area, roll_width_m=3 * FOOT, lap_m=lap_in * INCH, directions_deg=[0])
    assert len(laying.strips) == strips
    if row == "F05":
        assert laying.fabric_area_m2 / FOOT2 == pytest.approx(figures("F05")[1])
        assert laying.fabric_area_m2 / laying.net_area_m2 == pytest.approx(figures("F05")[2])


# ---- fence lines and areas -----------------------------------------------------------------


def enclosure(points_ft) -> Enclosure:
    return build_enclosure(fence([(x * FOOT, y * FOOT) for x, y in points_ft]))


@pytest.mark.parametrize(
    ("row", "points_ft"),
    [
        # J. Mahun, Open Access Surveying Library, Traverse Computations ch. G, example 1 (E, N)
        ("S06", [(2000, 500), (1561.426, 323.614), (1488.321, 526.996), (1686.956, 719.336)]),
        ("S16", [(0, 0), (3, 0), (1.1, 2)]),  # FAO Training Manual 1, 1.1.1
        ("G09", [(0, 0), (15, 0), (8.4, 11.2)]),  # from memory (Heron): 13-14-15 ft
    ],
)
def test_area_inside_a_fence(row, points_ft):
    assert enclosure(points_ft).area_m2 / FOOT2 == pytest.approx(figure(row), abs=0.1)


def test_sides_of_the_13_14_15_triangle():
    sides = [side.length_m / FOOT for side in enclosure([(0, 0), (15, 0), (8.4, 11.2)]).sides]
    assert sides == pytest.approx([15, 13, 14], rel=EXACT)


@pytest.mark.parametrize(("row", "legs"), [("S01", (3, 4)), ("S02", (24, 32)), ("S04", (12, 16))])
def test_right_angles_from_tape_triangles(row, legs):
    # FAO Training Manual 2, 4.1 (3-4-5); Noble Foundation layout sheet (24-32-40, 12-16-20)
    made = enclosure([(0, 0), (legs[0], 0), (0, legs[1])])
    long_side = made.side("BC").length_m / FOOT
    assert long_side == pytest.approx(max(v for v in figures(row) if v < 90), rel=EXACT)
    assert made.interior_deg(0) == pytest.approx(90, abs=1e-9)


def test_path_round_a_bed():
    # G08, square corners, from memory: 4 × 8 ft bed, 3 ft path; the rounded one bedplan has not
    spec = bed(
        "b",
        [(3 * FOOT, 3 * FOOT), (11 * FOOT, 3 * FOOT), (11 * FOOT, 7 * FOOT), (3 * FOOT, 7 * FOOT)],
        edging=None,
    )
    site = resolve(garden(rectangle(14 * FOOT, 10 * FOOT), [spec]))
    assert site.paths[0].area.area / FOOT2 == pytest.approx(figures("G08")[0], rel=1e-9)


# ---- corners -------------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "area"), paired([3, 4, 5, 6, 8, 12], figures("G01")))
def test_area_of_a_regular_bed(count, area):
    # G01, from memory: n / (4 tan(π/n)) for a side of 1
    radius_m = 0.5 / math.sin(math.pi / count)
    site = resolve(garden(rectangle(8, 8), [BedSpec("b", Circle((4, 4), radius_m, count))]))
    assert site.beds[0].outline.area == pytest.approx(area, abs=1e-6)


@pytest.mark.parametrize(
    ("count", "corner_deg", "saw_deg"),
    [(n, *figures("G02")[2 * i : 2 * i + 2]) for i, n in enumerate([4, 6, 8])],
)
def test_mitre_of_a_regular_bed(count, corner_deg, saw_deg):
    # G02, from memory: corner (n − 2) 180/n, saw 180/n
    points = regular(count, 1.0, turn_deg=7.0)
    _, made = edged(points, pine(corner="mitre"))
    assert [end.saw_deg for piece in made.pieces for end in piece.ends] == pytest.approx(
        [saw_deg] * (2 * count), abs=1e-6
    )
    assert build_enclosure(fence(points)).interior_deg(1) == pytest.approx(corner_deg, abs=1e-9)


def test_mitred_box_of_boards():
    # G06 G07, from memory: 96 × 48 in outside, 1.5 in boards
    box = [(0, 0), (96 * INCH, 0), (96 * INCH, 48 * INCH), (0, 48 * INCH)]
    _, made = edged(box, pine(corner="mitre", thickness_m=1.5 * INCH))
    long_in = [piece.long_m / INCH for piece in made.pieces]
    assert sorted(set(map(round, long_in)), reverse=True) == figures("G06")[:2]
    assert sum(long_in) == pytest.approx(figures("G06")[2], rel=1e-9)
    assert [made.planting.area / INCH**2, made.planting.area / FOOT2] == pytest.approx(
        figures("G07"), rel=1e-9
    )


def test_round_bed_with_a_bending_board_takes_its_girth():
    # circumference, first principles: 4 ft across is 4π ft round; three 5 ft strips
    strip = pine(bends=True, thickness_m=INCH / 8, stock=(StockItem(5 * FOOT, 9.0),))
    layout = garden(rectangle(6, 6), [BedSpec("b", Circle((3, 3), 2 * FOOT), "pine")], board=strip)
    (made,) = edge_beds(resolve(layout), layout.boards)
    assert made.length_m / FOOT == pytest.approx(4 * math.pi, rel=1e-9)
    assert len(made.pieces) == 3


def test_units_of_sale():
    # U10 again, the other way in: the size of one unit of sale
    assert parse_unit("ton") == ("mass", pytest.approx(figures("U10")[1], rel=EXACT))
    assert parse_unit("yd^3") == ("volume", pytest.approx(figures("U06")[0], rel=EXACT))
