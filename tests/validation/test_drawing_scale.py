"""What measures so much on the ground measures its share on paper, in the files themselves.

Paper sizes: ANSI/ASME Y14.1 (Letter 8.5 × 11 in, Tabloid 11 × 17 in) and ISO 216 (A4 210 × 297,
A3 297 × 420 mm), from memory. A PDF user unit is 1/72 in (ISO 32000-1, 8.3.2.3).
"""

import io
import math
import re
import struct
import xml.etree.ElementTree as ET
from functools import cache

import pypdf
import pytest
import shapely

import bedplan
from bedplan.outputs.draw_mpl import render_bytes
from bedplan.outputs.scene import Shapes, Strokes
from bedplan.outputs.site_plan import site_plan

LAYOUTS = "layouts/{}.toml"
PAPER_IN = {
    "letter": (8.5, 11.0),
    "tabloid": (11.0, 17.0),
    "a4": (210 / 25.4, 297 / 25.4),
    "a3": (297 / 25.4, 420 / 25.4),
}


PLAIN = {
    "plain": """title = "Plain"
unit = "ft"
show = "imperial"
enclosure = { corners = { A = [0, 0], B = [20, 0], C = [20, 16], D = [0, 16] } }
""",
    "metric": """title = "Ten metres"
unit = "m"
show = "metric"
enclosure = { corners = { A = [0, 0], B = [10, 0], C = [10, 9.5], D = [0, 9] } }
""",
}


@cache
def plan_of(name):
    layout = (
        bedplan.parse_layout(PLAIN[name])
        if name in PLAIN
        else bedplan.load_layout(LAYOUTS.format(name))
    )
    return bedplan.make_plan(layout)


@cache
def scene_of(name, sheet):
    return site_plan(plan_of(name), sheet)


@cache
def page_of(name, sheet):
    content = render_bytes(scene_of(name, sheet), "pdf")
    return pypdf.PdfReader(io.BytesIO(content)).pages[0]


@cache
def lines_of(name, sheet):
    """Every straight stroke of the page's content stream [points], read from its operators."""
    page = page_of(name, sheet)
    found, at = [], None
    for operands, operator in page.get_contents().operations:
        if operator == b"m":
            at = [float(number) for number in operands]
        elif operator == b"l":
            to = [float(number) for number in operands]
            found.append((at, to))
            at = to
    return found


def has_length(lines, points, angle_deg=None, within=0.01):
    return any(
        abs(math.dist(a, b) - points) < within
        and (
            angle_deg is None
            or abs(
                (math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) - angle_deg + 90) % 180 - 90
            )
            < 0.01
        )
        for a, b in lines
    )


@pytest.mark.parametrize("sheet", PAPER_IN)
def test_media_box_is_the_sheet(sheet):
    box = page_of("plain", sheet).mediabox
    short, long = PAPER_IN[sheet]
    assert sorted((float(box.width), float(box.height))) == pytest.approx(
        [72 * short, 72 * long], abs=0.01
    )


def test_a_twenty_foot_side_is_five_inches_at_a_quarter_inch_to_the_foot():
    # 20 ft × 1/4 in per foot = 5 in = 360 points; 16 ft = 4 in = 288 points, worked by hand
    assert scene_of("plain", "letter").scale == '1/4" = 1\'-0"'
    lines = lines_of("plain", "letter")
    assert has_length(lines, 360.0, angle_deg=0.0)
    assert has_length(lines, 288.0, angle_deg=90.0)
    assert not has_length(lines, 361.0)


def test_a_ten_metre_side_is_two_hundred_millimetres_at_one_to_fifty():
    # 10 m / 50 = 200 mm = 7.874 in = 566.93 points, worked by hand
    assert scene_of("metric", "a3").scale == "1:50"
    assert has_length(lines_of("metric", "a3"), 566.93, angle_deg=0.0)


@pytest.mark.parametrize(
    ("name", "sheet"),
    [("five-sided-yard", "letter"), ("corner-plot", "tabloid"), ("corner-plot", "a4")],
)
def test_every_crooked_side_is_dimensioned_parallel_and_to_scale(name, sheet):
    plan, scene = plan_of(name), scene_of(name, sheet)
    lines = lines_of(name, sheet)
    for side in plan.site.enclosure.sides:
        points = side.length_m / 0.0254 * 72 / scene.denominator
        assert has_length(lines, points, side.direction_deg), side.name


@pytest.mark.parametrize(
    ("name", "sheet", "points"),
    [
        ("plain", "letter", 72.0),
        ("plain", "tabloid", 72.0),
        ("metric", "a4", 25 / 25.4 * 72),
        ("metric", "a3", 25 / 25.4 * 72),
    ],
)
def test_check_square_is_true_on_every_sheet(name, sheet, points):
    lines = lines_of(name, sheet)
    assert has_length(lines, points, 0.0)
    assert has_length(lines, points, 90.0)


@pytest.mark.parametrize("sheet", PAPER_IN)
def test_scale_is_said_on_the_sheet(sheet):
    scene = scene_of("metric", sheet)
    said = {text.text for text in scene.texts()}
    assert scene.scale == f"1:{scene.denominator:g}"
    assert scene.scale in said


@pytest.mark.parametrize("sheet", ["letter", "tabloid"])
def test_scale_bars_measure_what_they_say(sheet):
    scene = scene_of("plain", sheet)
    bars = [
        mark for mark in scene.on("panel") if isinstance(mark, Shapes) and len(mark.polygons) == 2
    ]
    lengths = {
        round(shape.bounds[2] - shape.bounds[0], 9) for mark in bars for shape in mark.polygons
    }
    ends = [
        text for text in scene.on("panel lettering") if re.fullmatch(r"[\d.]+ (ft|m)", text.text)
    ]
    said = {"ft": 304.8, "m": 1000.0}
    for end in ends:
        number, unit = end.text.split()
        step = float(number) / 4 * said[unit] / scene.denominator
        assert any(abs(length - step) < 1e-6 for length in lengths), end.text
    assert len(ends) == 2


@pytest.mark.parametrize("sheet", ["letter", "tabloid"])
def test_svg_carries_the_same_coordinates_in_points(sheet):
    scene, side = scene_of("plain", sheet), 20 * 12 * 72
    root = ET.fromstring(render_bytes(scene, "svg"))
    short, long = PAPER_IN[sheet]
    assert root.get("width") == f"{72 * max(short, long):g}pt"
    paths = [element.get("d") for element in root.iter("{http://www.w3.org/2000/svg}path")]
    pairs = [
        tuple(map(float, re.findall(r"-?[\d.]+", path)))
        for path in paths
        if path and re.fullmatch(r"\s*M [-\d. ]+\s+L [-\d. ]+\s*", path)
    ]
    lengths = [math.dist(pair[:2], pair[2:]) for pair in pairs]
    assert any(abs(length - side / scene.denominator) < 1e-3 for length in lengths)


def test_png_is_two_hundred_dots_to_the_inch():
    content = render_bytes(scene_of("plain", "letter"), "png")
    assert struct.unpack(">II", content[16:24]) == (2200, 1700)  # IHDR, PNG specification 11.2.2


@pytest.mark.parametrize(
    ("name", "sheet"),
    [("tutorial", "letter"), ("five-sided-yard", "letter"), ("corner-plot", "a4")],
)
def test_units_and_boards_are_drawn_at_true_size(name, sheet):
    plan, scene = plan_of(name), scene_of(name, sheet)
    to_ground = (scene.denominator / 1000) ** 2
    units = [unit for mark in scene.on("units") for unit in mark.polygons]
    faces = [walk.paver.face_m2 for walk in plan.walks for _ in walk.outlines]
    assert len(units) == sum(walk.count for walk in plan.walks)
    assert [unit.area * to_ground for unit in units] == pytest.approx(faces)
    boards = [piece for mark in scene.on("boards") for piece in mark.polygons]
    drawn = sum(piece.area for piece in boards) * to_ground
    pieces = [piece for edging in plan.edging for piece in edging.pieces if piece.tier == 1]
    assert len(boards) == len(pieces)
    assert drawn == pytest.approx(sum(piece.outline.area for piece in pieces))


@pytest.mark.parametrize("name", ["five-sided-yard", "corner-plot"])
def test_shapes_keep_their_places_to_each_other(name):
    # every bed, measured back from the sheet by the fence's own dimension line, lies where the
    # plan has it
    plan, scene = plan_of(name), scene_of(name, "letter")
    drawn = [shape for mark in scene.on("bed") for shape in mark.polygons]
    heavy = max(
        (mark for mark in scene.on("fence") if isinstance(mark, Strokes)),
        key=lambda mark: mark.pen.width_mm,
    )
    corners = shapely.MultiPoint([point for line in heavy.lines for point in line])
    for bed, shape in zip(plan.site.beds, drawn, strict=True):
        for _, corner in plan.site.enclosure.corners:
            true_m = bed.outline.centroid.distance(shapely.Point(corner))
            on_paper = [
                shape.centroid.distance(place) * scene.denominator / 1000
                for place in corners.geoms
            ]
            assert min(abs(length - true_m) for length in on_paper) < 1e-6


def test_border_stays_inside_what_printers_reach():
    scene = scene_of("plain", "letter")
    frame = [mark for mark in scene.on("border") if isinstance(mark, Shapes)]
    left, bottom, right, top = shapely.unary_union(
        [shape for mark in frame for shape in mark.polygons]
    ).bounds
    margins = (left, bottom, scene.width_mm - right, scene.height_mm - top)
    assert min(margins) >= 6.35  # a quarter inch, the usual bare margin of desk printers
