"""Ground is neither lost nor counted twice, whatever the fence and the beds."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from gardens import garden, moved, rectangle, total_area
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st
from strategies import angles, fences, gardens, rings, shapes, tape

from bedplan.errors import LayoutError
from bedplan.model.layout import (
    AlongSides,
    BedSpec,
    Centerline,
    EnclosureSpec,
    Outline,
    PathSpec,
    Rest,
    SidePoint,
)
from bedplan.site import find_faults, resolve

laws = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
CLOSE_M2 = 1e-5
"""Slivers under a square millimetre are dropped; a dozen of them make no more than this."""


def assert_closed(site):
    grounds = [
        *(bed.outline for bed in site.beds),
        *(path.area for path in site.paths),
        site.spare,
    ]
    assert total_area(grounds) == pytest.approx(site.enclosure.area_m2, abs=CLOSE_M2)
    # equal sums could hide an overlap and a hole: what all of it covers must be as much
    covered = shapely.union_all([ground for ground in grounds if not ground.is_empty])
    assert covered.area == pytest.approx(site.enclosure.area_m2, abs=CLOSE_M2)
    assert shapely.difference(covered, site.enclosure.polygon).area < CLOSE_M2


@laws
@given(gardens())
def test_beds_paths_and_spare_tile_the_enclosure(layout):
    event(f"{len(layout.beds)} beds")
    site = resolve(layout)
    assert len(site.beds) == len(layout.beds)
    assert_closed(site)
    assert_closed(resolve(replace(layout, paths=())))


@laws
@given(
    gardens(most_beds=2),
    st.lists(st.tuples(tape(-100, 100), tape(-100, 100)), min_size=2, max_size=3, unique=True),
    tape(12, 48),
    rings(most_in=60),
)
def test_drawn_paths_tile_it_too(layout, line, width, ring):
    drawn = [
        PathSpec("line", Centerline(tuple(line), width)),
        PathSpec("area", Outline(tuple(ring))),
    ]
    kept = []
    for path in drawn:
        if not find_faults(replace(layout, paths=(*kept, path))):
            kept.append(path)
    event(f"{len(kept)} drawn paths")
    assert_closed(resolve(replace(layout, paths=tuple(kept))))
    with_rest = replace(layout, paths=(PathSpec("rest", Rest()), *kept))
    if not find_faults(with_rest):
        site = resolve(with_rest)
        assert_closed(site)
        assert site.spare.area < CLOSE_M2


@laws
@given(gardens())
def test_the_fence_may_be_listed_either_way(layout):
    corners = layout.enclosure.corners
    other = replace(layout, enclosure=EnclosureSpec(corners[::-1]))
    one, two = resolve(layout), resolve(other)
    assert two.enclosure.area_m2 == pytest.approx(one.enclosure.area_m2)
    for a, b in zip(one.beds, two.beds, strict=True):
        assert shapely.symmetric_difference(a.outline, b.outline).area < CLOSE_M2
    for a, b in zip(one.paths, two.paths, strict=True):
        assert a.area.area == pytest.approx(b.area.area, abs=CLOSE_M2)


@laws
@given(gardens(), angles, tape(-4000, 4000), tape(-4000, 4000))
def test_the_file_may_put_the_origin_anywhere(layout, angle, dx, dy):
    assert not find_faults(layout)
    one, two = resolve(layout), resolve(moved(layout, angle, dx, dy))
    for a, b in zip(one.beds, two.beds, strict=True):
        assert a.outline.area == pytest.approx(b.outline.area, abs=CLOSE_M2)
        assert a.outline.length == pytest.approx(b.outline.length, abs=1e-4)
    assert total_area([p.area for p in two.paths]) == pytest.approx(
        total_area([p.area for p in one.paths]), abs=CLOSE_M2
    )


@laws
@given(fences, st.data())
def test_any_wish_is_drawn_or_refused_in_words(points, data):
    spec = garden(rectangle(1, 1)).enclosure
    names = "ABCDEFGH"[: len(points)]
    spec = EnclosureSpec(tuple(zip(names, points, strict=True)))
    wishes = data.draw(st.lists(shapes(names, ()), min_size=1, max_size=4))
    layout = garden(spec, [BedSpec(f"b{i}", wish, "pine") for i, wish in enumerate(wishes)])
    for fault in find_faults(layout):
        assert fault.got
        assert fault.wanted
        assert fault.remedy
        assert fault.path


@laws
@given(st.lists(st.tuples(st.integers(-3, 3), st.integers(-3, 3)), min_size=0, max_size=6))
def test_any_fence_is_drawn_or_refused(points):
    spec = EnclosureSpec(tuple(zip("ABCDEF", points, strict=False)))
    layout = garden(spec, paths=())
    if find_faults(layout):
        with pytest.raises(LayoutError):
            resolve(layout)
        return
    enclosure = resolve(layout).enclosure
    assert enclosure.polygon.is_valid
    assert enclosure.area_m2 > 0


@laws
@given(fences, fences, st.floats(0, 1), tape(0, 60), tape(10, 30))
def test_tied_things_follow_a_measured_fence(before, after, share, deep, width):
    assume(len(before) == len(after))
    names = "ABCDEFGH"[: len(before)]
    specs = [EnclosureSpec(tuple(zip(names, points, strict=True))) for points in (before, after)]
    short = min(resolve(garden(spec, paths=())).enclosure.side("BC").length_m for spec in specs)
    tied = SidePoint("BC", share * short, deep)
    layout = garden(specs[0], [BedSpec("border", AlongSides(("BC",), width), None)], paths=())
    for spec in specs:
        side = resolve(garden(spec, paths=())).enclosure.side("BC")
        measured = replace(layout, enclosure=spec)
        if find_faults(measured):
            continue
        outline = resolve(measured).beds[0].outline
        fence_line = shapely.LineString([side.start, side.end])
        # the border lies along the whole side, as deep as asked
        assert outline.buffer(1e-6).intersection(fence_line).length == pytest.approx(
            side.length_m, abs=1e-5
        )
        at = side.point(tied.along_m, tied.in_m)
        assert side.line.station(at) == pytest.approx(tied.along_m, abs=1e-9)
        assert abs(side.line.left_of(at)) == pytest.approx(tied.in_m, abs=1e-9)
