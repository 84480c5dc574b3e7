"""Erosion and dilation against placing the kernel at points one by one."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import dilate, disc_kernel, erode, rectangle_kernel

RING = box(0, 0, 10, 8).difference(box(4, 3, 6, 5))
COMB = Polygon([(0, 0), (9, 0), (9, 6), (7, 6), (7, 2), (5, 2), (5, 6), (3, 6), (3, 2), (0, 5)])
POST_AND_STEM = box(0, 0, 8, 8).difference(
    shapely.union_all(
        [
            shapely.Point(3, 3).buffer(1.0),
            Polygon([(6, 5), (7, 6), (5.5, 7)]),
            Polygon([(1, 6), (3, 6), (3, 7), (2.5, 6.4), (1, 7)]),
        ]
    )
)
TWO = MultiPolygon([box(0, 0, 3, 3), Polygon([(5, 0), (9, 1), (6, 5)])])
SKEW_KERNEL = np.array([[-0.5, -0.4], [0.8, -0.3], [0.2, 0.9]])

REGIONS = {"ring": RING, "comb": COMB, "post and stem": POST_AND_STEM, "two": TWO}
KERNELS = {
    "unit": rectangle_kernel(1.4, 0.7),
    "triangle": SKEW_KERNEL,
    "disc": disc_kernel(0.6, outer=True, corners=12),
}


def kernels_at(kernel, points):
    return shapely.polygons(points[:, None, :] + kernel[None])


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_erosion_holds_just_the_points_where_the_kernel_fits(region, kernel):
    points = np.random.default_rng(7).uniform(-1, 11, (4000, 2))
    places = erode(region, kernel)
    sure = shapely.distance(shapely.points(points), places.boundary) > 1e-8
    fits = shapely.covers(region, kernels_at(kernel, points))
    inside = shapely.contains_xy(places, points)
    assert 0 < fits.sum() < len(points)
    np.testing.assert_array_equal(inside[sure], fits[sure])


@pytest.mark.parametrize("region", REGIONS.values(), ids=REGIONS)
@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_dilation_holds_just_the_points_a_kernel_reaches(region, kernel):
    # p is covered by the kernel at q when q = p - k: the mirrored kernel at p meets the region
    points = np.random.default_rng(8).uniform(-2, 12, (4000, 2))
    ground = dilate(region, kernel)
    sure = shapely.distance(shapely.points(points), ground.boundary) > 1e-8
    reached = shapely.intersects(region, kernels_at(-kernel, points))
    np.testing.assert_array_equal(shapely.contains_xy(ground, points)[sure], reached[sure])


def test_corners_of_an_eroded_rectangle_are_exact():
    places = erode(box(0, 0, 4, 3), rectangle_kernel(1, 0.5))
    assert places.equals(box(0.5, 0.25, 3.5, 2.75))


def test_thin_slivers_are_kept():
    # a walk 20 micrometres wider than its unit leaves a strip that wide
    places = erode(box(0, 0, 1.0 + 2e-5, 0.5 + 2e-5), rectangle_kernel(1.0, 0.5))
    assert places.area == pytest.approx(4e-10, rel=1e-3)


def test_nothing_left_is_an_empty_area():
    assert erode(box(0, 0, 1, 1), rectangle_kernel(1.1, 0.5)).is_empty
    assert erode(Polygon(), rectangle_kernel(1.1, 0.5)).is_empty
    assert dilate(Polygon(), rectangle_kernel(1.1, 0.5)).is_empty


def test_disc_kernels_lie_on_either_side_of_their_circle():
    inner, outer = (Polygon(disc_kernel(2.0, outer=flag)) for flag in (False, True))
    assert inner.area < np.pi * 4.0 < outer.area
    assert shapely.hausdorff_distance(inner, outer) < 0.011 * 2.0


@pytest.mark.parametrize(
    ("region", "kernel", "words"),
    [
        (shapely.LineString([(0, 0), (1, 1)]), rectangle_kernel(1, 1), "LineString"),
        (Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), rectangle_kernel(1, 1), "Self-intersection"),
        (box(0, 0, 4, 4), rectangle_kernel(1, 1) + 3.0, "reference point"),
        (box(0, 0, 4, 4), rectangle_kernel(1, 1)[::-1], "counter-clockwise"),
    ],
)
def test_what_cannot_be_eroded_is_refused(region, kernel, words):
    with pytest.raises(GeometryError, match=words):
        erode(region, kernel)
