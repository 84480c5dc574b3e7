"""Every key of the format, read and carried to the model in SI units."""

from __future__ import annotations

import math
import subprocess
import sys
import time

import pytest

from bedplan.layout_file import load_layout, parse_layout
from bedplan.layout_file.schema import LayoutFile
from bedplan.layout_file.schema_goods import PriceList
from bedplan.model.layout import (
    AlongSides,
    Around,
    Centerline,
    Circle,
    Gate,
    Layer,
    Outline,
    Paving,
    Plant,
    PostRow,
    Posts,
    Rectangle,
    Rest,
    SidePoint,
)
from bedplan.model.materials import Bag, Bulk, StockItem

INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237  # exact, yard and pound agreement of 1959
YARD3 = 0.9144**3

FULL = """\
title = "Every key"
unit = "in"
show = "metric"

[enclosure]
corners = { A = [0, 0], B = ["40 ft", 4], C = ["40 ft", "30 ft"], D = [0, "30 ft"] }
posts = { size = "3-1/2 in", proud = "1/2 in", AB = ["6 ft", "12 ft"], CB = [100] }

[[gate]]
name = "street gate"
side = "AB"
along = "9 ft"
opening = 42
leaves = 1
hinge = "B"
opens = "out"
gap_below = "2 in"

[[plant]]
name = "quince"
at = { side = "CD", along = "7 ft", in = "5 ft" }
stem = "3 in"
spread = "8 ft"
keep_clear = "6 in"

[[plant]]
name = "sage"
at = ["20 ft", "8 ft"]
existing = false

[[bed]]
name = "border"
along = ["BC"]
width = "30 in"
start = "1 ft"
end = "2 ft"
edging = "cedar"
against_fence = true
barrier = "none"
mulch = { material = "bark", depth = "3 in" }

[[bed]]
name = "herbs"
rectangle = { center = ["20 ft", "8 ft"], size = ["6 ft", "4 ft"], square_to = "AB" }
edging = "none"
barrier = "woven"
layers = [{ material = "base rock", depth = 2 }, { material = "bark", depth = 3 }]

[[bed]]
name = "quinces"
around = ["quince"]
clearance = "18 in"
square_to = "CD"

[[bed]]
name = "ring"
circle = { center = ["10 ft", "8 ft"], diameter = "4 ft", facets = 12 }

[[bed]]
name = "disc"
circle = { center = ["10 ft", "14 ft"], radius = "2 ft" }

[[bed]]
name = "wedge"
polygon = [{ side = "DA", along = 60 }, [60, "25 ft"], { side = "DA", along = "9 ft" }]

[[bed]]
name = "turned"
rectangle = { center = ["30 ft", "20 ft"], size = [48, 24], square_to = "30 deg" }

[[path]]
name = "walk"
area = "rest"
barrier = "woven"
pavers = "slab"
bond = "running"
offset = "1/3"
direction = "AB"
joint = ["3/8 in", "1-1/2 in"]
layers = [{ material = "base rock", depth = "4 in" }]
joint_fill = "base rock"

[[path]]
name = "side walk"
centerline = [{ side = "AB", along = "15 ft" }, ["15 ft", "5 ft"]]
width = "3 ft"
pavers = "slab"
joint = "1/4 in"
direction = 45

[[path]]
name = "yard"
polygon = [["22 ft", "15 ft"], ["26 ft", "15 ft"], ["26 ft", "19 ft"]]

[board.cedar]
thickness = "5/8 in"
height = "5-1/2 in"
kerf = "1/8 in"
end_trim = "1/2 in"
corner = "butt"
through = "pinwheel"
stock = [{ length = "6 ft", price = 4.10, limit = 3 }, { length = 96 }]
on_hand = ["31 in", 44]
splice_clear = "10 in"
bends = true

[paver.slab]
size = ["16 in", "8 in"]
thickness = "1-3/4 in"
price = 5.30
weight = "36 lb"
on_hand = 12
limit = 60

[fabric.woven]
width = "4 ft"
lap = "6 in"
turn_up = "3 in"
rolls = [{ length = "50 ft", price = 38 }]
pin_every = "3 ft"
on_hand = ["9 ft"]

[material."base rock"]
compaction = 1.25
density = "2950 lb/yd^3"
sold_by = "weight"
on_hand = "0.6 yd^3"

[material."base rock".bulk]
price = 41
per = "ton"
step = "0.5 ton"
minimum = "1 ton"
delivery = 70

[material.bark]
density = "500 lb/yd^3"
bulk = { price = 34, per = "yd^3", step = "0.5 yd^3" }
bags = [{ volume = "2 ft^3", price = 4.20 }, { volume = "50 L" }]
"""


@pytest.fixture(scope="module")
def full():
    return parse_layout(FULL)


def near(value):
    return pytest.approx(value, rel=1e-12)


def test_top_and_enclosure(full):
    assert (full.title, full.show) == ("Every key", "metric")
    assert dict(full.enclosure.corners)["B"] == near((40 * FOOT, 4 * INCH))
    assert [name for name, _ in full.enclosure.corners] == ["A", "B", "C", "D"]
    assert rounded(full.enclosure.posts) == rounded(
        Posts(
            3.5 * INCH,
            INCH / 2,
            (PostRow("AB", (6 * FOOT, 12 * FOOT)), PostRow("CB", (100 * INCH,))),
        )
    )


def test_gate_and_plants(full):
    assert full.gates == (
        Gate("street gate", "AB", near(9 * FOOT), near(42 * INCH), 1, "B", "out", near(2 * INCH)),
    )
    assert rounded(full.plants) == rounded(
        (
            Plant("quince", SidePoint("CD", 7 * FOOT, 5 * FOOT), 3 * INCH, 8 * FOOT, 6 * INCH),
            Plant("sage", (20 * FOOT, 8 * FOOT), existing=False),
        )
    )


@pytest.mark.parametrize(
    ("name", "shape"),
    [
        ("border", AlongSides(("BC",), 30 * INCH, FOOT, 2 * FOOT)),
        ("herbs", Rectangle((20 * FOOT, 8 * FOOT), (6 * FOOT, 4 * FOOT), "AB")),
        ("quinces", Around(("quince",), 18 * INCH, "CD")),
        ("ring", Circle((10 * FOOT, 8 * FOOT), 2 * FOOT, 12)),
        ("disc", Circle((10 * FOOT, 14 * FOOT), 2 * FOOT, 0)),
        (
            "wedge",
            Outline(
                (SidePoint("DA", 60 * INCH), (60 * INCH, 25 * FOOT), SidePoint("DA", 9 * FOOT))
            ),
        ),
        ("turned", Rectangle((30 * FOOT, 20 * FOOT), (48 * INCH, 24 * INCH), 30.0)),
    ],
)
def test_bed_shapes(full, name, shape):
    (bed,) = [bed for bed in full.beds if bed.name == name]
    assert rounded(bed.shape) == rounded(shape)


def rounded(part):
    """Return a part with its class and every float at 12 digits, so 42 * 0.0254 is "42 in"."""
    if isinstance(part, float):
        return float(f"{part:.12g}")
    if isinstance(part, tuple):
        return tuple(map(rounded, part))
    if hasattr(part, "__dataclass_fields__"):
        return (
            type(part),
            {name: rounded(getattr(part, name)) for name in part.__dataclass_fields__},
        )
    return part


def test_what_goes_into_beds(full):
    border, herbs = full.beds[:2]
    assert (border.edging, border.against_fence, border.barrier) == ("cedar", True, None)
    assert border.mulch == Layer("bark", near(3 * INCH))
    assert (herbs.edging, herbs.against_fence, herbs.barrier) == (None, False, "woven")
    assert [layer.material for layer in herbs.layers] == ["base rock", "bark"]


def test_paths(full):
    walk, side_walk, yard = full.paths
    assert isinstance(walk.shape, Rest)
    assert walk.paving == Paving(
        "slab", "running", near(1 / 3), "AB", (near(3 / 8 * INCH), near(1.5 * INCH))
    )
    assert (walk.barrier, walk.joint_fill) == ("woven", "base rock")
    assert walk.layers == (Layer("base rock", near(4 * INCH)),)
    assert side_walk.shape == Centerline(
        (SidePoint("AB", near(15 * FOOT)), near((15 * FOOT, 5 * FOOT))), near(3 * FOOT)
    )
    assert side_walk.paving.joint_m == near((INCH / 4, INCH / 4))
    assert side_walk.paving.direction == 45.0
    assert isinstance(yard.shape, Outline)
    assert yard.paving is None


def test_goods(full):
    cedar, slab, woven = full.boards["cedar"], full.pavers["slab"], full.fabrics["woven"]
    assert (cedar.corner, cedar.through, cedar.bends) == ("butt", "pinwheel", True)
    assert (cedar.thickness_m, cedar.height_m, cedar.kerf_m, cedar.end_trim_m) == near(
        (0.625 * INCH, 5.5 * INCH, 0.125 * INCH, 0.5 * INCH)
    )
    assert cedar.stock == (StockItem(near(6 * FOOT), 4.10, 3), StockItem(near(96 * INCH)))
    assert (cedar.on_hand_m, cedar.splice_clear_m) == (near((31 * INCH, 44 * INCH)), 10 * INCH)
    assert (slab.length_m, slab.width_m, slab.thickness_m) == near(
        (16 * INCH, 8 * INCH, 1.75 * INCH)
    )
    assert (slab.price, slab.weight_kg, slab.on_hand, slab.limit) == (
        5.30,
        near(36 * POUND),
        12,
        60,
    )
    assert (woven.width_m, woven.lap_m, woven.turn_up_m, woven.pin_every_m) == near(
        (4 * FOOT, 6 * INCH, 3 * INCH, 3 * FOOT)
    )
    assert woven.rolls == (StockItem(near(50 * FOOT), 38.0),)
    assert woven.on_hand_m == near((9 * FOOT,))


def test_materials(full):
    rock, bark = full.materials["base rock"], full.materials["bark"]
    ton = 2000 * POUND
    assert (rock.compaction, rock.sold_by) == (1.25, "weight")
    assert rock.density_kg_m3 == near(2950 * POUND / YARD3)
    assert rock.on_hand_m3 == near(0.6 * YARD3)
    assert rock.bulk == Bulk("weight", "ton", near(ton), near(ton / 2), near(ton), 41.0, 70.0)
    assert bark.bulk == Bulk("volume", "yd^3", near(YARD3), near(YARD3 / 2), 0.0, 34.0, 0.0)
    assert bark.bags == (Bag(near(2 * FOOT**3), 4.20), Bag(near(0.05), None))
    assert bark.sold_by == "volume"


@pytest.mark.parametrize(
    ("unit", "metres"),
    [
        ("in", INCH),
        ("ft", FOOT),
        ("yd", 3 * FOOT),
        ("m", 1.0),
        ("cm", 0.01),
        ("mm", 0.001),
    ],
)
def test_unit_of_bare_numbers_and_what_results_show(unit, metres):
    yard = SMALL.format(unit=unit)
    layout = parse_layout(yard)
    assert dict(layout.enclosure.corners)["C"] == near((90 * metres, 60 * metres))
    assert layout.show == ("metric" if unit.endswith("m") else "imperial")


SMALL = """\
title = "Small"
unit = "{unit}"
[enclosure.corners]
A = [0, 0]
B = [90, 0]
C = [90, 60]
D = [0, 60]
[[bed]]
name = "border"
along = ["BC"]
width = 8
"""


def test_missing_prices_stay_missing():
    goods = "[paver.slab]\nsize = [2, 2]\nthickness = 1\n[board.b]\nthickness = 1\nheight = 4\n"
    layout = parse_layout(SMALL.format(unit="in") + goods)
    assert layout.pavers["slab"].price is None
    assert layout.boards["b"].splice_clear_m == near(12 * INCH)


def test_a_layout_may_have_no_bed():
    text = SMALL.format(unit="ft")
    assert parse_layout(text[: text.index("[[bed]]")]).beds == ()


def test_own_goods_win_over_included_and_later_lists_over_earlier(tmp_path):
    def slab(weight):
        return (
            f'[paver.{{}}]\nsize = ["1 ft", "1 ft"]\nthickness = "1 in"\nweight = "{weight} kg"\n'
        )

    (tmp_path / "base.toml").write_text("".join(map(slab(1).format, "abcd")))
    (tmp_path / "first.toml").write_text(
        'include = "base.toml"\n' + "".join(map(slab(2).format, "abc"))
    )
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "second.toml").write_text(
        'include = ["../base.toml"]\n' + "".join(map(slab(3).format, "ab"))
    )
    own = 'include = ["first.toml", "more/second.toml"]\n' + SMALL.format(unit="ft")
    (tmp_path / "yard.toml").write_text(own + slab(4).format("a"))
    pavers = load_layout(tmp_path / "yard.toml").pavers
    assert {name: pavers[name].weight_kg for name in "abcd"} == {"a": 4, "b": 3, "c": 2, "d": 1}


def test_json_schema_can_be_published():
    schema = LayoutFile.model_json_schema()
    assert schema["additionalProperties"] is False
    assert "in" in schema["$defs"]["TiedPoint"]["properties"]
    assert schema["$defs"]["BedTable"]["properties"]["width"]["anyOf"][0] == {
        "type": ["string", "number"]
    }
    assert {"required": ["around"]} in schema["$defs"]["BedTable"]["oneOf"]
    assert set(PriceList.model_json_schema()["properties"]) == {
        "include",
        "board",
        "paver",
        "fabric",
        "material",
        "bond",
        "stake",
        "screw",
    }


def fresh(code):
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return run.stdout.split()


def test_cold_start_leaves_pint_and_tree_sitter_alone():
    heavy = "[m for m in ('pint', 'tree_sitter', 'matplotlib', 'scipy') if m in sys.modules]"
    assert fresh(f"import sys, bedplan.layout_file; print(*{heavy})") == []
    lengths = SMALL.format(unit="in")
    load = f"import sys; from bedplan.layout_file import parse_layout; parse_layout({lengths!r})"
    assert fresh(f"{load}; print(*{heavy})") == []


def many_beds(count):
    rows = math.isqrt(count - 1) + 1
    beds = [
        f'[[bed]]\nname = "bed {i}"\nedging = "cedar"\nmulch = {{ material = "bark", depth = '
        f'"3 in" }}\nrectangle = {{ center = [{100 * (i % rows) + 60}, '
        f'"{100 * (i // rows) + 60} in"], size = ["6 ft", 48], square_to = "AB" }}\n'
        for i in range(count)
    ]
    side = 100 * rows + 60
    return (
        f'title = "Many"\nunit = "in"\n[enclosure]\ncorners = {{ A = [0, 0], B = [{side}, 0], '
        f"C = [{side}, {side}], D = [0, {side}] }}\n"
        + "".join(beds)
        + '[board.cedar]\nthickness = "1 in"\nheight = 6\nstock = [{ length = "8 ft" }]\n'
        "[material.bark]\n"
    )


def test_a_thousand_beds_load_within_the_promise():
    """About a second was promised; the bound leaves room for a machine shared with others."""
    text = many_beds(1000)
    start = time.process_time()
    assert len(parse_layout(text).beds) == 1000
    assert time.process_time() - start < 3.0
