"""The site plan shows all of a plan, its words never collide, and its files are repeatable."""

import itertools
import os
import subprocess
import sys
import xml.etree.ElementTree as ET
from functools import cache
from types import SimpleNamespace

import pytest
import shapely

import bedplan
from bedplan.edging import edge_beds
from bedplan.errors import OutputError
from bedplan.outputs import scene_palette as palette
from bedplan.outputs.draw_mpl import render, render_bytes
from bedplan.outputs.scene import LAYERS, Dots, Shapes, Strokes
from bedplan.outputs.scene_lettering import box
from bedplan.outputs.sheet import Sheet
from bedplan.outputs.site_plan import site_plan
from bedplan.plan import Walk
from bedplan.site import resolve

SVG = "{http://www.w3.org/2000/svg}"

BOARD = '[board.cedar]\nthickness = "5/8 in"\nheight = "5-1/2 in"\nstock = [{length = "8 ft"}]\n'

BEDS = (
    "perennial border by the kitchen window",
    "strawberries and rhubarb",
    "herbs",
    "asparagus, never to be dug",
    "potatoes in rotation year one",
    "raspberry canes (autumn fruiting)",
    "cut flowers for the church",
    "beans",
    "compost heap and leaf mould",
    "salad greens",
    "grandmother's peonies",
    "seedlings",
)


def crowded_text():
    beds = "\n".join(
        f'[[bed]]\nname = "{name}"\nedging = "cedar"\nrectangle = {{ center = ["{6 + 10 * (n % 4)}'
        f' ft", "{6 + 9 * (n // 4)} ft"], size = ["{7 - 1.5 * (n % 3)} ft", "{4 - 0.6 * (n % 4)}'
        f' ft"], square_to = {12 if n % 2 else 0} }}'
        for n, name in enumerate(BEDS)
    )
    gates = "\n".join(
        f'[[gate]]\nname = "gate number {n}"\nside = "AB"\nalong = "{3 + 9 * n} ft"\n'
        f'opening = "3 ft"\nhinge = "A"\nopens = "in"'
        for n in range(4)
    )
    plants = "\n".join(
        f'[[plant]]\nname = "espalier pear {n}"\nat = {{ side = "BC", along = "{4 + 5 * n} ft", '
        f'in = "2 ft" }}\nstem = "2 in"\nspread = "3 ft"'
        for n in range(5)
    )
    return (
        f'title = "Twelve beds with long names"\nunit = "ft"\nshow = "imperial"\n'
        f"[enclosure]\ncorners = {{ A = [0, 0], B = [44, 1], C = [43, 33], D = [40, 33.5], "
        f'E = [1, 30] }}\n{gates}\n{plants}\n{beds}\n[[bed]]\nname = "pears"\n'
        f'along = ["BC"]\nwidth = "3 ft"\nedging = "cedar"\n[[path]]\n'
        f'name = "main circulation walk"\narea = "rest"\n{BOARD}'
    )


AWKWARD = f"""title = "Smith & Sons <garden> $5 $6"
unit = "m"
show = "metric"
enclosure = {{ corners = {{ A = [0, 0], B = [8, 0], C = [8, 6], D = [0, 6] }} }}
[[bed]]
name = "Gemüse & <Kräuter>"
edging = "cedar"
rectangle = {{ center = [3, 3], size = [3, 1.5] }}
[[bed]]
name = "a $ b $ c"
circle = {{ center = [6.5, 4.5], radius = 0.7 }}
[[path]]
name = "walk ²"
area = "rest"
{BOARD}"""

TEXTS = {"crowded": crowded_text(), "awkward": AWKWARD}


@cache
def plan_of(name):
    """A demonstration layout worked out; of the others, what a drawing without units needs."""
    if name not in TEXTS:
        return bedplan.make_plan(bedplan.load_layout(f"layouts/{name}.toml"))
    layout = bedplan.parse_layout(TEXTS[name])
    site = resolve(layout)
    walks = tuple(Walk(path, path.area) for path in site.paths)
    return SimpleNamespace(
        layout=layout,
        site=site,
        edging=edge_beds(site, layout.boards),
        walks=walks,
        works=None,
        planted=(),
    )


@cache
def drawn(name, sheet, upright):
    return site_plan(plan_of(name), Sheet(sheet, False if upright else None))


def scene_of(name, sheet="letter", upright=False):
    return drawn(name, sheet, upright)


CASES = [
    ("tutorial", "a3", True),
    ("five-sided-yard", "letter", False),
    ("sloping-terrace", "letter", False),
    ("sloping-terrace", "a4", True),
    ("corner-plot", "a4", False),
    ("crowded", "letter", False),
    ("crowded", "tabloid", False),
    ("awkward", "a4", True),
]


@pytest.mark.parametrize(("name", "sheet", "upright"), CASES)
def test_no_words_overlap_or_leave_the_border(name, sheet, upright):
    scene = scene_of(name, sheet, upright)
    border = next(
        mark
        for mark in scene.on("border")
        if isinstance(mark, Shapes)
        and mark.polygons[0].area > 0.8 * scene.width_mm * scene.height_mm
    )
    boxes = [(text.text, box(text)) for text in scene.texts()]
    for words, shape in boxes:
        assert border.polygons[0].contains(shape), words
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        # lines of one block lie tight: their boxes may share the room of a descender
        assert a.intersection(b).area < 0.12 * min(a.area, b.area), (one, other)


@pytest.mark.parametrize(("name", "sheet", "upright"), CASES)
def test_placed_labels_keep_apart_and_off_each_others_leaders(name, sheet, upright):
    labels = scene_of(name, sheet, upright).labels
    for one, other in itertools.combinations(labels, 2):
        assert one.box.distance(other.box) > 0.2, (one.words, other.words)
        for label, line in ((one, other.leader), (other, one.leader)):
            if line:
                assert shapely.LineString(line).distance(label.box) > 0.1, label.words


@pytest.mark.parametrize(("name", "sheet", "upright"), CASES)
def test_every_corner_side_gate_bed_walk_and_plant_is_named(name, sheet, upright):
    site = plan_of(name).site
    wanted = {
        *(f"corner {corner}" for corner, _ in site.enclosure.corners),
        *(side.name for side in site.enclosure.sides),
        *(f"gate {gate.gate.name}" for gate in site.gates),
        *(f"bed {bed.spec.name}" for bed in site.beds),
        *(f"path {path.spec.name}" for path in site.paths),
        *(f"plant {plant.plant.name}" for plant in site.plants),
    }
    labels = {label.subject: label.words for label in scene_of(name, sheet, upright).labels}
    assert wanted <= labels.keys()
    for subject in wanted - {side.name for side in site.enclosure.sides}:
        assert subject.split(" ", 1)[1].replace("  ", " ") in labels[subject]


@pytest.mark.parametrize("name", ["five-sided-yard", "awkward"])
def test_names_are_searchable_text_in_the_svg(name):
    scene, site = scene_of(name), plan_of(name).site
    root = ET.fromstring(render_bytes(scene, "svg"))
    said = " ".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))
    for named in (*site.beds, *site.paths):
        for word in named.spec.name.split():
            assert word in said
    assert plan_of(name).layout.title.split()[0] in said


@pytest.mark.parametrize("name", ["tutorial", "five-sided-yard", "corner-plot"])
def test_every_unit_post_gate_and_plant_is_drawn_once(name):
    plan, scene = plan_of(name), scene_of(name)
    count = {
        layer: sum(len(mark.polygons) for mark in scene.on(layer) if isinstance(mark, Shapes))
        for layer in LAYERS
    }
    assert count["units"] == sum(walk.count for walk in plan.walks)
    assert count["posts"] == len(plan.site.posts)
    assert count["gates"] == sum(len(gate.swings) for gate in plan.site.gates)
    stems = [
        mark
        for mark in scene.on("plants")
        if isinstance(mark, Dots) and mark.colour == palette.GREEN
    ]
    assert len(stems) == len(plan.site.plants)


def test_gaps_in_the_fence_are_the_gates():
    plan, scene = plan_of("five-sided-yard"), scene_of("five-sided-yard")
    heavy = next(
        mark
        for mark in scene.on("fence")
        if isinstance(mark, Strokes) and mark.pen == palette.FENCE_FACE
    )
    length = sum(shapely.LineString(line).length for line in heavy.lines)
    openings = sum(gate.gate.opening_m for gate in plan.site.gates)
    true_m = plan.site.enclosure.perimeter_m - openings
    assert length * scene.denominator / 1000 == pytest.approx(true_m, abs=1e-6)


def test_texture_stays_on_its_own_ground():
    scene = scene_of("five-sided-yard")
    beds = shapely.union_all([shape for mark in scene.on("bed") for shape in mark.polygons])
    flecks = [
        shapely.LineString(line)
        for mark in scene.on("bed texture")
        if isinstance(mark, Strokes)
        for line in mark.lines
    ]
    assert len(flecks) > 200
    assert all(shapely.covers(beds, flecks))


def test_bed_dimensions_say_the_outer_size():
    # the kitchen bed is 10 ft × 4 ft in the file
    words = {
        label.words
        for label in scene_of("five-sided-yard").labels
        if label.subject == "size of kitchen bed"
    }
    assert words == {"10'", "4'"}


def test_a_bed_without_room_for_dimensions_has_its_size_in_words():
    labels = scene_of("crowded", "letter").labels
    told = {
        label.subject.removeprefix("size of ")
        for label in labels
        if label.subject.startswith("size of ")
    }
    for label in labels:
        name = label.subject.removeprefix("bed ")
        if name in BEDS and name not in told:
            assert "×" in label.words, label.words


@pytest.mark.parametrize("fmt", ["svg", "pdf", "png"])
def test_same_plan_same_bytes(fmt):
    first = render_bytes(site_plan(plan_of("tutorial")), fmt)
    assert first == render_bytes(site_plan(plan_of("tutorial")), fmt)


def test_another_process_with_another_hash_seed_draws_the_same_bytes():
    code = (
        "import bedplan, hashlib; from bedplan.outputs.site_plan import site_plan;"
        "from bedplan.outputs.draw_mpl import render_bytes;"
        "plan = bedplan.make_plan(bedplan.load_layout('layouts/tutorial.toml'));"
        "print(hashlib.sha256(render_bytes(site_plan(plan), 'svg')).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", code],
            check=True,
            capture_output=True,
            env=os.environ | {"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "77")
    }
    assert len(digests) == 1


def test_no_date_unless_it_is_given():
    plan = plan_of("tutorial")
    dated = {text.text for text in site_plan(plan, date="1 May 2026").texts()}
    plain = {text.text for text in site_plan(plan).texts()}
    assert dated - plain == {"Date", "1 May 2026"}
    assert b"<dc:date>" not in render_bytes(site_plan(plan), "svg")


def test_making_a_scene_loads_no_drawing_library():
    code = (
        "import sys, bedplan.outputs.scene, bedplan.outputs.site_plan;"
        "print([name for name in sys.modules if name.startswith(('matplotlib', 'pandas'))])"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True
    )
    assert result.stdout.strip() == "[]"


def test_file_is_written_whole_and_replaces_the_old_one(tmp_path):
    target = tmp_path / "plan.svg"
    target.write_text("old")
    assert render(scene_of("tutorial"), target) == target
    assert target.read_bytes() == render_bytes(scene_of("tutorial"), "svg")
    assert list(tmp_path.iterdir()) == [target]


def test_failed_write_leaves_nothing_behind(tmp_path):
    with pytest.raises(OutputError, match="cannot be written"):
        render(scene_of("tutorial"), tmp_path / "no such folder" / "plan.pdf")
    assert list(tmp_path.iterdir()) == []


def test_unknown_format_is_refused(tmp_path):
    with pytest.raises(OutputError, match="png, svg or pdf"):
        render(scene_of("tutorial"), tmp_path / "plan.gif")


def luminance(colour):
    """Relative luminance, WCAG 2.1, definition."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Contrast ratio, WCAG 2.1, definition."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    "ground",
    [
        palette.WHITE,
        palette.PATH_FILL,
        palette.UNIT_FILL,
        palette.SECOND_UNIT_FILL,
        palette.BED_FILL,
    ],
)
@pytest.mark.parametrize(
    "style",
    [palette.NAME, palette.FIGURE, palette.PLANT_NAME, palette.GATE_NAME, palette.INNER_DIMENSION],
)
def test_words_stand_out_from_every_ground(style, ground):
    # 4.5 to 1 is WCAG 2.1 success criterion 1.4.3, level AA
    assert contrast(style.colour, ground) >= 4.5


def test_grounds_differ_without_colour():
    grounds = [palette.BED_FILL, palette.PATH_FILL, palette.UNIT_FILL, palette.SECOND_UNIT_FILL]
    lightness = sorted(luminance(colour) for colour in grounds)
    assert min(b - a for a, b in itertools.pairwise(lightness)) > 0.1
    assert contrast(palette.BOARD_FILLS[0], palette.BED_FILL) > 4.5


def test_names_that_find_no_room_are_counted_on_the_sheet():
    # long names on 160 beds of one foot, in a field of a few inches
    beds = "\n".join(
        f'[[bed]]\nname = "a name far too long for its bed, one of many, number {n} of {n}"\n'
        f"rectangle = {{ center = [{2 + 3 * (n % 8)}, {2 + 3 * (n // 8)}], size = [1, 1] }}"
        for n in range(160)
    )
    text = (
        'title = "Full"\nunit = "ft"\nshow = "imperial"\n[enclosure]\n'
        f"corners = {{ A = [0, 0], B = [26, 0], C = [26, 64], D = [0, 64] }}\n{beds}"
    )
    layout = bedplan.parse_layout(text)
    site = resolve(layout)
    scene = site_plan(
        SimpleNamespace(
            layout=layout,
            site=site,
            walks=(),
            edging=edge_beds(site, layout.boards),
            works=None,
            planted=(),
        ),
        "letter",
    )
    named = sum(label.subject.startswith("bed ") for label in scene.labels)
    said = [text.text for text in scene.texts()]
    assert named < 160
    assert str(160 - named) in said
