"""Fill against published figures: base wider than its paving, bales, compaction, lifts.

Figures stand here as the named documents print them.
"""

from __future__ import annotations

import pytest
from gardens import FOOT, INCH, garden, rectangle

from bedplan import make_plan
from bedplan.layout_file import parse_layout
from bedplan.model.layout import Layer as Depth
from bedplan.model.layout import Outline, PathSpec
from bedplan.model.materials import LIFT_M, Material
from bedplan.model.published import LB_YD3, PUBLISHED
from bedplan.takeoff.fill import base_margin_m, fill_line, lifts
from bedplan.takeoff.loose import buy_loose

POUND = 0.45359237
FEET = [(2, 2), (32, 2), (32, 5), (2, 5)]
"""A path 3 ft by 30 ft, clear of everything [ft]."""


def walk(beyond, points=FEET, depth_in=4.0, name="walk"):
    return PathSpec(
        name,
        Outline(tuple((x * FOOT, y * FOOT) for x, y in points)),
        layers=(Depth("rock", depth_in * INCH), Depth("sand", INCH)),
        base_beyond=beyond,
    )


def filled(*walks, size=(40, 20), plants=()):
    goods = {"rock": Material("rock"), "sand": Material("sand")}
    fence = rectangle(size[0] * FOOT, size[1] * FOOT)
    plan = make_plan(garden(fence, [], walks, materials=goods, plants=plants))
    return [line.in_place_m3 / FOOT**3 for line in plan.fill]


@pytest.mark.parametrize(("beyond", "feet3"), [("published", 41.333), (0.0, 30.0)])
def test_base_beyond_all_four_edges_of_a_path(beyond, feet3):
    # A32, Interlocking Concrete Pavement Institute, Construction Tolerances and Recommendations,
    # over-excavation: 6 in or the base's thickness beyond each edge, 3 × 30 ft, 4 in deep
    base, sand = filled(walk(beyond))
    assert base == pytest.approx(feet3, abs=0.001)
    assert sand == pytest.approx(7.5)  # the bedding stays as wide as the paving


@pytest.mark.parametrize(("depth_in", "margin_in"), [(4, 6), (6, 6), (8, 8)])
def test_base_goes_out_by_its_own_thickness_where_that_is_more(depth_in, margin_in):
    # the same rule: the greater of 6 in and the base thickness
    assert base_margin_m(walk("published", depth_in=depth_in)) == pytest.approx(margin_in * INCH)


def test_a_wider_base_stops_at_the_fence_and_at_the_next_path():
    # first principles: no ground is dug twice, and none outside the fence
    along_fence = walk(6 * INCH, [(0, 0), (40, 0), (40, 3), (0, 3)])
    assert filled(along_fence)[0] == pytest.approx(40 * 3.5 / 3)
    two = (
        walk(6 * INCH, [(2, 2), (32, 2), (32, 5), (2, 5)], name="one"),
        walk(6 * INCH, [(2, 5.5), (32, 5.5), (32, 8.5), (2, 8.5)], name="other"),
    )
    first, _, second, _ = filled(*two)
    assert first + second == pytest.approx((31 * 7.5) / 3)


def straw(bag):
    return parse_layout(
        'title = "Y"\nunit = "ft"\n[enclosure]\n'
        "corners = { A = [0, 0], B = [40, 0], C = [40, 30], D = [0, 30] }\n"
        '[[bed]]\nname = "b"\npolygon = [[5, 5], [35, 5], [35, 25], [5, 25]]\n'
        'mulch = { material = "straw", depth = "3 in" }\n'
        f"[material.straw]\nbags = [{{ {bag}, price = 6 }}]\n"
    )


@pytest.mark.parametrize(("covers", "bales"), [("20 ft^2", 30), ("18 ft^2", 34)])
def test_bales_that_say_what_they_cover(covers, bales):
    # M04, Louisiana extension column, Mulch - why use it and how much, 2002, worked example:
    # 600 ft² at 20 ft² a bale, 34 bales at 18 ft²
    plan = make_plan(straw(f'covers = "{covers}", depth = "3 in"'))
    assert [(line.quantity, line.unit) for line in plan.order.lines] == [(bales, "each")]


def test_the_volume_of_a_bale_is_not_what_it_spreads_to():
    # M06, LSU AgCenter, pine straw (A. Owings), 2009: a 25 lb bale of 3 ft³ covers 50 ft² at
    # 3 in, 12.5 ft³ spread, 4.17 times the bale; 0.5 lb/ft²
    layout = straw('volume = "3 ft^3", covers = "50 ft^2", depth = "3 in", weight = "25 lb"')
    (bale,) = layout.materials["straw"].bags
    assert bale.volume_m3 / FOOT**3 == pytest.approx(12.5)
    assert bale.volume_m3 / bale.packed_m3 == pytest.approx(4.17, abs=0.005)
    assert buy_loose(50 * 3 / 12 * FOOT**3, layout.materials["straw"]).bags == ((bale, 1),)
    (line,) = make_plan(layout).order.lines
    assert (line.item, line.quantity) == ("straw bale 3 ft^3", 12)
    assert line.mass_kg / (600 * POUND) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("kind", "ratio", "within"),
    [
        # A02 to A04, Washington State DOT, Design Manual M 22-01, Exhibit 620-1
        ("crushed base", 1.254, 0.001),
        ("crushed top course", 1.298, 0.006),
        ("ballast", 1.258, 0.001),
        # T06, CalRecycle, Determination of Weights and Volumes: 30 % heavier compacted
        ("earth", 2730 / 2100, 1e-9),
    ],
)
def test_published_compaction_is_as_printed(kind, ratio, within):
    assert PUBLISHED[kind].compaction[0].most == pytest.approx(ratio, abs=within)


def test_published_weights_keep_every_agency_apart():
    # A07 and M18 CalRecycle, A08 US Army TM 9-2320-366-10-1 Table 2-15, M19 Oregon DEQ [lb/yd³]
    found = {
        kind: [
            (round(each.least / LB_YD3), round(each.most / LB_YD3)) for each in known.density_kg_m3
        ]
        for kind, known in PUBLISHED.items()
    }
    assert found["crushed rock"] == [(2600, 3120), (2565, 2700)]
    assert found["gravel"] == [(2600, 3120), (2970, 2970)]
    assert found["wood chips"] == [(300, 800), (243, 473)]
    assert found["earth"] == [(2100, 3000)]


@pytest.mark.parametrize(("compaction", "told"), [(1.254, False), (1.2, False), (1.5, True)])
def test_compaction_outside_the_published_range_is_a_finding(compaction, told):
    # A02 again: 1.254 for crushed surfacing base course
    text = (
        'title = "Y"\nunit = "ft"\n[enclosure]\n'
        "corners = { A = [0, 0], B = [40, 0], C = [40, 30], D = [0, 30] }\n"
        '[[path]]\nname = "w"\narea = "rest"\n'
        'layers = [{ material = "rock", depth = "4 in" }]\n'
        f'[material.rock]\ncompaction = {compaction}\nkind = "crushed base"\n'
    )
    found = [
        finding
        for finding in make_plan(parse_layout(text)).findings
        if finding.rule == "published-figure"
    ]
    assert bool(found) is told
    for finding in found:
        assert "1.25 for crushed base" in finding.limit
        assert "Exhibit 620-1" in finding.source


@pytest.mark.parametrize(("depth_in", "count"), [(3, 1), (3.01, 2), (4, 2), (6, 2), (6.1, 3)])
def test_a_base_is_compacted_in_lifts_of_three_inches(depth_in, count):
    # US Navy NAVEDTRA 14081, Grading and Excavating, p. 15-42: 3 in or less with tampers
    assert lifts(depth_in * INCH, LIFT_M) == count


def test_mulch_is_laid_deeper_than_it_settles_to():
    # first principles: a fifth of what is laid is lost, so 3 in come of 3.75 in; topping up 1 in
    # takes only the other 2
    bark = Material("bark", settles=0.2)
    line = fill_line(bark, "b", "mulch", 1.0, 3 * INCH)
    assert line.laid_m / INCH == pytest.approx(3.75)
    assert line.loose_m3 * 0.8 == pytest.approx(line.in_place_m3) == 3 * INCH
    topped = fill_line(bark, "b", "mulch", 1.0, 3 * INCH, there_m=INCH)
    assert topped.loose_m3 / line.loose_m3 == pytest.approx(2 / 3)
    assert fill_line(bark, "b", "mulch", 1.0, INCH, there_m=3 * INCH).loose_m3 == 0.0
