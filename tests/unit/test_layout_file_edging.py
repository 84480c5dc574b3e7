"""Stakes, screws, pipes, tiers and posts as a layout file writes them, and their faults."""

from __future__ import annotations

import pytest
from gardens import INCH

from bedplan import make_plan
from bedplan.errors import LayoutError
from bedplan.layout_file import load_layout, parse_layout
from bedplan.layout_file.schema import LayoutFile
from bedplan.model.materials import Screw, Stake

SOUND = """\
title = "Yard"
unit = "in"

[enclosure]
corners = { A = [0, 0], B = ["30 ft", 0], C = ["30 ft", "20 ft"], D = [0, "20 ft"] }
posts = { size = 4, proud = "3/4 in", footing = "10 in", AB = ["6 ft", "12 ft"] }

[[pipe]]
name = "water"
line = [{ side = "AB", along = "20 ft" }, ["20 ft", "19 ft"]]
clear = "1 ft"

[[bed]]
name = "border"
along = ["BC"]
width = "30 in"
edging = "cedar"
height = "11 in"
against_fence = true

[[bed]]
name = "herbs"
rectangle = { center = ["10 ft", "8 ft"], size = ["6 ft", "4 ft"] }
edging = "oak"
tiers = 2

[[bed]]
name = "round"
circle = { center = ["16 ft", "9 ft"], radius = "2 ft", sagitta = "1/4 in" }
edging = "oak"

[board.cedar]
thickness = "7/8 in"
height = "5-1/2 in"
stake = "peg"
screws = "deck"
at_posts = "notch"
stagger = "10 in"
block = "16 in"
splice = "anywhere"
least_piece = "20 in"
corner_screws = 4
block_screws = 6
stake_screws = 3
connector_price = 1.5
stock = [{ length = "8 ft", price = 7 }]

[board.oak]
thickness = "1 in"
height = "6 in"
corner = "stake"
stake = "peg"
stock = [{ length = "8 ft" }]

[stake.peg]
size = "1-1/2 in"
length = "24 in"
every = "3 ft"
above = "-1 in"
price = 2
pack = 6
on_hand = 5

[screw.deck]
length = "2-1/2 in"
pack = 100
price = 12
on_hand = 20
"""


def test_every_key_reaches_the_layout():
    layout = parse_layout(SOUND)
    cedar, oak = layout.boards["cedar"], layout.boards["oak"]
    assert (cedar.stake, cedar.screws, cedar.at_posts) == ("peg", "deck", "notch")
    assert cedar.stagger_m == pytest.approx(10 * INCH)
    assert cedar.block_m == pytest.approx(16 * INCH)
    assert (cedar.splicing, cedar.least_piece_m) == ("anywhere", pytest.approx(20 * INCH))
    assert (cedar.corner_screws, cedar.block_screws, cedar.stake_screws) == (4, 6, 3)
    assert (cedar.connector_price, oak.corner, oak.splicing) == (1.5, "stake", "even")
    assert (oak.corner_screws, oak.block_screws, oak.stake_screws) == (3, 8, 2)
    assert [oak.block_m, oak.stagger_m] == pytest.approx([12 * INCH] * 2)
    assert layout.stakes == {"peg": Stake("peg", 0.0381, 0.6096, 0.9144, -0.0254, 2.0, 5, 6)}
    assert layout.screws == {"deck": Screw("deck", 0.0635, 100, 12.0, 20)}
    assert layout.enclosure.posts.footing_m == pytest.approx(10 * INCH)
    assert (layout.pipes[0].name, layout.pipes[0].clear_m) == ("water", pytest.approx(12 * INCH))
    assert layout.beds[0].height_m == pytest.approx(11 * INCH)
    assert [each.tiers for each in layout.beds] == [None, 2, None]
    assert layout.beds[2].shape.sagitta_m == pytest.approx(0.25 * INCH)


def test_the_file_plans():
    plan = make_plan(parse_layout(SOUND))
    assert [edged.tiers for edged in plan.edging] == [2, 2, 1]
    assert plan.hardware.stakes["peg"] == sum(len(edged.stakes) for edged in plan.edging)
    line = plan.site.pipes[0].line
    assert line[0] == pytest.approx((240 * INCH, 0))
    assert line[1] == pytest.approx((240 * INCH, 228 * INCH))
    footing = plan.site.posts[-1].footing
    assert footing.area == pytest.approx((10 * INCH) ** 2)


CASES = [
    ('corner = "stake"\nstake = "peg"', 'corner = "stake" #!', "without a stake"),
    ('corner = "stake"', 'corner = "steak" #!', "'mitre', 'stake'|stake"),
    ('stake = "peg"\nscrews', 'stake = "peck" #!\nscrews', "unknown stake 'peck'"),
    ('screws = "deck"', 'screws = "deckk" #!', "unknown screw 'deckk'"),
    ('at_posts = "notch"', 'at_posts = "jump" #!', "'stop'|stop"),
    ('splice = "anywhere"', 'splice = "here" #!', "even"),
    ('height = "11 in"', 'height = "11 in"\ntiers = 2 #!', "'height' and 'tiers'"),
    ("tiers = 2", "tiers = 0 #!", "from 1 to 20"),
    ("tiers = 2", "tiers = 21 #!", "from 1 to 20"),
    ("tiers = 2", "tiers = 1.5 #!", "from 1 to 20"),
    ("tiers = 2", 'tiers = "slope" #!', 'or "ground"'),
    ("tiers = 2", 'tiers = "ground" #!', r"layout.toml:\d+: .* without \[ground\]"),
    ('edging = "oak"\ntiers = 2', "tiers = 2 #!", "'tiers' without 'edging'"),
    ('sagitta = "1/4 in" }', 'sagitta = "1/4 in", facets = 9 } #!', "'facets' and 'sagitta'"),
    ('sagitta = "1/4 in"', "sagitta = 0", "0"),
    ("pack = 6", "pack = 0 #!", "from 1"),
    ('size = "1-1/2 in"', 'size = "3/4 in"', None),
    ('line = [{ side = "AB"', 'line = [{ side = "AX"', "unknown side 'AX'"),
    ('["20 ft", "19 ft"]]', "]", "at least 2"),
    ('along = "20 ft"', 'along = "40 ft"', "a distance that ends on the side"),
    ('footing = "10 in"', 'footing = "-1 in"', "not below 0"),
    ('clear = "1 ft"', 'claer = "1 ft" #!', "unknown key 'claer'"),
]


@pytest.mark.parametrize(("old", "new", "words"), CASES)
def test_one_fault(old, new, words):
    text = SOUND.replace(old, new, 1)
    assert text != SOUND
    if words is None:
        # thinner than the 1 in notch it closes: seen when the boards are cut
        with pytest.raises(LayoutError, match="thick; a corner") as caught:
            make_plan(parse_layout(text))
        assert caught.value.faults[0].path == ("board", "oak", "stake")
        return
    with pytest.raises(LayoutError, match=words) as caught:
        parse_layout(text)
    marked = [number for number, line in enumerate(text.splitlines(), 1) if line.endswith("#!")]
    told = [fault.line for fault in caught.value.faults]
    assert all(told)
    assert not marked or marked[0] in told
    assert all(fault.remedy for fault in caught.value.faults)


def test_more_boards_than_anyone_stacks():
    text = SOUND.replace('height = "11 in"', 'height = "12 ft"')
    with pytest.raises(LayoutError, match="27 boards") as caught:
        make_plan(parse_layout(text))
    assert caught.value.faults[0].path == ("bed", 0, "height")


def test_a_pipe_of_no_length():
    text = SOUND.replace('["20 ft", "19 ft"]]', '["20 ft", 0]]')
    with pytest.raises(LayoutError, match="begins and ends at one place") as caught:
        parse_layout(text)
    assert caught.value.faults[0].path == ("pipe", 0, "line")


def test_stakes_and_screws_may_stand_in_a_price_list(tmp_path):
    head, goods = SOUND.split("[board.cedar]")
    (tmp_path / "goods.toml").write_text("[board.cedar]" + goods)
    (tmp_path / "yard.toml").write_text('include = "goods.toml"\n' + head)
    assert load_layout(tmp_path / "yard.toml").stakes.keys() == {"peg"}
    (tmp_path / "goods.toml").write_text("[board.cedar]" + goods.replace('"deck"', '"dek"', 1))
    with pytest.raises(LayoutError) as caught:
        load_layout(tmp_path / "yard.toml")
    (fault,) = caught.value.faults
    assert fault.file.endswith("goods.toml")
    assert "dek" in fault.got


def test_the_schema_names_the_new_tables():
    schema = LayoutFile.model_json_schema()
    assert {"pipe", "stake", "screw"} <= set(schema["properties"])
    bed = schema["$defs"]["BedTable"]["properties"]
    assert bed["tiers"]["anyOf"][0] == {"type": "integer", "minimum": 1, "maximum": 20}
    assert bed["tiers"]["anyOf"][1] == {"const": "ground"}
    assert schema["$defs"]["BoardTable"]["properties"]["corner"]["enum"] == [
        "butt",
        "mitre",
        "stake",
    ]
