"""Every way a layout file can be wrong: the class of error, the line, the culprit, a remedy.

A case changes one place of a sound layout. The mark `#!` ends each line that a fault must name.
"""

from __future__ import annotations

import re

import pytest

from bedplan.errors import LayoutError
from bedplan.layout_file import load_layout, parse_layout

SOUND = """\
title = "Yard"
unit = "ft"
show = "imperial"

[enclosure]
posts = { size = "4 in", AB = [6, 12] }

[enclosure.corners]
A = [0, 0]
B = [30, 0]
C = [30, 20]
D = [0, 20]

[[gate]]
name = "street gate"
side = "AB"
along = 8
opening = "42 in"
hinge = "A"

[[plant]]
name = "quince"
at = { side = "CD", along = 7, in = 6 }
stem = "3 in"

[[bed]]
name = "border"
along = ["BC"]
width = "30 in"
edging = "cedar"
mulch = { material = "bark", depth = "3 in" }

[[bed]]
name = "herbs"
edging = "cedar"

[bed.rectangle]
center = [10, 10]
size = ["6 ft", "4 ft"]
square_to = "AB"

[[path]]
name = "walk"
area = "rest"
barrier = "woven"
pavers = "slab"
joint = ["3/8 in", "1 in"]
layers = [{ material = "rock", depth = "4 in" }]

[board.cedar]
thickness = "5/8 in"
height = "5.5 in"
stock = [{ length = 8, price = 6.25 }]

[paver.slab]
size = ["16 in", "16 in"]
thickness = "2 in"
weight = "36 lb"

[fabric.woven]
width = "4 ft"
lap = "6 in"
rolls = [{ length = "50 ft" }]

[material.rock]
compaction = 1.25
density = "2950 lb/yd^3"

[material.bark]
on_hand = "0.6 yd^3"
"""

PAVED = 'pavers = "slab"\njoint = ["3/8 in", "1 in"]'
MATERIALS = "[material.rock]"


def drawn(units, along="x = [1]", across="y = [0, 1]", name="own"):
    """Return what puts a pattern into the sound layout; a mark goes at the end of its line."""
    steps = [f"along = {{ {along} }}", f"across = {{ {across} }}", f"units = [{units}]"]
    lines = [re.sub(r"^(.*)#!(.*)$", r"\1\2 #!", line) for line in steps]
    return MATERIALS, "\n".join([f"[bond.{name}]", *lines, "", MATERIALS])


def paved(units, lines, size='["16 in", "16 in"]', **steps):
    """Return what lays the walk in a pattern, its path's lines given, with a second unit."""
    old = SOUND[SOUND.index(PAVED) : SOUND.index(MATERIALS) + len(MATERIALS)]
    _, pattern = drawn(units, **steps)
    brick = f'[paver.brick]\nsize = {size}\nthickness = "2 in"\n'
    new = old.replace(PAVED, PAVED + "\n" + lines).replace(MATERIALS, f"{brick}\n{pattern}")
    return old, new


ONE, PAIR = "{}", "{}, { x = [0.5, 0, 0.5], face = 2 }"

# id, what to take out, what to put in, a part of the message that names the culprit
CASES = [
    # keys
    ("unknown key", 'width = "30 in"', 'widht = "30 in" #!', "did you mean 'width'?"),
    ("unknown key, nothing near", 'stem = "3 in"', "zzz = 1 #!", "unknown key 'zzz'"),
    ("unknown key in a point", "in = 6 }", "inn = 6 } #!", "did you mean 'in'?"),
    ("unknown key in an inline table", 'depth = "3 in" }', 'depth = "3 in", wet = 1 } #!', "wet"),
    ("unknown table", "[material.bark]", "[materiel.bark] #!", "did you mean 'material'?"),
    ("unknown side of posts", "AB = [6, 12] }", "AX = [6, 12] } #!", "unknown side 'AX'"),
    ("missing title", 'title = "Yard"', "#!", "missing key 'title'"),
    ("missing name", '[[gate]]\nname = "street gate"', "[[gate]] #!", "missing key 'name'"),
    (
        "missing width",
        '[[bed]]\nname = "border"\nalong = ["BC"]\nwidth = "30 in"',
        '[[bed]] #!\nname = "border"\nalong = ["BC"]',
        "missing key 'width'",
    ),
    (
        "no shape",
        '[[bed]]\nname = "border"\nalong = ["BC"]\nwidth = "30 in"',
        '[[bed]] #!\nname = "border"',
        "bed 'border' has no shape",
    ),
    (
        "two shapes",
        'name = "herbs"',
        'name = "herbs"\naround = ["quince"] #!\nclearance = 1',
        "bed 'herbs' has rectangle and around",
    ),
    (
        "key without its companion",
        'name = "herbs"',
        'name = "herbs"\nstart = 1 #!',
        "'start' without 'along'",
    ),
    (
        "joint without pavers",
        'pavers = "slab"\njoint = ["3/8 in", "1 in"]',
        "joint = 1 #!",
        "'joint' without 'pavers'",
    ),
    (
        "path with two shapes",
        'area = "rest"',
        'area = "rest"\nwidth = 3\ncenterline = [[0, 0], [9, 9]] #!',
        "path 'walk' has area and centerline",
    ),
    # quantities
    ("unit missing in a weight", 'weight = "36 lb"', 'weight = "36" #!', '"36"'),
    ("unit missing in a bare weight", 'weight = "36 lb"', "weight = 36 #!", "36"),
    ("unit missing in a volume", 'on_hand = "0.6 yd^3"', "on_hand = 0.6 #!", "0.6"),
    ("unit missing in a text", 'lap = "6 in"', 'lap = "6" #!', '"6"'),
    ("length in pounds", 'lap = "6 in"', 'lap = "6 lb" #!', '"6 lb"'),
    ("weight in feet", 'weight = "36 lb"', 'weight = "36 ft" #!', '"36 ft"'),
    ("density as a weight", 'density = "2950 lb/yd^3"', 'density = "2950 lb" #!', '"2950 lb"'),
    ("volume as an area", 'on_hand = "0.6 yd^3"', 'on_hand = "0.6 yd^2" #!', '"0.6 yd^2"'),
    ("unknown unit", 'lap = "6 in"', 'lap = "6 furlong" #!', '"6 furlong"'),
    ("decimal comma", 'lap = "6 in"', 'lap = "6,5 in" #!', "6,5 in"),
    ("over zero", 'lap = "6 in"', 'lap = "1/0 in" #!', "1/0 in"),
    ("negative", 'width = "30 in"', 'width = "-30 in" #!', '"-30 in"'),
    ("negative lap", 'lap = "6 in"', "lap = -6 #!", "-6"),
    ("zero", 'width = "30 in"', "width = 0 #!", "0"),
    ("too thin", 'thickness = "5/8 in"', 'thickness = "0.001 mm" #!', '"0.001 mm"'),
    ("nan", 'width = "30 in"', "width = nan #!", "nan"),
    ("inf", 'width = "30 in"', "width = inf #!", "inf"),
    ("-inf", "B = [30, 0]", "B = [-inf, 0] #!", "-inf"),
    ("huge", 'width = "30 in"', 'width = "30 km" #!', '"30 km"'),
    ("huge float", 'width = "30 in"', "width = 1e300 #!", "1e+300"),
    ("huge integer", 'width = "30 in"', "width = " + "9" * 400 + " #!", ""),
    ("huge exponent", 'width = "30 in"', 'width = "1e999999999 in" #!', "1e999999999 in"),
    ("tower of powers", 'weight = "36 lb"', 'weight = "1 lb*9^9^9^9" #!', "9^9^9^9"),
    ("broken unit", 'weight = "36 lb"', 'weight = "1 lb/" #!', '"1 lb/"'),
    ("unit over zero", 'weight = "36 lb"', 'weight = "1 lb/0" #!', '"1 lb/0"'),
    ("compaction below 1", "compaction = 1.25", "compaction = 0.8 #!", "0.8"),
    ("price with a sign", "price = 6.25 }]", 'price = "$6.25" }] #!', "$6.25"),
    ("negative price", "price = 6.25 }]", "price = -1 }] #!", "-1"),
    ("part of a paver", 'weight = "36 lb"', "on_hand = 2.5 #!", "2.5"),
    (
        "joints in the wrong order",
        'joint = ["3/8 in", "1 in"]',
        'joint = ["1 in", "3/8 in"] #!',
        "least joint above the greatest",
    ),
    # types
    (
        "text for a table",
        'mulch = { material = "bark", depth = "3 in" }',
        'mulch = "bark" #!',
        '"bark"',
    ),
    ("list for a number", 'width = "30 in"', "width = [30] #!", "a list of 1"),
    ("number for a list", 'along = ["BC"]', "along = 3 #!", "3"),
    ("text for a list", 'along = ["BC"]', 'along = "BC" #!', '"BC"'),
    ("number for a name", 'name = "border"', "name = 3 #!", "3"),
    ("list for a plant's name", 'name = "quince"', "name = [1] #!", "a list of 1"),
    ("table for a plant's name", 'name = "quince"', "name = {} #!", "a table"),
    ("number for a point", "center = [10, 10]", "center = 10 #!", "10"),
    ("three numbers for a point", "center = [10, 10]", "center = [10, 10, 0] #!", "a list of 3"),
    ("date for a length", 'width = "30 in"', "width = 2024-05-01 #!", "date"),
    ("text for true", 'hinge = "A"', 'hinge = "A"\nleaves = "two" #!', '"two"'),
    ("true for a length", 'width = "30 in"', "width = true #!", "true"),
    ("yes for true", 'name = "herbs"', 'name = "herbs"\nagainst_fence = "yes" #!', '"yes"'),
    ("word not offered", 'area = "rest"', 'area = "remainder" #!', '"remainder"'),
    ("bond not offered", 'pavers = "slab"', 'pavers = "slab"\nbond = "runing" #!', "'running'?"),
    ("unit not offered", 'unit = "ft"', 'unit = "cubit" #!', '"cubit"'),
    ("empty name", 'name = "border"', 'name = " " #!', '" "'),
    # names
    ("unknown board", 'edging = "cedar"\nmulch', 'edging = "ceder" #!\nmulch', "'cedar'?"),
    ("unknown paver", 'pavers = "slab"', 'pavers = "slap" #!', "did you mean 'slab'?"),
    ("unknown fabric", 'barrier = "woven"', 'barrier = "wovn" #!', "did you mean 'woven'?"),
    (
        "unknown mulch",
        'material = "bark", depth = "3 in" }',
        'material = "barc", depth = "3 in" } #!',
        "unknown material 'barc'",
    ),
    (
        "unknown layer",
        'material = "rock", depth = "4 in" }]',
        'material = "rok", depth = "4 in" }] #!',
        "did you mean 'rock'?",
    ),
    ("unknown side of a gate", 'side = "AB"\nalong', 'side = "AC" #!\nalong', "unknown side 'AC'"),
    ("unknown side of a point", 'at = { side = "CD"', '#\nat = { side = "ZZ"', "side 'ZZ'"),
    ("unknown side of a border", 'along = ["BC"]', 'along = ["BD"] #!', "unknown side 'BD'"),
    ("unknown side to be square to", 'square_to = "AB"', 'square_to = "AZ" #!', "side 'AZ'"),
    (
        "unknown plant",
        'along = ["BC"]\nwidth = "30 in"',
        'around = ["quinze"] #!\nclearance = 1',
        "did you mean 'quince'?",
    ),
    ("unknown corner", 'hinge = "A"', 'hinge = "E" #!', "unknown corner 'E'"),
    ("two beds of one name", 'name = "herbs"', 'name = "border" #!', "second bed called 'border'"),
    ("fabric without rolls", 'rolls = [{ length = "50 ft" }]', "", "fabric 'woven' has no rolls"),
    (
        "sold by weight without a density",
        'on_hand = "0.6 yd^3"',
        'on_hand = "0.6 yd^3"\nbulk = { per = "ton" }',
        "without a density",
    ),
    ("board without stock", "stock = [{ length = 8, price = 6.25 }]", "", "board 'cedar' has no"),
    # geometry
    ("two corners", "C = [30, 20]\nD = [0, 20]", "", "2 corners: A, B"),
    ("repeated corner", "C = [30, 20]", "C = [30, 0] #!", "corner C stands where B does"),
    ("self-crossing fence", "C = [30, 20]\nD = [0, 20]", "C = [0, 20]\nD = [30, 20]", "crosses"),
    ("collapsed fence", "C = [30, 20]\nD = [0, 20]", "C = [20, 0]\nD = [10, 0]", "side"),
    ("bed outside", "center = [10, 10]", "center = [50, 50]", "'herbs' lies outside the fence"),
    ("bed across the fence", "center = [10, 10]", "center = [2, 10]", "'herbs' crosses the fence"),
    ("beds overlapping", "center = [10, 10]", "center = [26, 10]", "'border' and 'herbs' overlap"),
    ("plant outside", 'at = { side = "CD", along = 7, in = 6 }', "at = [40, 40] #!", "'quince'"),
    ("tied beyond its side", "along = 7, in = 6 }", "along = 70, in = 6 } #!", "70'"),
    ("new plant in no bed", "in = 6 }\n", "in = 6 } #!\nexisting = false\n", "stands in no bed"),
    ("gate longer than its side", 'opening = "42 in"', 'opening = "40 ft" #!', "street gate"),
    ("gate over a corner", "along = 8\n", "along = 28 #!\n", "pass a corner"),
    ("post beyond its side", "AB = [6, 12] }", "AB = [6, 120] } #!", "120'"),
    (
        "paver larger than the path",
        'size = ["16 in", "16 in"]',
        'size = ["40 ft", "41 ft"]',
        "paver 'slab'",
    ),
    # bonds of one's own, and of two sizes
    (
        "bond with a word for its name",
        *drawn(ONE, name="running]#!\n[bond.own"),
        "called 'running'",
    ),
    ("bond without steps", MATERIALS, f"[bond.own] #!\nunits = [{{}}]\n{MATERIALS}", "'along'"),
    ("motif empty", *drawn("#!"), "a list of 0"),
    ("motif unit of a wrong key", *drawn("{ turn = true } #!"), "'turned'?"),
    ("face out of range", *drawn("{}, { face = 3 } #!"), "3"),
    ("face 2 only", *drawn("{ face = 2 } #!"), "face 2 only"),
    ("five multiples", *drawn("{ x = [1, 0, 0, 0, 0] } #!"), "a list of 5"),
    ("multiple with a unit", *drawn('{ x = ["16 in"] } #!'), '"16 in"'),
    ("multiple over zero", *drawn('{ x = ["1/0"] } #!'), '"1/0"'),
    ("multiple not a number", *drawn("{ x = [nan] } #!"), "nan"),
    ("multiple too large", *drawn("{ x = [51] } #!"), "51"),
    ("multiples of no second unit", *drawn(ONE, along="x = [1, 0, 1] #!"), "no unit of face 2"),
    ("lattice that does not repeat", *drawn(ONE, across="x = [2] #!"), "two directions"),
    ("lattice without a step", *drawn(ONE, across="#!"), "two directions"),
    ("unknown bond of one's own", *paved(ONE, 'bond = "owm" #!'), "did you mean 'own'?"),
    ("pinwheel of one size", PAVED, PAVED + '\nbond = "pinwheel" #!', "without a second unit"),
    ("own bond of one size", *paved(PAIR, 'bond = "own" #!'), "without a second unit"),
    ("second for one size", PAVED, PAVED + '\nsecond = "slab" #!', "second unit for bond 'stack'"),
    ("second for an own bond", *paved(ONE, 'bond = "own"\nsecond = "brick" #!'), "bond 'own'"),
    (
        "second for a stride",
        PAVED,
        PAVED + '\nbond = "pinwheel"\nstride = "2 ft"\nsecond = "slab" #!',
        "second unit for a stride",
    ),
    ("second the first", *paved(PAIR, 'bond = "own"\nsecond = "slab" #!'), "first and the second"),
    ("unknown second", *paved(PAIR, 'bond = "own"\nsecond = "brik" #!'), "did you mean 'brick'?"),
    ("second without pavers", PAVED, 'second = "slab" #!', "'second' without 'pavers'"),
    (
        "second wider than the path",
        *paved(PAIR, 'bond = "own"\nsecond = "brick" #!', size='["40 ft", "41 ft"]'),
        "paver 'brick'",
    ),
    (
        "pinwheel of no squares",
        *paved(ONE, 'second = "brick"\nbond = "pinwheel" #!', size='["8 in", "7 in"]'),
        "'brick' is none",
    ),
    (
        "pinwheel the wrong way round",
        *paved(ONE, 'second = "brick"\nbond = "pinwheel" #!', size='["18 in", "18 in"]'),
        "second unit is the smaller",
    ),
    (
        "units that overlap",
        *paved("{}, { x = [0.5], y = [0, 0.75] }", 'bond = "own" #!', across="y = [0, 2]"),
        "units 1 and 2 in bond 'own' lie 3.719 in (94.456 mm) over each other",
    ),
    (
        "units many deep",
        *paved("{}, {}", 'bond = "own" #!', along="x = [0.01]", across="y = [0, 0.01]"),
        "many deep",
    ),
    (
        "units nearer than the joint",
        *paved(ONE, 'bond = "own" #!', across="y = [0, 0.99]"),
        "unit 1 and its copy in bond 'own' come within 0.2113 in (5.366 mm) of each other",
    ),
    # lines that no mark can stand on are told by what the line holds
    ("not TOML", "[enclosure]", "this is not toml #!", "this is not toml"),
    ("no quotes", 'name = "border"', "name = border #!", "name = border"),
    ("unclosed list", 'along = ["BC"]', 'along = ["BC" #!\n[bed_]', ""),
    ("two keys on a line", "along = 8\n", "along = 8; opening = 3 #!\n", "along = 8; opening"),
    ("key twice", 'width = "30 in"', 'width = "30 in"\nwidth = "31 in" #!', "width"),
    ("table twice", "[paver.slab]", "[board.cedar] #!", "[board.cedar]"),
]

# cases whose culprit line holds no mark: the line that starts so
LINES = {
    "unknown side of a point": 'at = { side = "ZZ"',
    "board without stock": 'edging = "cedar"',
    "sold by weight without a density": "[material.bark]",
    "fabric without rolls": 'barrier = "woven"',
    "two corners": "[enclosure.corners]",
    "self-crossing fence": "C = [",
    "collapsed fence": "B = [",
    "bed outside": "[[bed]] 2",
    "bed across the fence": "[[bed]] 2",
    "beds overlapping": "[[bed]] 2",
    "paver larger than the path": 'pavers = "slab"',
    "unclosed list": "[bed_]",
}
RAW = re.compile(r"Input should|Field required|Extra input|should be a valid|validation error")


def faults_of(text):
    with pytest.raises(LayoutError) as caught:
        parse_layout(text, "yard.toml")
    for fault in caught.value.faults:
        assert fault.got
        assert fault.wanted
        assert fault.remedy
        assert fault.file == "yard.toml"
    assert not RAW.search(str(caught.value))
    return caught.value.faults


def marked_lines(text):
    return [number for number, line in enumerate(text.splitlines(), 1) if line.endswith("#!")]


def line_starting(text, start):
    start, _, nth = start.partition(" 2")
    found = [n for n, line in enumerate(text.splitlines(), 1) if line.startswith(start)]
    return found[1 if nth == "" and _ else 0]


def test_the_sound_layout_is_sound():
    layout = parse_layout(SOUND)
    assert [bed.name for bed in layout.beds] == ["border", "herbs"]


@pytest.mark.parametrize(("name", "old", "new", "words"), CASES, ids=[case[0] for case in CASES])
def test_one_fault(name, old, new, words):
    assert SOUND.count(old) >= 1
    text = SOUND.replace(old, new, 1)
    faults = faults_of(text)
    line = line_starting(text, LINES[name]) if name in LINES else marked_lines(text)[0]
    hits = [fault for fault in faults if fault.line == line and words in fault.got]
    assert hits, "\n".join(map(str, faults))
    assert all(str(fault).startswith(f"yard.toml:{line}: ") for fault in hits)


def test_a_misspelt_key_gives_no_second_fault():
    for old, new in (
        ('width = "30 in"', 'widht = "30 in"'),
        ("stock = [", "stok = ["),
        ("[bed.rectangle]", "[bed.rectangel]"),
    ):
        assert len(faults_of(SOUND.replace(old, new, 1))) == 1


def test_bare_numbers_without_a_unit_are_told_once():
    faults = faults_of(SOUND.replace('unit = "ft"\n', ""))
    assert len(faults) == 1
    assert "the first of" in faults[0].got
    assert 'unit = "in"' in faults[0].remedy
    bare = SOUND.replace('unit = "ft"\n', "").replace("[6, 12]", '["6 ft", "12 ft"]')
    assert faults_of(bare)[0].line == line_starting(bare, "A = [")


def test_all_faults_come_at_once_with_their_lines():
    text = SOUND
    for old, new in (
        ('show = "imperial"', 'show = "english" #!'),
        ("along = 8\n", 'along = "8 lb" #!\n'),
        ('stem = "3 in"', 'stem = "-3 in" #!'),
        ('edging = "cedar"\nmulch', 'edging = "ceder" #!\nmulch'),
        ('pavers = "slab"', 'paver = "slab" #!'),
        ("compaction = 1.25", 'compaction = "much" #!'),
    ):
        text = text.replace(old, new, 1)
    text = text.replace("center = [10, 10]", "center = [2, 10]")  # and a bed across the fence
    faults = faults_of(text)
    lines = [fault.line for fault in faults]
    assert lines == sorted(lines)
    assert set(marked_lines(text)) <= set(lines)
    assert [fault.got for fault in faults if fault.line == line_starting(text, "[[bed]] 2")] == [
        "bed 'herbs' crosses the fence by up to 1' (305 mm)"
    ]


def test_a_dropped_bed_does_not_make_its_plant_homeless():
    text = SOUND.replace(
        'at = { side = "CD", along = 7, in = 6 }', "at = [10, 10]\nexisting = false"
    )
    parse_layout(text)
    faults = faults_of(text.replace('size = ["6 ft", "4 ft"]', 'size = ["6 ft"] #!'))
    assert len(faults) == 1
    assert "a list of 1" in faults[0].got


# ---- files ------------------------------------------------------------------------------------


def load_faults(path):
    with pytest.raises(LayoutError) as caught:
        load_layout(path)
    assert all(fault.got and fault.wanted and fault.remedy for fault in caught.value.faults)
    return caught.value.faults


def test_missing_file(tmp_path):
    (fault,) = load_faults(tmp_path / "nowhere.toml")
    assert "nowhere.toml" in fault.got
    assert (fault.file, fault.line) == (str(tmp_path / "nowhere.toml"), 0)


def test_folder_for_a_file(tmp_path):
    (fault,) = load_faults(tmp_path)
    assert "folder" in fault.got


def test_file_with_a_nul_in_its_name():
    (fault,) = load_faults("yard\0.toml")
    assert "yard" in fault.got


@pytest.mark.parametrize("content", [b"", b"  \n\n", b"# only a comment\n", b"\xef\xbb\xbf"])
def test_empty_file(tmp_path, content):
    file = tmp_path / "empty.toml"
    file.write_bytes(content)
    (fault,) = load_faults(file)
    assert "empty" in fault.got
    assert fault.line == 1


def test_not_utf_8(tmp_path):
    file = tmp_path / "latin.toml"
    file.write_bytes(SOUND.replace('name = "herbs"', 'name = "kräuter"').encode("latin-1"))
    (fault,) = load_faults(file)
    assert "UTF-8" in fault.wanted
    assert fault.line == line_starting(SOUND, 'name = "herbs"')


def test_utf_16(tmp_path):
    file = tmp_path / "wide.toml"
    file.write_text(SOUND, encoding="utf-16")
    (fault,) = load_faults(file)
    assert "UTF-16" in fault.got


def test_byte_order_mark_is_passed_over_and_lines_stay_right(tmp_path):
    file = tmp_path / "bom.toml"
    file.write_text(SOUND, encoding="utf-8-sig")
    assert load_layout(file).title == "Yard"
    file.write_text(SOUND.replace('title = "Yard"', "title = 3"), encoding="utf-8-sig")
    assert load_faults(file)[0].line == 1


def test_windows_line_ends_keep_their_lines(tmp_path):
    file = tmp_path / "crlf.toml"
    file.write_bytes(SOUND.replace('lap = "6 in"', 'lap = "6 lb"').replace("\n", "\r\n").encode())
    assert load_faults(file)[0].line == line_starting(SOUND, 'lap = "6 in"')


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 2000 + "]" * 2000,
        "a = " + "9" * 5000,
        "a = {" * 500,
        "\0",
        "= 1",
        "[[",
        "a.b",
        'a = "\\x"',
        "a = '''",
        "[a]\n[a]",
        "a = 1\na.b = 2",
        "a = {b = 1, b = 2}",
        "a\r= 1",
    ],
)
def test_broken_toml_is_a_layout_error(text):
    (fault,) = faults_of(text)
    assert fault.line >= 1


# ---- price lists ------------------------------------------------------------------------------

GOODS_FROM = SOUND.index("[board.cedar]")
PRICES = SOUND[GOODS_FROM:].replace("length = 8,", 'length = "8 ft",')
WITH_LIST = 'include = "prices.toml"\n' + SOUND[:GOODS_FROM]


def write(folder, **files):
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text)
    return folder / "yard.toml"


def test_a_price_list_serves_a_layout(tmp_path):
    layout = load_layout(write(tmp_path, yard=WITH_LIST, prices=PRICES))
    assert layout.pavers["slab"].weight_kg == pytest.approx(36 * 0.45359237)


def test_missing_price_list(tmp_path):
    (fault,) = load_faults(write(tmp_path, yard=WITH_LIST))
    assert fault.line == 1
    assert "yard.toml includes" in fault.got
    assert "prices.toml" in fault.got


def test_circular_price_lists(tmp_path):
    faults = load_faults(
        write(
            tmp_path,
            yard=WITH_LIST,
            prices='include = ["more.toml"]\n',
            more='\ninclude = "prices.toml"\n',
        )
    )
    (circle,) = [fault for fault in faults if "circle" in fault.got]
    assert (circle.file, circle.line) == (str(tmp_path / "more.toml"), 2)
    assert re.search(
        r"yard\.toml includes .*prices\.toml includes .*more\.toml includes "
        r".*prices\.toml",
        circle.got,
    )


def test_a_layout_that_includes_itself(tmp_path):
    faults = load_faults(write(tmp_path, yard='include = "yard.toml"\n' + SOUND))
    assert ["circle" in fault.got for fault in faults] == [True]


def test_faults_of_a_price_list_carry_its_name_and_lines(tmp_path):
    prices = PRICES.replace('thickness = "2 in"', 'thicknes = "2 in" #!')
    faults = load_faults(
        write(tmp_path, yard=WITH_LIST.replace('title = "Yard"', "title = 1"), prices=prices)
    )
    assert faults[0].file == str(tmp_path / "yard.toml")
    (unknown,) = [fault for fault in faults if "did you mean 'thickness'?" in fault.got]
    assert (unknown.file, unknown.line) == (str(tmp_path / "prices.toml"), marked_lines(prices)[0])


def test_a_price_list_with_broken_toml(tmp_path):
    (fault,) = load_faults(write(tmp_path, yard=WITH_LIST, prices="[board.cedar]\nx = = 1\n"))
    assert (fault.file, fault.line) == (str(tmp_path / "prices.toml"), 2)


def test_a_price_list_holds_goods_only(tmp_path):
    faults = load_faults(write(tmp_path, yard=WITH_LIST, prices='unit = "in"\n' + PRICES))
    assert [(fault.line, fault.got) for fault in faults] == [(1, "unknown key 'unit'")]


def test_bare_lengths_in_a_price_list_need_their_unit(tmp_path):
    prices = PRICES.replace('length = "8 ft",', "length = 8,")
    (fault,) = load_faults(write(tmp_path, yard=WITH_LIST, prices=prices))
    assert "8" in fault.got
    assert fault.line == line_starting(prices, "stock = [")


def test_a_text_without_a_folder_can_include_nothing():
    with pytest.raises(LayoutError, match="lies in no folder"):
        parse_layout(WITH_LIST)
