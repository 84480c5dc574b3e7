"""Hints at sizes: each is laid anew by hand, and no smaller change on a coarse grid gains."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
import shapely
from gardens import garden, rectangle

from bedplan import load_layout
from bedplan.cli import main
from bedplan.errors import LayoutError
from bedplan.model.layout import (
    AlongSides,
    Around,
    BedSpec,
    Centerline,
    PathSpec,
    Paving,
    Plant,
    Rectangle,
    Rest,
)
from bedplan.model.materials import Paver
from bedplan.outputs.tables_hints import hints_table
from bedplan.plan import FreeSearch, make_plan
from bedplan.plan.hints import search_hints, size_hints
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
    for bed in layout.beds:
        shape = bed.shape
        if bed.name == hint.name:
            if isinstance(shape, Rectangle):
                at = ("length", "width").index(hint.key)
                size = [*shape.size_m]
                assert size[at] == hint.from_m
                size[at] = hint.to_m
                shape = replace(shape, size_m=tuple(size))
            elif isinstance(shape, Around):
                shape = replace(shape, clearance_m=hint.to_m)
            else:
                shape = replace(shape, width_m=hint.to_m)
        beds.append(replace(bed, shape=shape))
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
        assert walk.count == hint.count == counts[hint.path] + hint.gained
        assert beds_m2(after) - beds_m2(before) == pytest.approx(hint.bed_area_m2, abs=1e-9)
        if not hint.gained:
            # the tape's next mark would leave a negative margin: the border is met
            assert min(margin.least_m for margin in walk.margins) < 0.0254 / 16


@pytest.mark.parametrize("name", ["tutorial", "corner-plot"])
def test_no_smaller_change_on_a_coarse_grid_gains(name):
    layout, search = searched(name)
    now = {spec.name: count_of(layout, spec.name) for spec in layout.paths}
    gains = [hint for hint in search.hints if hint.gained]
    assert gains
    for hint in gains:
        for step in range(1, 12):
            part = hint.from_m + (hint.to_m - hint.from_m) * step / 12
            tried = replace(hint, to_m=part)
            assert count_of(changed(layout, tried), hint.path) <= now[hint.path]


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
    hints = {hint.gained: hint for hint in size_hints(strip(bed_mm / 1000))}
    more = bed_mm - (free - (410 * (rows + 1) - 10)) * -1
    assert hints[10].to_m == pytest.approx(more / 1000)
    assert hints[10].count == 10 * (rows + 1)
    assert hints[10].bed_area_m2 == pytest.approx((more - bed_mm) / 1000 * 4.11)
    spare = free - (410 * rows - 10)
    assert (0 in hints) == (spare > 3)
    if spare > 3:
        # both margins together go into the bed; a mark of the tape is left on each side at most
        assert 0 <= bed_mm + spare - hints[0].to_m * 1000 <= 2.01
        assert hints[0].count == 10 * rows


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
    gain, closed = size_hints(layout)
    assert (gain.kind, gain.key, gain.gained, gain.count) == ("path", "width", 10, 30)
    assert gain.to_m == pytest.approx(1.2)
    assert closed.gained == 0
    assert 0.8 <= closed.to_m <= 0.8021
    assert gain.bed_area_m2 == closed.bed_area_m2 == 0.0


def test_room_round_a_plant_is_a_size_too():
    plant = Plant("plum", (1.25, 1.25), stem_m=0.1)
    bed = BedSpec("plum bed", Around(("plum",), 0.45, "AB"))
    walk = PathSpec("walk", Rest(), paving=Paving("slab"))
    layout = garden(
        rectangle(2.5, 2.5), [bed], [walk], pavers={"slab": SLAB}, plants=(plant,), show="metric"
    )
    now = count_of(layout, "walk")
    gains = [hint for hint in size_hints(layout) if hint.gained]
    assert [(hint.name, hint.key) for hint in gains] == [("plum bed", "clearance")]
    # 2.5 m less two rows of 0.8 m leave 0.9 m for the bed, of which the stem is 0.1 m
    assert count_of(changed(layout, gains[0]), "walk") == now + gains[0].gained


def test_a_limit_that_is_reached_leaves_nothing_to_gain():
    layout = strip(0.7)
    assert size_hints(layout)
    few = replace(layout, pavers={"slab": replace(SLAB, limit=5)})
    assert size_hints(few) == ()
    assert size_hints(replace(layout, paths=(PathSpec("walk", Rest()),))) == ()
    assert size_hints(strip(0.7, bond="free")) == ()


def test_a_faulty_layout_is_told():
    with pytest.raises(LayoutError):
        size_hints(strip(9.0))


def test_time_that_runs_out_is_told_and_what_was_found_is_true():
    layout, whole = searched("tutorial")
    short = search_hints(layout, seconds=0.0)
    assert short == ((), False)
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
    assert all(row.keys() == keys for row in data["hints"])


def test_the_command_says_when_there_is_nothing(monkeypatch, capsys, tmp_path):
    text = (LAYOUTS / "corner-plot.toml").read_text(encoding="utf-8")
    bare = tmp_path / "bare.toml"
    bare.write_text(text.replace("on_hand = 60\n", "on_hand = 60\nlimit = 9\n"), encoding="utf-8")
    assert "No change" in run(monkeypatch, capsys, bare)
