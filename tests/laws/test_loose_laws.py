"""The cheapest mix of loads and bags, against every mix there is."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.model.materials import Bag, Bulk, Material
from bedplan.takeoff.fill import FillTotal
from bedplan.takeoff.loose import buy_loose
from bedplan.takeoff.order import Needs, make_order

laws = settings(max_examples=150, deadline=None)
LITRE = 0.001
money = st.integers(1, 60).map(float)


@st.composite
def materials(draw, priced=True):
    """Sizes in litres, so that a grid of whole litres holds every sum."""
    price = money if priced else st.none() | money
    bags = tuple(
        Bag(size * LITRE, draw(price))
        for size in draw(st.lists(st.integers(10, 90), max_size=3, unique=True))
    )
    bulk = None
    if not bags or draw(st.booleans()):
        step = draw(st.sampled_from([0, 50, 100, 250]))
        bulk = Bulk(
            "volume",
            "m^3",
            draw(st.sampled_from([1.0, 0.5])),
            step * LITRE,
            draw(st.integers(0, 500)) * LITRE,
            draw(price),
            draw(st.integers(0, 40)) * 1.0,
        )
    return Material("bark", bulk=bulk, bags=bags)


def cheapest(need_l, material):
    """Return the least cost by trying every number of every bag, and every load."""
    bags, bulk = material.bags, material.bulk
    most = [math.ceil(need_l / round(bag.volume_m3 / LITRE)) for bag in bags]
    best = math.inf
    for counts in itertools.product(*(range(n + 1) for n in most)):
        bagged_l = sum(
            n * round(bag.volume_m3 / LITRE) for n, bag in zip(counts, bags, strict=True)
        )
        cost = sum(n * bag.price for n, bag in zip(counts, bags, strict=True))
        left_l = need_l - bagged_l
        if left_l > 0 and bulk is None:
            continue
        if left_l > 0:
            least_l, step_l = round(bulk.minimum / LITRE), round(bulk.step / LITRE)
            load_l = max(left_l, least_l)
            if step_l:
                load_l = math.ceil(load_l / step_l) * step_l
            cost += load_l * LITRE / bulk.unit_size * bulk.price + bulk.delivery
        best = min(best, cost)
    return best


@laws
@given(materials(), st.integers(1, 700))
def test_no_mix_costs_less(material, need_l):
    purchase = buy_loose(need_l * LITRE, material)
    assert purchase.cost == pytest.approx(cheapest(need_l, material), abs=1e-6)
    spent = sum(bag.price * n for bag, n in purchase.bags)
    carried = sum(bag.volume_m3 * n for bag, n in purchase.bags)
    if purchase.bulk_units:
        bulk = material.bulk
        spent += purchase.bulk_units * bulk.price + bulk.delivery
        carried += purchase.bulk_units * bulk.unit_size
        assert purchase.bulk_units * bulk.unit_size >= bulk.minimum - 1e-9
        if bulk.step:
            steps = purchase.bulk_units * bulk.unit_size / bulk.step
            assert steps == pytest.approx(round(steps))
    assert purchase.cost == pytest.approx(spent)
    assert purchase.bought_m3 == pytest.approx(carried)
    assert purchase.bought_m3 >= need_l * LITRE - 2e-9
    assert purchase.surplus_m3 == pytest.approx(carried - need_l * LITRE, abs=1e-9)


@laws
@given(materials(), st.integers(1, 700), st.integers(1, 300))
def test_needing_more_never_costs_less(material, need_l, more_l):
    less, more = (buy_loose(need * LITRE, material).cost for need in (need_l, need_l + more_l))
    assert more >= less - 1e-9


@laws
@given(materials(priced=False), st.integers(1, 700))
def test_a_price_is_missing_only_where_none_is_given(material, need_l):
    purchase = buy_loose(need_l * LITRE, material)
    given_price = any(bag.price is not None for bag in material.bags) or (
        material.bulk is not None and material.bulk.price is not None
    )
    assert (purchase.cost is not None) is given_price
    assert purchase.bought_m3 >= need_l * LITRE - 2e-9


@laws
@given(materials(), st.integers(1, 700), st.integers(0, 900))
def test_what_is_on_hand_comes_off_first(material, need_l, on_hand_l):
    total = FillTotal("bark", need_l * LITRE, need_l * LITRE, None)
    stocked = replace(material, on_hand_m3=on_hand_l * LITRE)
    order = make_order(Needs((), (), (), [total], {"bark": stocked}), "metric")
    assert all(line.quantity > 0 for line in order.lines)
    if on_hand_l >= need_l:
        assert order.lines == ()
    else:
        assert order.cost == pytest.approx(
            buy_loose((need_l - on_hand_l) * LITRE, material).cost, abs=1e-6
        )
