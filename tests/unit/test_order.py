"""What is bought after what is on hand, line by line."""

from __future__ import annotations

from dataclasses import replace

import pytest
from gardens import FOOT, YARD3

from bedplan.model.materials import Bag, Board, Bulk, Fabric, Material, Paver, StockItem
from bedplan.stock import StockLength, cut
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.order import Needs, make_order
from bedplan.units import nanometres

SLAB = Paver("slab", 0.4, 0.4, 0.05, price=5.0)
BARK = Material(
    "bark",
    density_kg_m3=300,
    bulk=Bulk("volume", "m^3", 1.0, 0.5, price=30.0),
    bags=(Bag(0.05, 4.0),),
)


def order_of(show="metric", boards=(), units=(), rolls=(), fill=(), materials=()):
    return make_order(Needs(boards, units, rolls, fill, {m.name: m for m in materials}), show)


def total(volume, name="bark"):
    return FillTotal(name, volume, volume, None)


@pytest.mark.parametrize(
    ("on_hand", "to_buy", "cost", "note"),
    [
        (0, 10, 50, ""),
        (4, 6, 30, "10 to lay, 4 of them on hand"),
        (10, None, 0, ""),
        (99, None, 0, ""),
    ],
)
def test_units_on_hand_are_laid_first(on_hand, to_buy, cost, note):
    order = order_of(units=[(replace(SLAB, on_hand=on_hand), 10)])
    assert [(line.quantity, line.note) for line in order.lines] == (
        [(to_buy, note)] if to_buy else []
    )
    assert order.cost == cost


@pytest.mark.parametrize(("on_hand", "cost"), [(0.0, 30), (0.2, 30), (0.96, 4), (1.0, 0), (5, 0)])
def test_material_on_hand_is_used_first(on_hand, cost):
    order = order_of(fill=[total(1.0)], materials=[replace(BARK, on_hand_m3=on_hand)])
    assert order.cost == pytest.approx(cost)
    assert all(line.quantity > 0 for line in order.lines)


def test_loads_and_bags_stand_on_lines_of_their_own():
    load, bag = order_of(fill=[total(1.05)], materials=[BARK]).lines
    assert (load.item, load.quantity, load.unit, load.cost) == ("bark", 1.0, "m^3", 30)
    assert (bag.item, bag.quantity, bag.unit, bag.cost) == ("bark bag 50 L", 1, "each", 4)
    assert "1.05 m^3 needed loose" in load.note
    assert "315.0 kg" in load.note


def test_delivery_is_in_the_cost_of_the_load():
    dear = replace(BARK, bags=(), bulk=replace(BARK.bulk, delivery=70.0))
    assert order_of(fill=[total(2.0)], materials=[dear]).lines[0].cost == pytest.approx(130)


def test_a_material_sold_nowhere_is_ordered_by_volume_without_a_price():
    for show, unit, quantity in (("metric", "m^3", 1.5), ("imperial", "yd^3", 1.96)):
        (line,) = order_of(show, fill=[total(1.5)], materials=[Material("bark")]).lines
        assert (line.quantity, line.unit, line.cost) == (quantity, unit, None)


def test_a_missing_price_is_named_and_never_zero():
    order = order_of(
        units=[(SLAB, 2), (Paver("brick", 0.2, 0.1, 0.06), 5)],
        fill=[total(1.0)],
        materials=[replace(BARK, bulk=None, bags=(Bag(0.05),))],
    )
    assert order.missing == ("brick", "bark bag 50 L")
    assert order.cost == 10
    assert [line.cost for line in order.lines] == [10, None, None]


def test_imperial_orders_read_in_feet_and_yards():
    yard = replace(
        BARK,
        bulk=Bulk("volume", "yd^3", YARD3, 0.5 * YARD3, price=30.0),
        bags=(Bag(2 * FOOT**3, 4.0),),
    )
    order = order_of("imperial", fill=[total(1.1 * YARD3)], materials=[yard])
    assert [(line.item, line.quantity) for line in order.lines] == [
        ("bark", 1.0),
        ("bark bag 2 ft^3", 2),
    ]
    assert "1.10 yd^3 needed loose" in order.lines[0].note


# ---- lengths -------------------------------------------------------------------------------


def cut_of(board, pieces_m):
    stock = [
        StockLength(nanometres(item.length_m), item.price, item.limit) for item in board.stock
    ]
    return cut(
        [nanometres(piece) for piece in pieces_m],
        stock,
        on_hand=[nanometres(length) for length in board.on_hand_m],
    )


def pine(*stock, on_hand=()):
    return Board("pine", 0.02, 0.1, stock=stock, on_hand_m=on_hand)


def test_boards_by_length_with_what_is_on_hand_noted_once():
    board = pine(StockItem(2.4, 9.0), StockItem(3.0, 11.0), on_hand=(1.0,))
    order = order_of(boards=[(board, cut_of(board, [2.9, 2.3, 2.3, 0.9]))])
    assert [(line.item, line.quantity, line.cost, line.note) for line in order.lines] == [
        ("pine board 3000 mm", 1, 11, "and 1 on hand"),
        ("pine board 2400 mm", 2, 18, ""),
    ]


def test_everything_from_leftovers_buys_nothing():
    board = pine(StockItem(2.4, 9.0), on_hand=(1.0, 1.0))
    assert order_of(boards=[(board, cut_of(board, [0.9, 0.9]))]).lines == ()


@pytest.mark.parametrize(
    "stock",
    [
        [StockItem(2.4, 9.0, limit=2), StockItem(2.4, 12.0)],
        [StockItem(2.4, 12.0), StockItem(2.4, 9.0, limit=2)],
    ],
)
def test_two_offers_of_one_length_cost_what_the_cut_plan_says(stock):
    board = pine(*stock)
    plan = cut_of(board, [2.3] * 5)
    order = order_of(boards=[(board, plan)])
    assert order.cost == pytest.approx(plan.cost) == 2 * 9 + 3 * 12


def test_boards_without_a_price():
    board = pine(StockItem(2.4))
    order = order_of(boards=[(board, cut_of(board, [2.3, 2.3]))])
    assert (order.lines[0].cost, order.missing) == (None, ("pine board 2400 mm",))


@pytest.mark.parametrize(("pins", "lines"), [(None, 1), (0, 1), (14, 2)])
def test_rolls_and_pins(pins, lines):
    fabric = Fabric("woven", 1.2, 0.15, rolls=(StockItem(15.0, 40.0),))
    plan = cut([nanometres(4.0)] * 4, [StockLength(nanometres(15.0), 40.0)])
    order = order_of(rolls=[(fabric, plan, pins)])
    assert order.lines[0].item == "woven roll 15.000 m"
    assert (order.lines[0].quantity, order.lines[0].cost) == (2, 80)
    assert len(order.lines) == lines
    if pins:
        assert (order.lines[1].quantity, order.missing) == (14, ("woven pins",))


def test_an_empty_order():
    order = order_of()
    assert (order.lines, order.cost, order.missing) == ((), 0, ())
