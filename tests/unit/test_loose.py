"""Loads and bags, and the mix that costs least."""

from __future__ import annotations

import pytest

from bedplan.errors import StockError
from bedplan.model.materials import Bag, Bulk, Material
from bedplan.takeoff.loose import buy_loose


def bulk(**more):
    return Bulk("volume", "m^3", 1.0, **({"step": 0.5, "price": 30.0} | more))


def bought(need, sold=None, bags=(), **more):
    return buy_loose(need, Material("bark", bulk=sold, bags=tuple(bags), **more))


@pytest.mark.parametrize(
    ("need", "amount"),
    [(0.1, 0.5), (0.5, 0.5), (0.5 + 1e-10, 0.5), (0.501, 1.0), (2.0, 2.0), (2.2, 2.5)],
)
def test_loads_come_by_the_step(need, amount):
    purchase = bought(need, bulk())
    assert purchase.bulk_units == pytest.approx(amount)
    assert purchase.cost == pytest.approx(30 * amount)
    assert purchase.surplus_m3 == pytest.approx(amount - need, abs=1e-8)


@pytest.mark.parametrize(("need", "amount"), [(0.1, 2.0), (2.0, 2.0), (2.1, 2.5)])
def test_a_load_is_never_less_than_the_minimum(need, amount):
    assert bought(need, bulk(minimum=2.0)).bulk_units == pytest.approx(amount)


def test_a_minimum_between_two_steps_is_rounded_up():
    assert bought(0.1, bulk(minimum=1.2)).bulk_units == pytest.approx(1.5)


@pytest.mark.parametrize(("need", "minimum", "amount"), [(0.73, 0, 0.73), (0.73, 1, 1)])
def test_without_a_step_any_amount_is_sold(need, minimum, amount):
    purchase = bought(need, bulk(step=0.0, minimum=minimum))
    assert purchase.bulk_units == pytest.approx(amount)
    assert purchase.surplus_m3 >= 0


def test_delivery_is_paid_once_and_only_for_a_load():
    assert bought(2.0, bulk(delivery=70)).cost == pytest.approx(130)
    assert bought(0.1, bulk(delivery=70), [Bag(0.05, 4.0)]).cost == pytest.approx(8)
    assert bought(0.1, bulk(delivery=70), [Bag(0.05, 4.0)]).bulk_units == 0


def test_a_load_and_bags_together_may_be_the_cheapest():
    # 1.05: a load of 1.0 and one bag, not 1.5 by the load and not 21 bags
    purchase = bought(1.05, bulk(), [Bag(0.05, 4.0)])
    assert purchase.bulk_units == 1.0
    assert [n for _, n in purchase.bags] == [1]
    assert purchase.cost == pytest.approx(34)


def test_bags_fill_what_is_left_below_a_minimum():
    # any amount above 1 m³: at 30 the cubic metre the load beats bags at 4 / 0.05 = 80
    purchase = bought(1.02, bulk(step=0.0, minimum=1.0), [Bag(0.05, 4.0)])
    assert purchase.bulk_units == pytest.approx(1.02)
    # and bags at 1 / 0.05 = 20 beat the load, but for what no bag fills
    purchase = bought(1.02, bulk(step=0.0), [Bag(0.05, 1.0)])
    assert [n for _, n in purchase.bags] == [20]
    assert purchase.bulk_units == pytest.approx(0.02)
    assert purchase.cost == pytest.approx(20.6)


@pytest.mark.parametrize(
    ("bags", "counts"),
    [
        ([(0.1, 5.0), (0.05, 3.0)], [(0.1, 2), (0.05, 1)]),
        ([(0.1, 5.0), (0.05, 2.0)], [(0.05, 5)]),
        ([(0.1, 5.0), (0.25, 9.0)], [(0.25, 1)]),
        ([(0.3, 9.0), (0.1, 5.0)], [(0.3, 1)]),
    ],
)
def test_mixed_bags_for_a_quarter(bags, counts):
    purchase = bought(0.25, bags=[Bag(*bag) for bag in bags])
    assert [(bag.volume_m3, n) for bag, n in purchase.bags] == counts


def test_weight_is_turned_to_volume_by_density():
    ton = Bulk("weight", "t", 1000.0, step=500.0, price=40.0)
    purchase = buy_loose(1.0, Material("rock", density_kg_m3=1700, bulk=ton))
    assert purchase.bulk_units == pytest.approx(2.0)
    assert purchase.bought_m3 == pytest.approx(2000 / 1700)
    with pytest.raises(StockError, match="has no density"):
        buy_loose(1.0, Material("rock", bulk=ton))


@pytest.mark.parametrize("need", [0.0, -1.0, 1e-12])
def test_nothing_needed_is_nothing_bought(need):
    purchase = bought(need, bulk(minimum=2.0), [Bag(0.05, 4.0)])
    assert (purchase.bulk_units, purchase.bags, purchase.cost, purchase.bought_m3) == (0, (), 0, 0)
    assert purchase.surplus_m3 >= 0


def test_a_missing_price_stays_missing():
    assert bought(1.0, bulk(price=None)).cost is None
    assert bought(1.0, bags=[Bag(0.05)]).cost is None
    assert bought(1.0).cost is None


def test_what_has_a_price_is_bought_before_what_has_none():
    purchase = bought(1.0, bulk(price=None), [Bag(0.05, 4.0)])
    assert (purchase.bulk_units, purchase.cost) == (0, pytest.approx(80))
    purchase = bought(1.2, bulk(), [Bag(0.05)])
    assert (purchase.bulk_units, purchase.bags) == (1.5, ())


def test_goods_that_cost_nothing_have_a_price():
    assert bought(1.2, bulk(price=0.0)).cost == 0
    assert bought(1.2, bulk(price=0.0), [Bag(0.05, 4.0)]).bags == ()
