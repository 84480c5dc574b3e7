"""No label covers another, none leaves its field, and text takes the room it is given."""

import itertools

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.outputs.label import Candidate, Feature, Label
from bedplan.outputs.labels import place
from bedplan.outputs.scene import POINT_MM, Text
from bedplan.outputs.scene_lettering import (
    block,
    block_size_mm,
    box,
    clean,
    upright,
    width_mm,
    wrap,
)
from bedplan.outputs.scene_palette import NAME, Style

ROOM = shapely.box(0, 0, 100, 80)
DPI = 720


def spot(x, y, words="name", **more):
    return Candidate(((words, NAME),), (x, y), **more)


def placed_boxes(labels, features=(), room=ROOM):
    return {label.subject: candidate.box for label, candidate in place(labels, features, room)}


def drawn_extent_mm(text):
    """Width and height of a line as the font engine itself lays it out, unturned [mm]."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(20, 2), dpi=DPI)
    canvas = FigureCanvasAgg(figure)
    artist = figure.text(
        0,
        0.5,
        text.text,
        fontsize=text.size_pt,
        family="DejaVu Sans",
        weight="bold" if text.bold else "normal",
        parse_math=False,
    )
    extent = artist.get_window_extent(canvas.get_renderer())
    return extent.width / DPI * 25.4, extent.height / DPI * 25.4


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize(
    "words",
    [
        "herb square",
        "AB  26' 3-7/16\"",
        "WWW mmm @@",
        "quince, kept clear",
        "12.4 ft²",
        "Gemüsebeet – Süd",
        "⌀ 4' · 10.7 ft²",
        "1200 × 900 mm",
        "jjjjj lll iii",
        "l'été & $5 bed",
    ],
)
def test_a_line_is_never_wider_than_its_box(words, bold):
    text = Text("lettering", words, (0.0, 0.0), 8.0, bold=bold)
    wide, tall = drawn_extent_mm(text)
    left, bottom, right, top = box(text).bounds
    assert wide <= right - left
    assert tall <= (top - bottom) * 1.02
    assert right - left <= 1.2 * wide + 0.5  # nor is the box wastefully wide


def test_box_turns_with_the_text():
    level = Text("lettering", "long border", (10.0, 10.0), 8.0, "middle")
    steep = Text("lettering", "long border", (10.0, 10.0), 8.0, "middle", 90.0)
    turned = shapely.affinity.rotate(box(level), 90, origin=(10, 10))
    assert box(steep).symmetric_difference(turned).area < 1e-9


def test_block_fills_its_own_size():
    lines = (("long border", NAME), ("69.3 ft²", Style(7.0)))
    texts = block(lines, (50.0, 40.0))
    left, bottom, right, top = shapely.unary_union([box(text) for text in texts]).bounds
    assert (right - left, top - bottom) == pytest.approx(block_size_mm(lines), rel=1e-9)
    assert ((left + right) / 2, (bottom + top) / 2) == pytest.approx((50.0, 40.0))


def test_wrapped_lines_keep_to_the_room_and_lose_no_word():
    words = "perennial border by the kitchen window"
    rows = wrap(words, NAME, 25.0)
    assert " ".join(rows) == words
    assert all(width_mm(row, NAME) <= 25.0 for row in rows)


def test_clean_takes_out_what_no_file_can_hold():
    assert clean("herb\nsquare\t\x00 two") == "herb square two"


@pytest.mark.parametrize("angle", range(-720, 721, 7))
def test_upright_text_is_parallel_and_readable(angle):
    turned = upright(angle)
    assert (turned - angle) % 180.0 == pytest.approx(0.0)
    assert -70.0 <= turned <= 110.0


def test_cheapest_place_is_taken():
    taken = placed_boxes([Label("a", (spot(20, 20, cost=5.0), spot(60, 60, cost=1.0)))])
    assert taken["a"].centroid.coords[0] == pytest.approx((60, 60))


def test_covered_ground_counts():
    busy = Feature(shapely.box(50, 50, 70, 70), 2.0)
    taken = placed_boxes([Label("a", (spot(20, 20, cost=5.0), spot(60, 60, cost=1.0)))], [busy])
    assert taken["a"].centroid.coords[0] == pytest.approx((20, 20))


def test_a_label_makes_room_for_one_that_has_nowhere_else():
    both = [
        Label("first", (spot(50, 40), spot(50, 60, cost=3.0))),
        Label("second", (spot(52, 40),)),
    ]
    assert placed_boxes(both).keys() == {"first", "second"}


def test_optional_label_without_room_is_left_out():
    labels = [Label("a", (spot(50, 40),), rank=0), Label("b", (spot(50, 40),), 1, needed=False)]
    assert placed_boxes(labels).keys() == {"a"}


def test_needed_label_without_room_takes_a_leader():
    far = spot(20, 70, leader=((50.0, 46.0), (25.0, 68.0)))
    labels = [Label("a", (spot(50, 40),), 0), Label("b", (spot(50, 40),), 1, more=lambda: (far,))]
    placed = {label.subject: candidate for label, candidate in place(labels, [], ROOM)}
    assert placed["b"].leader


def test_nothing_is_placed_outside_the_field():
    labels = [
        Label("out", (spot(1, 1), spot(99, 79))),
        Label("leader out", (spot(50, 40, leader=((-5.0, 40.0), (40.0, 40.0))),)),
    ]
    assert placed_boxes(labels) == {}


def test_words_keep_off_the_lines_of_other_labels():
    led = spot(20, 70, "a", leader=((80.0, 10.0), (22.0, 68.0)))
    on_the_leader = spot(50, 40, "b")
    assert placed_boxes([Label("a", (led,)), Label("b", (on_the_leader,))]).keys() == {"a"}


places = st.tuples(st.integers(10, 90), st.integers(5, 75), st.integers(0, 179))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(places, min_size=1, max_size=6), min_size=1, max_size=15))
def test_placed_labels_never_overlap_and_every_free_one_is_placed(wanted):
    labels = [
        Label(str(number), tuple(spot(x, y, angle_deg=float(turn)) for x, y, turn in spots))
        for number, spots in enumerate(wanted)
    ]
    boxes = placed_boxes(labels)
    for one, other in itertools.combinations(boxes.values(), 2):
        assert one.intersection(other).area < 1e-9
    for shape in boxes.values():
        assert ROOM.covers(shape)
    for number, spots in enumerate(wanted):
        if str(number) not in boxes:  # then each of its places is out of bounds or taken
            for x, y, turn in spots:
                here = spot(x, y, angle_deg=float(turn))
                blocked = any(here.clear.distance(shape) < 0.51 for shape in boxes.values())
                assert blocked or not ROOM.covers(here.clear)


def test_type_sizes_are_points():
    # 72 points are an inch (ISO 32000-1); an em of 72 pt type is 25.4 mm
    assert pytest.approx(25.4) == 72 * POINT_MM
