"""Plants at a spacing against exact densities and published practice.

Figures are exact identities unless a document is named.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from gardens import FOOT, INCH, garden, rectangle
from shapely.geometry import box

from bedplan import make_plan
from bedplan.layout_file import parse_layout
from bedplan.model.layout import Layer, Outline, PathSpec, Plant
from bedplan.model.materials import Material
from bedplan.paving.points import best_points, plants_per_m2
from bedplan.practice.roots import critical_radius_m

FOOT2 = FOOT**2


@pytest.mark.parametrize(
    ("grid", "spacing_in", "per_ft2"),
    [
        # P01, exact: 144 / s² plants per ft² of a square grid
        *(
            ("square", *pair)
            for pair in zip(
                (4, 6, 8, 10, 12, 15, 18, 24),
                (9, 4, 2.25, 1.44, 1, 0.64, 0.4444, 0.25),
                strict=True,
            )
        ),
        # P02, exact: 144 / (s² √3 / 2) of a triangular one
        *(
            ("triangular", *pair)
            for pair in zip(
                (6, 8, 10, 12, 15, 18, 24),
                (4.6188, 2.5981, 1.6628, 1.1547, 0.739, 0.5132, 0.2887),
                strict=True,
            )
        ),
    ],
)
def test_plants_per_square_foot(grid, spacing_in, per_ft2):
    density = plants_per_m2(spacing_in * INCH, grid)
    assert density * FOOT2 == pytest.approx(per_ft2, abs=1e-4)
    # and a large bed comes to it: the edge costs or gains a row at most on every side
    side_m = 40 * spacing_in * INCH
    bed = box(0, 0, side_m, side_m)
    found = best_points(bed, spacing_in * INCH, grid, spacing_in * INCH / 2, [0.0])
    assert found.proven
    assert len(found.points) / side_m**2 == pytest.approx(density, rel=0.03)


def test_a_triangular_grid_gains_fifteen_per_cent():
    # P03, ICAR/IASRI agricultural e-course, orchard layout, hexagonal system, 2012: 15 % more
    gain = plants_per_m2(1.0, "triangular") / plants_per_m2(1.0, "square") - 1.0
    assert 100 * gain == pytest.approx(15, abs=0.5)


@pytest.mark.parametrize(("grid", "count"), [("square", 32), ("triangular", 30)])
def test_a_bed_of_four_by_eight_feet(grid, count):
    # P09, exact geometry: 12 in, half of it at the edge, rows along the bed, 8/7/8/7
    found = best_points(box(0, 0, 8 * FOOT, 4 * FOOT), FOOT, grid, FOOT / 2, [0.0])
    assert (len(found.points), found.proven) == (count, True)
    rows = np.unique(np.round([y for _, y in found.points], 6), return_counts=True)[1]
    assert sorted(rows.tolist()) == ([8] * 4 if grid == "square" else [7, 7, 8, 8])


def test_rows_across_that_bed_hold_two_more():
    # the same bed with its rows across: nine of them, 10.392 in apart, 4/3/4/3/4/3/4/3/4
    found = best_points(box(0, 0, 8 * FOOT, 4 * FOOT), FOOT, "triangular", FOOT / 2, [0.0, 90.0])
    assert (len(found.points), found.direction_deg) == (32, 90.0)
    assert 1 + math.floor(84 / (12 * math.sqrt(0.75))) == 9


CROOKED = shapely.Polygon([(0, 0), (2.2, 0.2), (2.0, 1.5), (1.1, 0.9), (0.2, 1.3)])


@pytest.mark.parametrize("grid", ["square", "triangular"])
@pytest.mark.parametrize("direction_deg", [0.0, 17.0])
def test_no_shift_tried_one_by_one_holds_more(grid, direction_deg):
    # brute force: 60 × 60 shifts over one cell of the lattice
    spacing_m, edge_m = 0.31, 0.11
    found = best_points(CROOKED, spacing_m, grid, edge_m, [direction_deg])
    assert found.proven
    inner = CROOKED.buffer(-edge_m, quad_segs=64)
    turn = math.radians(direction_deg)
    along = np.array([math.cos(turn), math.sin(turn)])
    across = np.array([-math.sin(turn), math.cos(turn)])
    up = across if grid == "square" else 0.5 * along + math.sqrt(0.75) * across
    count = np.arange(-12, 13)
    sites = (count[:, None, None] * along + count[None, :, None] * up).reshape(-1, 2) * spacing_m
    steps = (np.arange(60) / 60.0).tolist()
    most = max(
        int(
            shapely.intersects_xy(inner, *(sites + spacing_m * (one * along + other * up)).T).sum()
        )
        for one in steps
        for other in steps
    )
    assert len(found.points) >= most > 0


@pytest.mark.parametrize("grid", ["square", "triangular"])
def test_plants_keep_their_distances(grid):
    # first principles: the spacing from each other, the edge distance from boards, rings kept
    ring = shapely.Point(0.8, 0.6).buffer(0.2)
    found = best_points(CROOKED, 0.2, grid, 0.1, [0.0, 30.0], [ring])
    points = shapely.points(found.points)
    apart = shapely.distance(points[:, None], points[None, :])
    assert apart[~np.eye(len(points), dtype=bool)].min() == pytest.approx(0.2)
    assert shapely.distance(points, CROOKED.exterior).min() > 0.1 - 3e-5
    assert shapely.distance(points, ring).min() >= 0.0
    assert not shapely.contains_properly(ring.buffer(-3e-5), points).any()


PLANTED = """\
title = "Y"
unit = "ft"
[enclosure]
corners = { A = [0, 0], B = [20, 0], C = [20, 12], D = [0, 12] }
[[bed]]
name = "herbs"
polygon = [[4, 4], [12, 4], [12, 8], [4, 8]]
[[planting]]
bed = "herbs"
kind = "thyme"
spacing = "12 in"
pattern = "square"
direction = "AB"
price = 2.5
on_hand = 12
"""


def test_a_planting_is_counted_ordered_and_recorded():
    # P09 again, through the whole plan
    plan = make_plan(parse_layout(PLANTED))
    (part,) = plan.planted
    assert (part.count, part.proven, part.direction_deg) == (32, True, 0.0)
    (line,) = plan.order.lines
    assert (line.group, line.item, line.quantity, line.cost) == (
        "Plants",
        "thyme for herbs",
        20,
        50,
    )
    triangular = PLANTED.replace('pattern = "square"\ndirection = "AB"\n', "")
    assert make_plan(parse_layout(triangular)).planted[0].count == 32
    wide = PLANTED.replace("price", 'edge = "3 ft"\nprice')
    assert make_plan(parse_layout(wide)).planted[0].count == 0


@pytest.mark.parametrize(("inches", "feet"), [(1, 1), (10, 10)])
def test_root_protection_radius(inches, feet):
    # Vancouver (Washington) Municipal Code 20.170.100: each inch of trunk is a foot of radius
    assert critical_radius_m(inches * INCH) / FOOT == pytest.approx(feet)


@pytest.mark.parametrize(
    ("stem_in", "layers", "existing", "told"),
    [(5, True, True, True), (3.9, True, True, False), (5, False, True, False)],
)
def test_digging_among_roots_is_a_finding(stem_in, layers, existing, told):
    # the same code: 4 ft from the path is within 5 in of trunk, and not within 3.9 in
    walk = PathSpec(
        "walk",
        Outline(tuple((x * FOOT, y * FOOT) for x, y in [(0, 0), (20, 0), (20, 3), (0, 3)])),
        layers=(Layer("rock", 0.1),) if layers else (),
    )
    tree = Plant("oak", (10 * FOOT, 7 * FOOT), stem_in * INCH, existing=existing)
    plan = make_plan(
        garden(
            rectangle(20 * FOOT, 12 * FOOT),
            [],
            [walk],
            plants=(tree,),
            materials={"rock": Material("rock")},
        )
    )
    found = [finding for finding in plan.findings if finding.rule == "root-zone"]
    assert bool(found) is told
    for finding in found:
        assert finding.where == "walk, oak"
        assert "5' to 7' 6\"" in finding.limit
