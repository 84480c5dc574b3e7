"""Hints at sizes: each is laid anew by hand, and no smaller change on a coarse grid gains."""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from functools import lru_cache
from itertools import takewhile
from pathlib import Path

import pytest
import shapely
from gardens import bed, fence, garden, rectangle

from bedplan import load_layout
from bedplan.cli import main
from bedplan.errors import LayoutError
from bedplan.model.layout import (
    AlongSides,
    Around,
    BedSpec,
    Centerline,
    Circle,
    PathSpec,
    Paving,
    Plant,
    Rectangle,
    Rest,
)
from bedplan.model.materials import Paver
from bedplan.outputs.tables_hints import hints_table
from bedplan.plan import FreeSearch, make_plan
from bedplan.plan.capacity import Capacity
from bedplan.plan.hint_trials import Trials, _home
from bedplan.plan.hints import search_hints, size_hints
from bedplan.plan.size_keys import size_keys
from bedplan.plan.walk import lay_walk
from bedplan.site import resolve

LAYOUTS = Path(__file__).parents[2] / "layouts"
SLAB = Paver("slab", 0.4, 0.4, 0.05)


def strip(bed_m, wide_m=2.02, joint=(0.01, 0.01), **more):
    """Return a walk beside a border: what is left of a width, 4.1 m + 1 cm long."""
    walk = PathSpec("walk", Rest(), paving=Paving("slab", joint_m=joint, **more))
    border = BedSpec("border", AlongSides(("BC",), bed_m))
    return garden(rectangle(wide_m, 4.11), [border], [walk], pavers={"slab": SLAB}, show="metric")


def changed(layout, hint):
    """Return the layout with a hint followed, by its words alone."""
    if hint.kind == "path":
        paths = [
            replace(path, shape=replace(path.shape, width_m=hint.to_m))
            if path.name == hint.name
            else path
            for path in layout.paths
        ]
        return replace(layout, paths=tuple(paths))
    beds = []
    for spec in layout.beds:
        shape = spec.shape
        if spec.name == hint.name:
            if isinstance(shape, Rectangle):
                at = ("length", "width").index(hint.key)
                size = [*shape.size_m]
                assert size[at] == hint.from_m
                size[at] = hint.to_m
                shape = replace(shape, size_m=tuple(size))
            elif isinstance(shape, Around):
                shape = replace(shape, clearance_m=hint.to_m)
            else:
                assert getattr(shape, f"{hint.key}_m") == hint.from_m
                shape = replace(shape, **{f"{hint.key}_m": hint.to_m})
        beds.append(replace(spec, shape=shape))
    return replace(layout, beds=tuple(beds))


def count_of(layout, path):
    """Return the units of a path; None where the layout is faulty."""
    try:
        site = resolve(layout)
    except LayoutError:
        return None
    number = [spec.name for spec in layout.paths].index(path)
    return lay_walk(layout, site, site.paths[number], FreeSearch(), bounds=False).count


@lru_cache(maxsize=4)
def searched(name):
    layout = load_layout(LAYOUTS / f"{name}.toml")
    return layout, search_hints(layout, seconds=120)


def beds_m2(plan):
    return sum(bed.outline.area for bed in plan.site.beds)


TICK_M = {"imperial": 0.0254 / 16, "metric": 0.001}


@pytest.mark.parametrize("name", ["tutorial", "corner-plot"])
def test_a_hint_followed_does_what_it_says(name):
    layout, search = searched(name)
    assert search.complete
    assert search.hints
    before = make_plan(layout)
    counts = {walk.path.spec.name: walk.count for walk in before.walks}
    for hint in search.hints:
        after = make_plan(changed(layout, hint))
        (walk,) = [walk for walk in after.walks if walk.path.spec.name == hint.path]
        (old,) = [walk for walk in before.walks if walk.path.spec.name == hint.path]
        assert walk.count == hint.count
        assert hint.gained == (walk.count - old.count if hint.effect == "gain" else 0)
        assert hint.gained > 0 or walk.count >= counts[hint.path]
        assert beds_m2(after) - beds_m2(before) == pytest.approx(hint.bed_area_m2, abs=1e-9)
        grown = walk.path.area.area - old.path.area.area
        assert grown == pytest.approx(hint.path_area_m2, abs=1e-9)
        assert grown * (1 if hint.effect == "gain" else -1) > 0
        if hint.margin_m is not None:
            assert min(abs(each.least_m - hint.margin_m) for each in walk.margins) < 1e-9
        if hint.effect == "margin":
            assert hint.margin_m <= TICK_M[layout.show]


@pytest.mark.parametrize("name", ["tutorial", "corner-plot"])
def test_no_smaller_change_on_a_coarse_grid_gains(name):
    layout, search = searched(name)
    now = {spec.name: count_of(layout, spec.name) for spec in layout.paths}
    gains = [hint for hint in search.hints if hint.effect == "gain"]
    assert gains
    first = {}
    for hint in gains:
        key = (hint.name, hint.key)
        first[key] = min(first.get(key, hint), hint, key=lambda h: abs(h.to_m - h.from_m))
    for hint in first.values():
        for step in range(1, 12):
            part = hint.from_m + (hint.to_m - hint.from_m) * step / 12
            tried = replace(hint, to_m=part)
            assert count_of(changed(layout, tried), hint.path) <= now[hint.path]
    for hint in search.hints:
        if hint.effect == "spare":  # one mark more loses a unit, or the layout does not stand
            on = hint.to_m + TICK_M[layout.show] * (1 if hint.to_m > hint.from_m else -1)
            more = count_of(changed(layout, replace(hint, to_m=on)), hint.path)
            assert more is None or more < now[hint.path]


def yard(**more):
    """Return an L-shaped yard of bricks with a border held back, a square bed and a round one."""
    paving = Paving("brick", joint_m=(0.002, 0.002), **more)
    points = [(0, 0), (0.6, 0.01), (0.59, 0.27), (0.36, 0.265), (0.363, 0.48), (0, 0.49)]
    beds = [
        BedSpec("border", AlongSides(("FA",), 0.1, start_m=0.09)),
        BedSpec("square", Rectangle((0.2, 0.22), (0.09, 0.07), "AB")),
        BedSpec("ring", Circle((0.46, 0.15), 0.05, facets=6)),
    ]
    brick = Paver("brick", 0.05, 0.025, 0.05)
    walk = PathSpec("walk", Rest(), paving=paving)
    return garden(fence(points), beds, [walk], pavers={"brick": brick}, show="metric")


def brute_force(layout, hint, sign):
    """Return sizes one tick apart with their counts, laid one by one, up to a module."""
    tried = []
    for ticks in range(1, 53):
        size_m = round((round(hint.from_m / 0.001) + sign * ticks) * 0.001, 9)
        count = size_m > 0 and count_of(changed(layout, replace(hint, to_m=size_m)), "walk")
        if not count:
            break
        tried.append((size_m, count))
    return tried


@pytest.mark.parametrize(
    ("bond", "direction", "lengths"),
    [
        ("running", 90.0, (("ring", "radius"), ("border", "start"))),
        ("courses", "AB", (("border", "width"),)),
        ("herringbone", "AB", (("ring", "radius"),)),
    ],
)
def test_sizes_tried_one_by_one_show_the_same_hints(bond, direction, lengths):
    layout = yard(bond=bond, direction=direction)
    now, search = count_of(layout, "walk"), search_hints(layout, seconds=60)
    assert search.complete
    assert search.tried == ()
    for name, key in lengths:
        more = 1 if key == "start" else -1  # the way that gives ground to the walk
        hints = [hint for hint in search.hints if (hint.name, hint.key) == (name, key)]
        gaining = brute_force(layout, hints[0], more)
        best = max([count for _, count in gaining], default=now)
        wanted = {
            next(size for size, count in gaining if count >= least)
            for least in (now + 1, best)
            if best > now
        }
        found = {round(hint.to_m, 9) for hint in hints if hint.effect == "gain"}
        assert found == wanted
        giving = brute_force(layout, hints[0], -more)
        kept = [size for size, count in takewhile(lambda tried: tried[1] >= now, giving)]
        spare = [round(hint.to_m, 9) for hint in hints if hint.effect == "spare"]
        assert spare == kept[-1:]


def test_lengths_without_a_hint_gain_nothing_on_a_coarse_grid():
    layout, search = searched("tutorial")
    hinted = {(hint.name, hint.key) for hint in search.hints if hint.gained}
    assert hinted == {("left border", "width"), ("right border", "width")}
    module = 16.375 * 0.0254
    for key, size in (("length", 66 * 0.0254), ("width", 33 * 0.0254)):
        hint = replace(search.hints[0], name="herb bed", key=key, from_m=size)
        for step in range(-10, 11):
            tried = replace(hint, to_m=size + module * step / 10)
            assert (count_of(changed(layout, tried), "walk") or 0) <= 56


@pytest.mark.parametrize("bed_mm", [500, 633, 700, 790])
def test_a_border_beside_rows_is_arithmetic(bed_mm):
    # rows of 400 mm and 10 mm joints: n rows need 410 n - 10; ten units in each of 4110 mm
    free = 2020 - bed_mm
    rows = (free + 10) // 410
    hints = {hint.gained or hint.effect: hint for hint in size_hints(strip(bed_mm / 1000))}
    more = bed_mm - (free - (410 * (rows + 1) - 10)) * -1
    assert hints[10].to_m == pytest.approx(more / 1000)
    assert hints[10].count == 10 * (rows + 1)
    assert hints[10].bed_area_m2 == pytest.approx((more - bed_mm) / 1000 * 4.11)
    spare = free - (410 * rows - 10)
    assert ("spare" in hints) == (spare >= 1)
    assert "margin" not in hints  # it goes no sooner than the last of what is spare
    if spare >= 1:
        assert hints["spare"].to_m * 1000 == pytest.approx(bed_mm + spare)
        assert hints["spare"].count == 10 * rows
        assert hints["spare"].margin_m == pytest.approx(0.0, abs=1e-4)
        assert hints["spare"].path_area_m2 == pytest.approx(-spare / 1000 * 4.11)


def test_sizes_are_marks_of_the_tape():
    _layout, search = searched("tutorial")
    for hint in search.hints:
        marks = hint.to_m / (0.0254 / 16)
        assert marks == pytest.approx(round(marks), abs=1e-6)
    _metric, other = searched("corner-plot")
    assert all(hint.to_m * 1000 == pytest.approx(round(hint.to_m * 1000)) for hint in other.hints)


def test_most_units_for_the_change_come_first():
    for name in ("tutorial", "corner-plot"):
        worth = [hint.gained / abs(hint.to_m - hint.from_m) for hint in searched(name)[1].hints]
        assert worth == sorted(worth, reverse=True)


def test_a_walk_along_a_line_is_widened():
    walk = PathSpec("walk", Centerline(((1.5, 0.0), (1.5, 4.1)), 0.95), paving=Paving("slab"))
    layout = garden(rectangle(3, 4.1), [], [walk], pavers={"slab": SLAB}, show="metric")
    gain, spare = size_hints(layout)
    assert (gain.kind, gain.key, gain.gained, gain.count) == ("path", "width", 10, 30)
    assert gain.to_m == pytest.approx(1.2)
    assert (spare.effect, spare.gained) == ("spare", 0)
    assert spare.to_m == pytest.approx(0.8)
    assert gain.bed_area_m2 == spare.bed_area_m2 == 0.0
    assert gain.path_area_m2 == pytest.approx(0.25 * 4.1)
    assert spare.path_area_m2 == pytest.approx(-0.15 * 4.1)


def test_wide_joints_close_a_margin_early():
    # two rows of 400 mm may lie up to 60 mm apart: 50 mm over go into the joint at once, and
    # only what is over the widest joints stands as a margin
    walk = PathSpec("walk", Rest(), paving=Paving("slab", joint_m=(0.01, 0.06)))
    border = BedSpec("border", AlongSides(("BC",), 0.5))
    layout = garden(rectangle(1.46, 4.08), [border], [walk], pavers={"slab": SLAB}, show="metric")
    hints = {hint.effect: hint for hint in size_hints(layout)}
    # 960 mm hold 2 * 400 + 60 and 100 over; along, 9 * 400 + 8 * 60 are the whole length
    assert hints["spare"].to_m == pytest.approx(0.65)
    assert hints["margin"].to_m == pytest.approx(0.6, abs=0.0021)
    assert hints["margin"].margin_m <= 0.001


def test_room_round_a_plant_is_a_size_too():
    plant = Plant("plum", (1.25, 1.25), stem_m=0.1)
    bed = BedSpec("plum bed", Around(("plum",), 0.45, "AB"))
    walk = PathSpec("walk", Rest(), paving=Paving("slab"))
    layout = garden(
        rectangle(2.5, 2.5), [bed], [walk], pavers={"slab": SLAB}, plants=(plant,), show="metric"
    )
    now = count_of(layout, "walk")
    gains = [hint for hint in size_hints(layout) if hint.gained]
    assert {(hint.name, hint.key) for hint in gains} == {("plum bed", "clearance")}
    # 2.5 m less two rows of 0.8 m leave 0.9 m for the bed, of which the stem is 0.1 m
    assert count_of(changed(layout, gains[0]), "walk") == now + gains[0].gained


def test_a_limit_that_is_reached_leaves_nothing_to_gain():
    layout = strip(0.7)
    assert size_hints(layout)
    few = search_hints(replace(layout, pavers={"slab": replace(SLAB, limit=5)}))
    assert few.hints == ()
    assert [(each.name, each.why) for each in few.left_out] == [
        ("walk", "holds all the units its limit allows")
    ]
    assert size_hints(replace(layout, paths=(PathSpec("walk", Rest()),))) == ()


def test_a_walk_laid_freely_gets_the_hints_of_courses():
    courses, free = (search_hints(strip(0.7, bond=bond)) for bond in ("courses", "free"))
    assert free.hints == courses.hints != ()
    assert {hint.bond for hint in free.hints} == {"courses"}
    assert (courses.freely, free.freely) == ((), ("walk",))
    assert "Laid freely in the file, in courses for these hints: walk." in note_of(free)


def note_of(search):
    return hints_table(search, "metric").note


def test_stepping_stones_are_tried_size_by_size():
    search = search_hints(strip(0.7, stride_m=0.6))
    assert search.complete
    assert {key for _, _, key in search.tried} == {"width"}
    assert "gains between them may be missed, of border: width" in note_of(search)


def test_a_bed_drawn_corner_by_corner_is_left_out_and_named():
    drawn = bed("island", [(0.9, 1.5), (1.2, 1.5), (1.2, 1.9), (0.9, 1.9)], edging=None)
    layout = strip(0.5)
    search = search_hints(replace(layout, beds=(*layout.beds, drawn)))
    assert {hint.name for hint in search.hints} == {"border"}
    assert [(each.path, each.name) for each in search.left_out] == [("walk", "island")]
    assert "Left out: island (drawn corner by corner" in note_of(search)


@pytest.mark.parametrize(("facets", "tried"), [(6, ()), (0, (("walk", "pond", "radius"),))])
def test_a_round_bed_has_a_radius(facets, tried):
    pond = BedSpec("pond", Circle((1.01, 2.0), 0.35, facets))
    walk = PathSpec("walk", Rest(), paving=Paving("slab", direction=0.0))
    layout = garden(rectangle(2.02, 4.11), [pond], [walk], pavers={"slab": SLAB}, show="metric")
    search = search_hints(layout)
    assert search.tried == tried  # without facets of its own, they change with its size
    now = count_of(layout, "walk")
    gains = [hint for hint in search.hints if hint.effect == "gain"]
    assert {(hint.name, hint.key) for hint in gains} == {("pond", "radius")}
    for hint in gains:
        assert count_of(changed(layout, hint), "walk") == now + hint.gained == hint.count


def covers(layout, ticks, **key_changes):
    """Tell whether all sizes of the first length up to so many marks are covered by bounds."""
    site = resolve(layout)
    key = replace(size_keys(layout, site, 0)[0], **key_changes)
    capacity = Capacity(layout, site, site.paths[0])
    return Trials(layout, site, 0, key, capacity, math.inf)._covers(0, ticks)


def test_sizes_are_covered_only_while_ground_grows_in_one_piece():
    assert covers(strip(0.7), -100)
    assert covers(strip(0.7), 300)
    assert not covers(strip(0.7), 500)  # the strip gained could hold a unit
    assert not covers(strip(0.7), 100, steady=False)
    # a rectangle that turns as it will need not hold a smaller one
    plants = (Plant("a", (0.7, 0.9), stem_m=0.02), Plant("b", (1.1, 1.1), stem_m=0.5))
    turned = BedSpec("turned", Around(("a", "b"), 0.05))
    walk = PathSpec("walk", Rest(), paving=Paving("slab", direction=0.0))
    layout = garden(
        rectangle(2.5, 2.5), [turned], [walk], pavers={"slab": SLAB}, plants=plants, show="metric"
    )
    assert not covers(layout, -60)
    square = replace(turned, shape=replace(turned.shape, square_to="AB"))
    assert covers(replace(layout, beds=(square,)), -60)


def test_a_walk_in_no_single_larger_one_has_no_home():
    pieces = (shapely.box(0, 0, 2, 1), shapely.box(3, 0, 4, 1))
    assert _home(shapely.box(3.1, 0, 3.9, 1), pieces) == 1
    assert _home(shapely.box(1.5, 0, 3.5, 1), pieces) == -1


def test_sizes_are_not_covered_where_other_directions_come_up():
    pond = BedSpec("pond", Circle((1.01, 2.0), 0.35))
    walk = PathSpec("walk", Rest(), paving=Paving("slab"))
    layout = garden(rectangle(2.02, 4.11), [pond], [walk], pavers={"slab": SLAB}, show="metric")
    assert covers(replace(layout, paths=(along(walk, 0.0),)), -100, steady=True)
    assert not covers(layout, -100, steady=True)


def along(path, direction):
    return replace(path, paving=replace(path.paving, direction=direction))


def test_where_wider_joints_lay_more_every_size_is_laid_with_them():
    # 54 slabs lie at the least joint of the tutorial's walk, 56 at a wider one
    layout, search = searched("tutorial")
    tight = replace(layout.paths[0].paving, joint_m=(layout.paths[0].paving.joint_m[0],) * 2)
    assert count_of(replace(layout, paths=(replace(layout.paths[0], paving=tight),)), "walk") == 54
    lengths = {("left border", "width"), ("right border", "width")}
    lengths |= {("herb bed", "length"), ("herb bed", "width")}
    assert {(name, key) for _, name, key in search.tried} == lengths
    spare = {(hint.name, hint.key) for hint in search.hints if hint.effect == "spare"}
    assert spare == lengths


def test_where_a_border_is_held_back_that_is_a_size_too():
    border = BedSpec("border", AlongSides(("BC",), 0.6, start_m=0.5, end_m=0.3))
    walk = PathSpec("walk", Rest(), paving=Paving("slab", joint_m=(0.01, 0.01)))
    layout = garden(rectangle(2.02, 4.11), [border], [walk], pavers={"slab": SLAB}, show="metric")
    hints = size_hints(layout)
    assert {hint.key for hint in hints} == {"width", "start", "end"}
    for hint in hints:
        assert count_of(changed(layout, hint), "walk") == hint.count
        if hint.key != "width":  # held back farther, the border gives ground
            assert (hint.effect == "gain") == (hint.to_m > hint.from_m)


def test_one_path_may_be_asked_for_by_its_name():
    paths = [
        PathSpec("one", Centerline(((0.6, 0.0), (0.6, 4.1)), 0.95), paving=Paving("slab")),
        PathSpec("two", Centerline(((2.2, 0.0), (2.2, 4.1)), 0.95), paving=Paving("slab")),
    ]
    layout = garden(rectangle(3, 4.1), [], paths, pavers={"slab": SLAB}, show="metric")
    both = search_hints(layout).hints
    assert {hint.path for hint in both} == {"one", "two"}
    assert search_hints(layout, "two").hints == tuple(h for h in both if h.path == "two")


def test_a_walk_that_parts_is_tried_here_and_there():
    # a bed across the walk leaves a gap at either end; made longer, it parts the walk in two
    layout = garden(
        rectangle(1.6, 4.9),
        [BedSpec("across", Rectangle((0.8, 2.45), (1.3, 0.45), 0.0))],
        [PathSpec("walk", Rest(), paving=Paving("slab", direction=0.0))],
        pavers={"slab": SLAB},
        show="metric",
    )
    search = search_hints(layout)
    assert ("walk", "across", "length") in search.tried
    for hint in search.hints:
        assert count_of(changed(layout, hint), "walk") == hint.count


def test_a_faulty_layout_is_told():
    with pytest.raises(LayoutError):
        size_hints(strip(9.0))


def test_time_that_runs_out_is_told_and_what_was_found_is_true():
    layout, whole = searched("tutorial")
    short = search_hints(layout, seconds=0.0)
    assert (short.hints, short.complete) == ((), False)
    assert "Time ran out" in hints_table(short, "metric").note
    some = search_hints(layout, seconds=0.15)
    assert set(some.hints) <= set(whole.hints)


def test_progress_runs_from_nought_to_below_one():
    told = []
    search_hints(strip(0.7), progress=lambda share, count: told.append((share, count)))
    assert told[0] == (0.0, 0)
    assert all(0 <= share < 1 for share, _ in told)


def test_area_of_beds_is_theirs_alone():
    layout, search = searched("tutorial")
    hint = next(hint for hint in search.hints if hint.name == "left border")
    # the border is 11 ft long
    assert hint.bed_area_m2 == pytest.approx((hint.to_m - hint.from_m) * 132 * 0.0254, abs=1e-6)
    outline = resolve(changed(layout, hint)).beds[0].outline
    assert shapely.area(outline) == pytest.approx(hint.to_m * 132 * 0.0254, abs=1e-6)


# ---- the command ---------------------------------------------------------------------------


def run(monkeypatch, capsys, *words):
    monkeypatch.setattr(sys, "argv", ["bedplan", "hints", *map(str, words)])
    with pytest.raises(SystemExit) as stop:
        main()
    assert stop.value.code in (0, None)
    return capsys.readouterr().out


def test_the_command_prints_a_table_and_json(monkeypatch, capsys):
    table = run(monkeypatch, capsys, LAYOUTS / "corner-plot.toml")
    assert "SIZE HINTS" in table
    assert "1324 mm" in table
    feet = run(monkeypatch, capsys, LAYOUTS / "corner-plot.toml", "--show", "imperial")
    assert "4'" in feet
    data = json.loads(run(monkeypatch, capsys, LAYOUTS / "corner-plot.toml", "--json"))
    assert data["complete"] is True
    keys = {"path", "kind", "name", "key", "from_m", "to_m", "gained", "count", "bed_area_m2"}
    keys |= {"path_area_m2", "effect", "margin_m", "bond"}
    assert all(row.keys() == keys for row in data["hints"])


def test_the_command_says_when_there_is_nothing(monkeypatch, capsys, tmp_path):
    text = (LAYOUTS / "corner-plot.toml").read_text(encoding="utf-8")
    bare = tmp_path / "bare.toml"
    bare.write_text(text.replace("on_hand = 60\n", "on_hand = 60\nlimit = 9\n"), encoding="utf-8")
    told = run(monkeypatch, capsys, bare)
    assert "No change" in told
    assert "Left out: paved walk (holds all the units its limit allows)." in told
