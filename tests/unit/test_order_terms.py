"""Tax, waste, leftovers, trips and barrow loads of an order, and the files it is written to."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import openpyxl
import pytest

from bedplan.cli import main
from bedplan.errors import LayoutError
from bedplan.layout_file import parse_layout
from bedplan.model.materials import Bag, Bulk, Material, Paver
from bedplan.model.ordering import OrderTerms
from bedplan.outputs.order_files import HEADINGS, order_csv, order_list, order_workbook
from bedplan.plan import make_plan
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.haul import haul
from bedplan.takeoff.order import Needs, make_order, with_waste
from bedplan.units import POUND_KG

YARD = """\
title = "=Yard"
unit = "ft"

[enclosure]
corners = { A = [0, 0], B = [40, 0], C = [40, 20], D = [0, 20] }

[[path]]
name = "walk"
polygon = [[5, 5], [35, 5], [35, 8], [5, 8]]
pavers = "slab"
layers = [{ material = "rock", depth = "4 in" }, { material = "sand", depth = "1 in" }]
base_beyond = "published"

[[bed]]
name = "strip"
polygon = [[5, 10], [15, 10], [15, 14], [5, 14]]
edging = "cedar"
mulch = { material = "straw", depth = "3 in" }

[board.cedar]
thickness = "5/8 in"
height = "5.5 in"
waste = "10 %"
stock = [{ length = 8, price = 6.25 }]

[paver.slab]
size = ["16 in", "16 in"]
thickness = "1-3/4 in"
price = 5.3
weight = "36 lb"
on_hand = 3
waste = "5 %"

[material.rock]
compaction = 1.5
density = "2950 lb/yd^3"
kind = "crushed base"
on_hand = "0.6 yd^3"
bulk = { price = 41, per = "ton", step = "0.5 ton", minimum = "1 ton", delivery = 70 }

[material.sand]
compaction = 1.1
bags = [{ volume = "0.5 ft^3" }]

[material.straw]
bags = [{ volume = "3 ft^3", covers = "50 ft^2", depth = "3 in", weight = "25 lb", price = 7 }]

[order]
tax = "8 %"
payload = "1000 lb"
"""


@pytest.fixture(scope="module")
def plan():
    return make_plan(parse_layout(YARD))


# ---- waste, tax, leftovers ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "waste", "wanted"),
    [(0, 0.1, 0), (100, 0.05, 105), (7, 0.1, 8), (20, 0.15, 23), (5, 1.0, 10)],
)
def test_waste_is_rounded_up_to_whole_things(count, waste, wanted):
    # 100 × 1.05 is 105.00000000000001 in floating point, and not 106 slabs
    assert with_waste(count, waste) == wanted


def test_waste_tax_and_surplus_of_units():
    slab = Paver("slab", 0.4, 0.4, 0.05, price=5.0, on_hand=4, waste=0.1)
    order = make_order(Needs([], [(slab, 10)], [], [], {}), "metric", tax=0.2)
    (line,) = order.lines
    assert (line.quantity, line.cost) == (7, 35)
    assert line.note == "10 to lay, 4 of them on hand, 1 spare"
    assert (order.cost, order.tax, order.total) == (35, pytest.approx(7), pytest.approx(42))
    assert [(left.item, left.quantity) for left in order.surplus] == [("slab", 1)]


@pytest.mark.parametrize(("on_hand", "left"), [(9, 0), (10, 0), (14, 4)])
def test_units_on_hand_that_are_not_laid_stay_over(on_hand, left):
    slab = Paver("slab", 0.4, 0.4, 0.05, on_hand=on_hand)
    order = make_order(Needs([], [(slab, 10)], [], [], {}), "metric")
    assert sum(each.quantity for each in order.surplus) == left


def test_waste_of_a_material_is_bought_and_stays_over():
    rock = Material("rock", bulk=Bulk("volume", "m^3", 1.0, 0.0, price=30.0), waste=0.1)
    order = make_order(
        Needs([], [], [], [FillTotal("rock", 2, 2, None)], {"rock": rock}), "metric"
    )
    assert order.lines[0].quantity == pytest.approx(2.2)
    assert "10 % for waste" in order.lines[0].note
    assert order.surplus[0].quantity == pytest.approx(0.2)


def test_a_heap_that_is_more_than_enough_stays_over():
    rock = Material("rock", on_hand_m3=3.0)
    order = make_order(
        Needs([], [], [], [FillTotal("rock", 2, 2, None)], {"rock": rock}), "metric"
    )
    assert order.lines == ()
    assert [(left.item, left.quantity, left.unit) for left in order.surplus] == [
        ("rock", 1, "m^3")
    ]


def test_every_cost_is_quantity_times_price_and_delivery(plan):
    priced = [line for line in plan.order.lines if line.cost is not None]
    assert len(priced) == 4
    for line in priced:
        assert line.cost == pytest.approx(line.quantity * line.price + line.fixed)
    groups = {group.group: group for group in plan.order.groups}
    assert sum(group.cost for group in groups.values()) == pytest.approx(plan.order.cost)
    assert groups["Fill"].missing == 1
    assert plan.order.missing == ("sand bag 0.5 ft^3",)


def test_spare_boards_are_told_apart(plan):
    (boards,) = [line for line in plan.order.lines if line.group == "Boards"]
    used = sum(count for _, count in plan.boards[0].cut.buy)
    assert (boards.quantity, boards.note) == (used + 1, "1 spare")


# ---- hauling --------------------------------------------------------------------------------


def loads_of(terms, units=(), fill=(), materials=()):
    made = make_order(Needs([], units, [], fill, {m.name: m for m in materials}), "metric")
    return {load.item: load for load in haul(made.lines, fill, terms)}


def test_units_are_never_split_between_trips():
    # 7 units of 30 kg, 100 kg a trip: three units each, not the 2.1 trips of their weight
    slab = Paver("slab", 0.4, 0.4, 0.05, weight_kg=30.0)
    (load,) = loads_of(OrderTerms(payload_kg=100.0), units=[(slab, 7)]).values()
    assert (load.mass_kg, load.trips, load.barrows) == (210, 3, 0)


@pytest.mark.parametrize(
    ("terms", "trips"),
    [
        (OrderTerms(), None),
        (OrderTerms(payload_kg=500.0), 6),
        (OrderTerms(payload_m3=0.5), 4),
        (OrderTerms(payload_kg=500.0, payload_m3=0.2), 10),
        (OrderTerms(payload_kg=1500.0, payload_m3=2.0), 2),
    ],
)
def test_trips_go_by_the_tighter_limit(terms, trips):
    rock = Material("rock", density_kg_m3=1500, bulk=Bulk("volume", "m^3", 1.0, price=1.0))
    loads = loads_of(terms, fill=[FillTotal("rock", 2, 2, 3000)], materials=[rock])
    assert loads["rock"].trips == trips


def test_trips_of_a_thing_without_a_weight_are_not_known():
    rock = Material("rock", bulk=Bulk("volume", "m^3", 1.0, price=1.0))
    loads = loads_of(
        OrderTerms(payload_kg=9.0), fill=[FillTotal("rock", 2, 2, None)], materials=[rock]
    )
    assert (loads["rock"].trips, loads["rock"].mass_kg) == (None, None)


def test_what_is_on_hand_is_wheeled_but_not_hauled():
    rock = Material("rock", density_kg_m3=1500, on_hand_m3=5.0)
    terms = OrderTerms(payload_kg=100.0, barrow_m3=0.08)
    load = loads_of(terms, fill=[FillTotal("rock", 2, 2, 3000)], materials=[rock])["rock"]
    assert (load.trips, load.barrows) == (0, 25)


# ---- files ----------------------------------------------------------------------------------


def test_csv_keeps_units_in_a_column_of_their_own(plan):
    rows = list(csv.reader(io.StringIO(order_csv(plan).decode())))
    assert tuple(rows[0]) == HEADINGS
    assert len(rows) == 1 + len(plan.order.lines)
    for row, line in zip(rows[1:], plan.order.lines, strict=True):
        assert (float(row[2]), row[3]) == (pytest.approx(line.quantity), line.unit)
        assert row[6] == ("" if line.cost is None else f"{line.cost:.2f}")


def value_of(sheet, cell):  # noqa: PLR0911 - one formula each
    """Work out the few formulas the workbook uses, as a spreadsheet would."""
    text = sheet[cell].value
    if not (isinstance(text, str) and text.startswith("=") and sheet[cell].data_type == "f"):
        return text
    if line := re.fullmatch(r'=IF\(ISNUMBER\(E(\d+)\),C\1\*E\1\+N\(F\1\),""\)', text):
        row = line[1]
        price = sheet[f"E{row}"].value
        if price is None:
            return ""
        return sheet[f"C{row}"].value * price + (sheet[f"F{row}"].value or 0)
    if found := re.fullmatch(r'=SUMIF\(A2:A(\d+),"(.+)",G2:G\1\)', text):
        rows = [row for row in range(2, int(found[1]) + 1) if sheet[f"A{row}"].value == found[2]]
        return sum(value_of(sheet, f"G{row}") or 0 for row in rows)
    if found := re.fullmatch(r"=SUM\(G2:G(\d+)\)", text):
        return sum(value_of(sheet, f"G{row}") or 0 for row in range(2, int(found[1]) + 1))
    if found := re.fullmatch(r"=(G\d+)([*+])([EG]\d+)", text):
        one, other = value_of(sheet, found[1]), value_of(sheet, found[3])
        return one * other if found[2] == "*" else one + other
    found = re.fullmatch(r"=COUNTBLANK\(E2:E(\d+)\)", text)
    return sum(sheet[f"E{row}"].value is None for row in range(2, int(found[1]) + 1))


def sums_of(sheet):
    return {
        sheet[f"B{row}"].value: value_of(sheet, f"G{row}")
        for row in range(2, sheet.max_row + 1)
        if sheet[f"A{row}"].value is None and sheet[f"B{row}"].value
    }


@pytest.fixture
def sheet(plan):
    return openpyxl.load_workbook(io.BytesIO(order_workbook(plan)))["Order"]


def test_the_workbook_adds_up_to_the_order(plan, sheet):
    sums = sums_of(sheet)
    assert sums["all priced lines"] == pytest.approx(plan.order.cost)
    assert sums["tax"] == pytest.approx(plan.order.tax)
    assert sums["with tax"] == pytest.approx(plan.order.total)
    assert sums["lines without a price"] == 1
    for group in plan.order.groups:
        assert sums[f"{group.group}, sum"] == pytest.approx(group.cost)


def test_a_price_typed_into_the_workbook_reaches_every_sum(plan, sheet):
    (row,) = [row for row in range(2, 2 + len(plan.order.lines)) if sheet[f"E{row}"].value is None]
    before = sums_of(sheet)
    sheet[f"E{row}"].value = 10.0
    added = 10.0 * sheet[f"C{row}"].value
    after = sums_of(sheet)
    assert after["all priced lines"] == pytest.approx(before["all priced lines"] + added)
    assert after["with tax"] == pytest.approx(before["with tax"] + added * 1.08)
    assert after["Fill, sum"] == pytest.approx(before["Fill, sum"] + added)
    assert after["lines without a price"] == 0


def test_units_stand_beside_quantities_in_the_workbook(plan, sheet):
    for row, line in enumerate(plan.order.lines, start=2):
        assert sheet[f"C{row}"].value == pytest.approx(line.quantity)
        assert sheet[f"D{row}"].value == line.unit


def test_a_name_that_looks_like_a_formula_stays_a_name():
    named = YARD.replace('"slab"', '"=1+1"').replace("[paver.slab]", '[paver."=1+1"]')
    made = openpyxl.load_workbook(io.BytesIO(order_workbook(make_plan(parse_layout(named)))))
    cells = [cell for cell in made["Order"]["B"] if cell.value == "=1+1"]
    assert [cell.data_type for cell in cells] == ["s"]


def test_an_empty_order_is_a_workbook_that_opens():
    bare = YARD[: YARD.index("[[path]]")]
    plan = make_plan(parse_layout(bare))
    sums = openpyxl.load_workbook(io.BytesIO(order_workbook(plan)))["Order"]
    assert [sums[f"G{row}"].value for row in (3, 4, 5, 6)] == ["=0", "=G3*E4", "=G3+G4", "=0"]


def test_the_list_has_a_box_for_every_line(plan):
    text = order_list(plan).decode()
    assert text.count("[ ] ") == len(plan.order.lines)
    assert "[ ] 3 ton rock" in text
    assert f"Total {plan.order.total:.2f} with tax" in text
    assert "No price for: sand bag 0.5 ft^3" in text


# ---- the commands ---------------------------------------------------------------------------


@pytest.fixture
def yard(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "yard.toml").write_text(YARD, "utf-8")
    return tmp_path


def run(monkeypatch, capsys, *args):
    monkeypatch.setattr("sys.argv", ["bedplan", *args])
    with pytest.raises(SystemExit) as ended:
        main()
    out = capsys.readouterr()
    return ended.value.code or 0, out.out, out.err


def test_the_command_writes_all_three_files_and_tells_the_order(yard, monkeypatch, capsys):
    files = ("--csv", "o.csv", "--xlsx", "o.xlsx", "--text", "o.txt")
    code, told, _ = run(monkeypatch, capsys, "order", "yard.toml", *files, "--json")
    data = json.loads(told)
    assert code == 0
    assert data["cost_with_tax"] == pytest.approx(1.08 * data["cost"])
    assert {load["item"]: load["trips"] for load in data["loads"]}["slab"] == 2
    assert [(yard / name).stat().st_size > 50 for name in files[1::2]] == [True] * 3
    before = (yard / "o.txt").read_bytes()
    code, _, wrong = run(
        monkeypatch, capsys, "order", "yard.toml", "--text", "o.txt", "--csv", "n.csv"
    )
    assert (code, (yard / "o.txt").read_bytes()) == (2, before)
    assert "o.txt would be replaced" in wrong
    assert not (yard / "n.csv").exists()
    assert run(monkeypatch, capsys, "order", "yard.toml", *files, "--force")[0] == 0


def test_the_command_tells_leftovers_trips_and_tax(yard, monkeypatch, capsys):
    _, told, _ = run(monkeypatch, capsys, "order", "yard.toml")
    for words in ("COST BY GROUP", "LEFT OVER", "LOADS", "tax 8 %", "trips", "no price"):
        assert words in told


def test_how_far_a_heap_goes(yard, monkeypatch, capsys):
    code, told, _ = run(
        monkeypatch, capsys, "spread", "yard.toml", "sand", "--volume", "0.1 m^3", "--json"
    )
    heap = json.loads(told)
    assert code == 0
    # 30 ft by 3 ft, and 1.1 loose for 1 in place
    assert heap["area_m2"] == pytest.approx(90 * 0.3048**2)
    assert heap["even_m"] == pytest.approx(0.1 / 1.1 / (90 * 0.3048**2))
    assert heap["short_m3"] == pytest.approx(90 * 0.3048**2 * 0.0254 * 1.1 - 0.1)
    _, told, _ = run(monkeypatch, capsys, "spread", "yard.toml", "rock")
    assert "1.70 yd^3 more are needed" in told


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("rock", "--volume", "-1 m^3"), "below zero"),
        (("rock", "--volume", "3 lb"), "measures something else"),
        (("roc",), "no material called 'roc'"),
    ],
)
def test_a_heap_that_cannot_be_is_refused(yard, monkeypatch, capsys, args, words):
    code, _, wrong = run(monkeypatch, capsys, "spread", "yard.toml", *args)
    assert code == 2
    assert words in wrong


# ---- what the file says ---------------------------------------------------------------------


def test_terms_of_the_file():
    terms = parse_layout(YARD).terms
    assert (terms.tax, terms.payload_kg) == (0.08, pytest.approx(1000 * POUND_KG))
    assert replace(terms, tax=0.0, payload_kg=None) == OrderTerms()
    assert parse_layout(YARD[: YARD.index("[order]")]).terms == OrderTerms()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('tax = "8 %"', 'tax = "8 lb"', "measures something else"),
        ('tax = "8 %"', 'tax = "180 %"', "at most 1"),
        ('payload = "1000 lb"', 'payload = "1000 ft"', "measures something else"),
        ('payload = "1000 lb"', 'paylod = "1000 lb"', "did you mean 'payload'?"),
        ('waste = "5 %"', 'waste = "-5 %"', "-5 %"),
        ('kind = "crushed base"', 'kind = "granite"', "granite"),
        ('on_hand = "0.6 yd^3"', 'lift = "0 in"', "0 in"),
        ('on_hand = "0.6 yd^3"', 'settles = "95 %"', "at most 0.9"),
        ('base_beyond = "published"', 'base_beyond = "wide"', "wide"),
        ('depth = "1 in" }]', 'depth = "1 in", there = "-1 in" }]', "-1 in"),
        (', depth = "3 in", weight', ", weight", "'covers' without 'depth'"),
        ('covers = "50 ft^2", depth', "depth", "'depth' without 'covers'"),
        ('covers = "50 ft^2"', 'spread = "9 ft^3", covers = "50 ft^2"', "'spread' and 'covers'"),
        ('bags = [{ volume = "0.5 ft^3" }]', "bags = [{ price = 3 }]", "a bag of no size"),
        ('covers = "50 ft^2"', 'covers = "50 ft"', "measures something else"),
    ],
)
def test_what_cannot_be_meant_is_told_with_its_line(old, new, words):
    assert YARD.count(old) == 1
    with pytest.raises(LayoutError) as caught:
        parse_layout(YARD.replace(old, new), "yard.toml")
    (fault,) = caught.value.faults
    assert words in str(fault)
    assert fault.line == 1 + YARD[: YARD.index(old)].count("\n")


def test_a_wider_base_needs_a_base():
    layers = re.search(r"layers = .*\n", YARD)[0]
    with pytest.raises(LayoutError, match="'base_beyond' without 'layers'"):
        parse_layout(YARD.replace(layers, ""))


@pytest.mark.parametrize(
    ("bag", "volume", "packed", "covers"),
    [
        ('volume = "2 L"', 0.002, None, None),
        ('volume = "2 L", spread = "5 L"', 0.005, 0.002, None),
        ('spread = "5 L"', 0.005, None, None),
        ('covers = "2 m^2", depth = "50 mm"', 0.1, None, 2.0),
    ],
)
def test_a_bale_spreads_to_another_volume_than_it_holds(bag, volume, packed, covers):
    bags = f"bags = [{{ {bag} }}]"
    layout = parse_layout(YARD.replace('bags = [{ volume = "0.5 ft^3" }]', bags))
    (made,) = layout.materials["sand"].bags
    assert made == Bag(
        pytest.approx(volume),
        None,
        packed if packed is None else pytest.approx(packed),
        covers if covers is None else pytest.approx(covers),
    )
