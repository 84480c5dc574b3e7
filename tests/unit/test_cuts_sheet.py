"""The cut sheet: to scale, at true angles, with no words over words, the same bytes every time."""

from __future__ import annotations

import io
import itertools
import math
import random
from dataclasses import replace
from functools import cache

import pypdf
import pytest
import shapely
from cutting import board_plan, inches, job, piece
from gardens import pine
from hypothesis import given, settings
from hypothesis import strategies as st

import bedplan
from bedplan.edging.model import Notch
from bedplan.model.materials import StockItem
from bedplan.outputs.cut_sheet import cut_sheet
from bedplan.outputs.draw_mpl import render_pages
from bedplan.outputs.edging_plan import edging_plan
from bedplan.outputs.lanes import Tag, in_lanes, spread
from bedplan.outputs.scene import Shapes, Strokes
from bedplan.outputs.scene_boards import times_drawn
from bedplan.outputs.scene_lettering import box
from bedplan.outputs.scene_palette import BED_FILL, FIGURE, INK
from bedplan.plan.sawing import sawn_boards

KEEP_M = inches(12)


def mitred():
    """One 8 ft board: 40 in with 45° out and 30° in, and 30 in square; 1/8 in kerf."""
    board = pine(kerf_m=inches(1 / 8), stock=(StockItem(inches(96), 9.0),))
    pieces = [
        piece("1.1", inches(40), (45.0, -30.0)),
        piece("1.2", inches(30)),
    ]
    return board_plan(pieces, board)


def crowded():
    """Sixty pieces of oak, many short and steep, notched or with long names, and 39 tiny ones."""
    draw = random.Random(4)
    oak = pine(
        name='oak & "larch" $5',
        thickness_m=0.038,
        end_trim_m=0.006,
        stock=(StockItem(2.4384, 5.0), StockItem(3.048, 7.0)),
        on_hand_m=(0.9, 0.35),
    )
    long = [
        piece(
            f"{1 + number // 26}.{number % 26 + 1}a",
            draw.choice([0.06, 0.09, 0.12, 0.2, 0.5, 0.9, 1.7]),
            (draw.choice([0.0, 22.5, 45.0, -30.0]), draw.choice([0.0, 45.0, -45.0, 1.1])),
            board=oak.name,
            thick_m=0.038,
        )
        for number in range(60)
    ]
    notch = Notch(0.2, 0.3, 0.019, "BC 1", "inner")
    long = [replace(each, notches=(notch,)) if each.long_m > 0.6 else each for each in long]
    tiny = [piece(f"12.{number}", 0.085, (45.0, 45.0)) for number in range(1, 40)]
    return board_plan(long, oak), board_plan(tiny, pine(stock=(StockItem(4.8, 3.0),)))


JOBS = {"mitred": lambda: (mitred(),), "crowded": crowded}


@cache
def pages_of(name, sheet="letter", show="imperial"):
    return cut_sheet(job(*JOBS[name](), show=show), sheet, KEEP_M)


@cache
def yard():
    return bedplan.make_plan(bedplan.load_layout("layouts/five-sided-yard.toml"))


def border_of(scene):
    return max(
        (shape for mark in scene.on("border") for shape in mark.polygons), key=lambda s: s.area
    )


SCENES = [
    *(("mitred", sheet, show) for sheet, show in [("letter", "imperial"), ("a4", "metric")]),
    *(("crowded", sheet, show) for sheet, show in [("letter", "imperial"), ("a3", "metric")]),
    ("crowded", "tabloid", "imperial"),
]


@pytest.mark.parametrize("case", SCENES, ids=str)
def test_no_words_overlap_or_leave_the_sheet(case):
    for scene in pages_of(*case):
        boxes = [(text.text, box(text)) for text in scene.texts()]
        for words, shape in boxes:
            assert border_of(scene).contains(shape), words
        for (one, a), (other, b) in itertools.combinations(boxes, 2):
            # lines of one block lie tight: their boxes may share the room of a descender
            assert a.intersection(b).area < 0.12 * min(a.area, b.area), (one, other)


@pytest.mark.parametrize("case", SCENES, ids=str)
def test_labels_keep_off_each_other_and_off_every_leader(case):
    for scene in pages_of(*case):
        assert scene.labels
        for one, other in itertools.combinations(scene.labels, 2):
            assert not one.box.buffer(-0.01).intersects(other.box), (one, other)
        leaders = [shapely.LineString(label.leader) for label in scene.labels if label.leader]
        for leader, label in itertools.product(leaders, scene.labels):
            assert not leader.intersects(label.box.buffer(-0.05)), label


def bars(scene):
    """Return the outlines of whole boards, top to bottom: white, and lettered beside nothing."""
    white = [
        shape
        for mark in scene.on("boards")
        if isinstance(mark, Shapes) and mark.fill == "#ffffff" and mark.pen is None
        for shape in mark.polygons
    ]
    return sorted(white, key=lambda shape: -shape.bounds[3])


def strokes(scene, width_mm):
    return [
        line
        for mark in scene.on("boards")
        if isinstance(mark, Strokes) and mark.pen.width_mm == pytest.approx(width_mm)
        for line in mark.lines
    ]


def test_boards_pieces_and_marks_are_where_the_tape_puts_them():
    (scene,) = pages_of("mitred")
    # 8 ft at 1 in to the foot are 8 in on paper; the sheet has room for 9.1 in of bar
    assert scene.scale == '1" = 1\'-0"'
    (whole,) = bars(scene)
    left, _, right, _ = whole.bounds
    assert right - left == pytest.approx(8 * 25.4)
    pieces = sorted(
        (shape.bounds for shape in pieces_drawn(scene)),
        key=lambda bounds: bounds[0],
    )
    per_inch = 25.4 / 12
    spans = [((a - left) / per_inch, (b - left) / per_inch) for a, _, b, _ in pieces]
    assert spans[0] == pytest.approx((0.0, 40.0))
    assert spans[1] == pytest.approx((40.125, 70.125))
    kerfs = [
        shape.bounds[0]
        for mark in scene.on("boards")
        if isinstance(mark, Shapes) and mark.fill == INK
        for shape in mark.polygons
    ]
    assert [(at - left) / per_inch for at in kerfs] == pytest.approx([40.0, 70.125])
    ticks = {label.words: label.leader[0][0] for label in scene.labels if label.leader}
    assert (ticks["3' 4\""] - left) / per_inch == pytest.approx(40.0)
    assert (ticks["5' 10-1/8\""] - left) / per_inch == pytest.approx(70.125)


def test_slants_are_drawn_at_their_true_angle_from_the_long_point():
    (scene,) = pages_of("mitred")
    first, last = sorted(strokes(scene, 0.40), key=lambda line: line[0][0])
    for (lower, upper), slant in ((first, 45.0), (last, 30.0)):
        run, rise = upper[0] - lower[0], upper[1] - lower[1]
        assert math.degrees(math.atan2(abs(run), rise)) == pytest.approx(slant)
    left, _, _, _ = bars(scene)[0].bounds
    # the outer face lies below: long there at the first end, and above at the last
    assert first[0][0] == pytest.approx(left)
    assert first[1][0] > left
    assert last[1][0] == pytest.approx(left + 40 * 25.4 / 12)
    assert last[0][0] < last[1][0]
    (slanted,) = (shape for shape in pieces_drawn(scene) if left in shape.bounds)
    assert set(slanted.exterior.coords) == {*first, *last}


def pieces_drawn(scene):
    return [
        shape
        for mark in scene.on("boards")
        if isinstance(mark, Shapes) and mark.fill == BED_FILL
        for shape in mark.polygons
    ]


def test_thickness_is_drawn_so_that_slants_never_cross():
    shapes = [shape for scene in pages_of("crowded") for shape in pieces_drawn(scene)]
    assert len(shapes) == 99
    assert all(shape.is_valid for shape in shapes)
    # 16 mm drawn twice, its two slants take 64 mm of the 85, drawn three times 96; parallel ones
    # take 80 drawn five times; and no bar is thicker than 5.4 mm
    part = board_plan([piece("a", 0.085, (45.0, 45.0))])
    boards = sawn_boards(part, KEEP_M)
    assert times_drawn(part.board, boards, 40.0) == 2
    part = board_plan([piece("a", 0.085, (45.0, -45.0))])
    assert times_drawn(part.board, sawn_boards(part, KEEP_M), 40.0) == 5
    assert times_drawn(part.board, sawn_boards(part, KEEP_M), 400.0) == 1


def test_every_board_is_drawn_with_its_pieces_and_a_box_to_tick():
    plan = yard()
    scenes = cut_sheet(plan, "letter", KEEP_M)
    said = [text.text for scene in scenes for text in scene.texts()]
    boards = [board for part in plan.boards for board in sawn_boards(part, KEEP_M)]
    boxes = [
        shape
        for scene in scenes
        for mark in scene.on("dimensions")
        if isinstance(mark, Shapes)
        for shape in mark.polygons
    ]
    assert len(boxes) == len(boards) == sum(len(bars(scene)) for scene in scenes)
    for board in boards:
        for sawn in board.pieces:
            assert said.count(sawn.piece.label) == 1
        if board.offcut and board.offcut.name:
            assert said.count(board.offcut.name) == 1


def test_labels_of_the_edging_plan_are_those_of_the_cut_sheet():
    plan = yard()
    scene = edging_plan(plan)
    wanted = {piece.label for edging in plan.edging for piece in edging.pieces}
    drawn = {label.words for label in scene.labels if label.subject.startswith("piece ")}
    assert drawn == wanted
    for label in scene.labels:
        assert border_of(scene).contains(label.box)
    for one, other in itertools.combinations(scene.labels, 2):
        assert not one.box.buffer(-0.01).intersects(other.box)
    # each stands by its own board: nearer to it than to any other, unless a leader shows which
    boards = {piece.label: piece.outline for edging in plan.edging for piece in edging.pieces}
    frame = frame_of(plan, scene)
    for label in scene.labels:
        if label.words in boards and not label.leader:
            middle = label.box.centroid
            near = {name: frame(shape).distance(middle) for name, shape in boards.items()}
            assert min(near, key=near.get) == label.words


def frame_of(plan, scene):
    """Return the way to the sheet, found from where the fence is drawn."""
    (fence,) = (shape for mark in scene.on("spare") for shape in mark.polygons)
    left, bottom, _, _ = fence.bounds
    west, south, _, _ = plan.site.enclosure.polygon.bounds
    per_m = 1000.0 / scene.denominator

    def to(shape):
        return shapely.transform(shape, lambda xy: (xy - (west, south)) * per_m + (left, bottom))

    return to


def test_pages_of_a_pdf_are_sheets_to_scale_and_carry_no_date(tmp_path):
    pages = pages_of("crowded")
    assert len(pages) > 1
    one, two = tmp_path / "one.pdf", tmp_path / "two.pdf"
    assert render_pages(pages, one) == (one,)
    render_pages(pages, two)
    assert one.read_bytes() == two.read_bytes()
    reader = pypdf.PdfReader(io.BytesIO(one.read_bytes()))
    assert len(reader.pages) == len(pages)
    assert "/CreationDate" not in reader.metadata
    for page, scene in zip(reader.pages, pages, strict=True):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            (792.0, 612.0)
        )
        lengths = []
        at = None
        for operands, operator in page.get_contents().operations:
            if operator in (b"m", b"l"):
                to = [float(number) for number in operands]
                if operator == b"l":
                    lengths.append(math.dist(at, to))
                at = to
        for bar in bars(scene):
            points = (bar.bounds[2] - bar.bounds[0]) / 25.4 * 72
            assert any(abs(length - points) < 0.01 for length in lengths)


def test_several_pages_of_other_formats_are_numbered_files(tmp_path):
    pages = pages_of("crowded")
    files = render_pages(pages, tmp_path / "cuts.svg")
    assert [file.name for file in files] == [f"cuts-{n}.svg" for n in range(1, len(pages) + 1)]
    contents = [file.read_text() for file in files]
    for number, content in enumerate(contents, start=1):
        assert content.startswith("<?xml")
        assert f"page {number} of {len(pages)}" in content
    (only,) = render_pages(pages_of("mitred"), tmp_path / "one.png")
    assert only == tmp_path / "one.png"


def test_a_plan_without_boards_has_no_cut_sheet():
    assert cut_sheet(job(), "letter", KEEP_M) == ()


TAGS = st.lists(
    st.builds(
        lambda at, words, aside, group: Tag(
            ((words, FIGURE),), at, at + aside, group, ticked=bool(group)
        ),
        st.floats(0.0, 200.0),
        st.text("0123456789.ab", min_size=1, max_size=12),
        st.floats(-5.0, 5.0),
        st.sampled_from([0, 1]),
    ),
    min_size=1,
    max_size=25,
)


@settings(max_examples=80, deadline=None)
@given(tags=TAGS)
def test_lanes_never_let_words_or_leaders_meet(tags):
    lanes = in_lanes(tags, 0.0, 230.0)
    assert sorted(id(each.tag) for each in lanes.tags) == sorted(map(id, tags))
    boxes = []
    for each in lanes.tags:
        wide = each.tag.width_mm
        assert each.middle - wide / 2 >= -1e-9
        assert each.middle + wide / 2 <= 230.0 + 1e-9
        shape = shapely.box(
            each.middle - wide / 2, each.level - 1.2, each.middle + wide / 2, each.level + 1.2
        )
        assert each.level + 1.2 <= lanes.reach_mm + 0.01
        boxes.append(shape)
    for one, other in itertools.combinations(boxes, 2):
        assert not one.buffer(-1e-6).intersects(other)
    for each in lanes.tags:
        if each.leader:
            line = shapely.LineString(each.leader)
            assert not any(line.intersects(shape.buffer(-0.05)) for shape in boxes)
    lines = [shapely.LineString(each.leader) for each in lanes.tags if each.leader]
    assert not any(one.crosses(other) for one, other in itertools.combinations(lines, 2))


@settings(max_examples=80, deadline=None)
@given(rows=st.lists(st.tuples(st.floats(0, 60), st.floats(0.5, 9)), min_size=1, max_size=4))
def test_spread_moves_as_little_as_it_can(rows):
    from scipy.optimize import minimize

    from bedplan.outputs.lanes import GAP_MM

    wishes, widths = [wish for wish, _ in rows], [width for _, width in rows]
    found = spread(wishes, widths, 0.0, 60.0)
    apart = [(a + b) / 2 + GAP_MM for a, b in itertools.pairwise(widths)]
    for (a, b), least in zip(itertools.pairwise(found), apart, strict=True):
        assert b - a >= least - 1e-9
    assert found[0] >= widths[0] / 2 - 1e-9
    assert found[-1] <= 60.0 - widths[-1] / 2 + 1e-9
    limits = [
        {"type": "ineq", "fun": lambda x, i=i, least=least: x[i + 1] - x[i] - least}
        for i, least in enumerate(apart)
    ]
    bounds = [(width / 2, 60.0 - width / 2) for width in widths]
    best = minimize(
        lambda x: sum((a - b) ** 2 for a, b in zip(x, wishes, strict=True)),
        found,
        bounds=bounds,
        constraints=limits,
        method="SLSQP",
    )
    moved = sum((a - b) ** 2 for a, b in zip(found, wishes, strict=True))
    assert moved <= best.fun + 1e-4 * max(1.0, best.fun)
