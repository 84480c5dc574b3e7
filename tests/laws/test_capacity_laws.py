"""What is remembered of grounds never says otherwise than laying each ground anew."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import shapely
from gardens import garden, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.model.layout import PathSpec, Paving, Rest
from bedplan.model.materials import Paver
from bedplan.paving import best_laying, courses_along
from bedplan.plan.bonding import bond_of, directions_of, units_of
from bedplan.plan.capacity import Capacity
from bedplan.site import resolve

laws = settings(max_examples=40, deadline=None)

YARD = rectangle(3.0, 2.0)
UNIT = Paver("unit", 0.4, 0.2, 0.05)

ways = st.sampled_from(
    [("stack", "best"), ("running", "best"), ("courses", "best"), ("herringbone", "AB")]
)
holes = st.tuples(st.integers(0, 5), st.integers(0, 4), st.integers(1, 3), st.integers(1, 3))


@lru_cache(maxsize=8)
def path_in(bond, direction):
    paving = Paving("unit", bond=bond, direction=direction, joint_m=(0.01, 0.03))
    path = PathSpec("walk", Rest(), paving=paving)
    layout = garden(YARD, [], [path], pavers={"unit": UNIT})
    return layout, resolve(layout)


@st.composite
def grounds(draw):
    """Some grounds of one yard, most of them inside others: boxes with a hole, at times parted."""
    made = []
    for _ in range(draw(st.integers(1, 6))):
        wide, high = draw(st.integers(4, 10)), draw(st.integers(3, 8))
        x, y, dx, dy = draw(holes)
        skew = 0.1 * draw(st.integers(0, 1))
        right, top = 0.3 * wide, 0.25 * high
        box = shapely.Polygon([(0, 0), (right, 0), (right - skew, top), (0, top)])
        hole = shapely.box(0.3 * x, 0.25 * y, 0.3 * (x + dx), 0.25 * (y + dy))
        pieces = shapely.get_parts(shapely.difference(box, hole))
        made.append(tuple(piece for piece in pieces if piece.area > 1e-6))
    return [pieces for pieces in made if pieces]


def count_in(layout, site, polygon):
    """Return the count of one piece laid afresh, by the engine alone."""
    paving = layout.paths[0].paving
    units = units_of(layout, paving)
    angles, joint_m = directions_of(site, paving, polygon), paving.joint_m[0]
    bond = bond_of(layout, paving, units)
    if bond is None:
        return courses_along(polygon, UNIT.length_m, UNIT.width_m, joint_m, angles).count
    return best_laying(polygon, bond, joint_m, angles).count


@laws
@given(ways, grounds(), st.lists(st.integers(-2, 2), min_size=6, max_size=6), st.randoms())
def test_answers_do_not_depend_on_what_was_asked_before(way, made, offs, chance):
    layout, site = path_in(*way)
    capacity = Capacity(layout, site, site.paths[0])
    counts = [sum(count_in(layout, site, piece) for piece in ground) for ground in made]
    asked = list(zip(made, counts, offs[: len(made)], strict=True))
    for ground, count, off in asked:
        assert capacity.exceeds(ground, count + off) == (off < 0)
    chance.shuffle(asked)
    for ground, count, off in asked:
        assert capacity.most(ground, max(count + off, 0)) == max(count, count + off)
        assert capacity.most(ground) == count


@laws
@given(ways, grounds())
def test_pieces_are_laid_as_the_path_would_be(way, made):
    layout, site = path_in(*way)
    capacity = Capacity(layout, site, site.paths[0])
    for ground in made:
        for piece, walk in zip(ground, capacity.laid(ground), strict=True):
            assert walk.count >= count_in(layout, site, piece)
            held = piece.buffer(3e-5)
            assert all(held.covers(outline) for outline in walk.outlines)


def test_a_larger_ground_answers_for_a_smaller_without_laying_it(monkeypatch):
    layout, site = path_in("running", "best")
    capacity = Capacity(layout, site, site.paths[0])
    large, small = shapely.box(0, 0, 2, 1), shapely.box(0.1, 0.1, 1.9, 0.9)
    count = capacity.most([large])
    assert capacity.most([small]) > 0
    monkeypatch.setattr(Capacity, "_along", None)
    assert not capacity.exceeds([shapely.box(0, 0, 1.95, 0.95)], count)
    assert capacity.exceeds([shapely.box(0.05, 0, 1.95, 0.95)], capacity.most([small]) - 1)


def test_posts_need_not_be_cleared_twice():
    layout, site = path_in("stack", "best")
    ground = shapely.box(0, 0, 1.0, 1.0)
    bare = Capacity(layout, replace(site, posts=()), site.paths[0])
    assert Capacity(layout, site, site.paths[0]).most([ground]) == bare.most([ground]) == 8
