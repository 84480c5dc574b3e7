"""Formation and base of paths, spoil, and tiers of boards on the low side."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon, box

from bedplan.errors import GeometryError
from bedplan.ground import (
    Room,
    bed_room,
    board_top,
    depths_between,
    dig_path,
    falling,
    formation_under,
    level,
    patch_of,
    profile,
    share_spoil,
    surface_of,
    tier_spans,
    tiers_needed,
)
from bedplan.model.ground import SOILS, Soil

YARD = box(0, 0, 8, 6)
FLAT = surface_of([], YARD)
WALK = box(0, 0, 5, 2)
FALL = falling((0, 0), 0.0, toward_deg=0.0, slope=0.02)


def test_a_parallel_formation_keeps_the_base_even():
    dig = dig_path(patch_of(FLAT, WALK), WALK, FALL, (0.1, 0.08), "parallel")
    base = dig.base
    assert (base.least_m, base.greatest_m, base.mean_m) == pytest.approx((0.1, 0.1, 0.1))
    assert base.volume_m3 == pytest.approx(1.0)
    # formation runs from 0.18 to 0.28 below the ground
    assert dig.work.cut_m3 == pytest.approx(10 * 0.23)
    assert dig.work.fill_m3 == 0
    assert dig.surface_work.fill_m3 == 0
    assert dig.surface_work.cut_m3 == pytest.approx(10 * 0.05)


def test_a_level_formation_makes_the_base_take_up_the_fall():
    dig = dig_path(patch_of(FLAT, WALK), WALK, FALL, (0.1, 0.08), "level")
    base = dig.base
    assert (base.least_m, base.greatest_m) == pytest.approx((0.1, 0.2))
    assert (base.least_at[0], base.greatest_at[0]) == (5, 0)
    assert base.volume_m3 == pytest.approx(10 * 0.15)
    assert dig.formation.slope == 0
    assert dig.work.cut_m3 == pytest.approx(10 * 0.28)


def test_ground_too_low_for_the_formation_is_made_up():
    ground = surface_of([(0, 0, 0.0), (8, 0, -1.6)], YARD)
    dig = dig_path(patch_of(ground, WALK), WALK, level(0.0), (0.3, 0.1), "parallel")
    # ground is 0.2 per metre down: formation at -0.4 meets it at x = 2
    assert dig.work.cut_m3 == pytest.approx(2 * 2 * 0.4 / 2)
    assert dig.work.fill_m3 == pytest.approx(2 * 3 * 0.6 / 2)


def test_depths_within_a_crooked_outline():
    l_shape = Polygon([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)])
    depths = depths_between(level(1.0), falling((0, 0), 0.5, 180.0, 0.1), l_shape)
    assert (depths.least_m, depths.greatest_m) == pytest.approx((0.1, 0.5))
    assert depths.volume_m3 == pytest.approx(7 * 0.5 - 0.1 * (4 * 2 + 3 * 0.5))
    with pytest.raises(GeometryError, match="no ground"):
        formation_under(level(0.0), Polygon(), 0.1, "level")


def test_room_in_a_bed_over_sloping_ground():
    ground = surface_of([(0, 0, 0.0), (4, 0, 0.2)], YARD)
    patch = patch_of(ground, box(0, 0, 4, 1))
    # soil may reach 0.1: a wedge from nought to 0.1 over the lower half
    assert bed_room(patch, 0.15, 0.05) == pytest.approx(2 * 0.1 / 2)
    assert bed_room(patch, -1.0) == 0


def test_spoil_goes_to_rolled_fill_then_beds_then_away():
    soil = Soil("clay loam", 1.3, 0.9)
    spoil = share_spoil(5.0, 1.8, soil, [Room("a", 1.5), Room("b", -0.2), Room("c", 1.0)])
    assert spoil.rolled_m3 == pytest.approx(2.0)
    assert spoil.loose_m3 == pytest.approx(3.9)
    assert [room.room_m3 for room in spoil.taken] == pytest.approx([1.5, 0, 1.0])
    assert spoil.cart_m3 == pytest.approx(1.4)
    assert not spoil.fits
    assert spoil.loads(0.7) == 2
    assert spoil.loads(0.69) == 3
    assert spoil.wanting_m3 == 0


def test_all_spoil_fits_in_a_deep_bed():
    spoil = share_spoil(1.0, 0.0, SOILS["loam"], [Room("a", 10.0)])
    assert spoil.fits
    assert spoil.loads(1.0) == 0
    assert spoil.taken[0].room_m3 == pytest.approx(1.25)


def test_fill_that_the_digging_cannot_make_is_wanting():
    spoil = share_spoil(1.0, 2.0, SOILS["loam"])
    assert spoil.wanting_m3 == pytest.approx(1.1)
    assert (spoil.rolled_m3, spoil.loose_m3, spoil.cart_m3) == (1.0, 0.0, 0.0)


RAMP = surface_of([(0, 0, 0.0), (2, 0, 0.0), (8, 0, -0.6)], YARD)


def test_a_profile_bends_where_the_ground_does():
    assert [(round(s, 9), round(z, 9)) for s, z in profile(RAMP, ((1, 1), (7, 1)))] == [
        (0, 0),
        (1, 0),
        (6, -0.5),
    ]
    with pytest.raises(GeometryError, match="no length"):
        profile(RAMP, ((1, 1), (1, 1)))


def test_tiers_step_where_the_ground_passes_the_next_board():
    spans = tiers_needed(RAMP, ((0, 1), (8, 1)), top_m=0.1, board_height_m=0.2, bury_m=0.05)
    # the board bottom must lie 0.05 under ground: one board to ground -0.05, two to -0.25
    steps = [(span.start_m, span.end_m, span.tiers) for span in spans]
    assert [tiers for *_, tiers in steps] == [1, 2, 3, 4]
    assert [end for _, end, _ in steps] == pytest.approx([2.5, 4.5, 6.5, 8.0])
    assert steps[0][0] == 0
    assert tier_spans(spans, 1) == ((0.0, 8.0),)
    assert tier_spans(spans, 3) == (pytest.approx((4.5, 8.0)),)
    assert tier_spans(spans, 5) == ()


def test_a_hollow_needs_its_second_tier_twice():
    waves = [(0, 0, -0.3), (2, 0, 0.0), (4, 0, 0.0), (6, 0, -0.3)]
    spans = tiers_needed(surface_of(waves, YARD), ((6, 3), (0, 3)), 0.0, 0.15)
    assert [span.tiers for span in spans] == [2, 1, 2]
    assert tier_spans(spans, 2) == (pytest.approx((0.0, 1.0)), pytest.approx((5.0, 6.0)))


def test_level_ground_needs_one_board_however_deep_it_is_buried_to_its_edge():
    spans = tiers_needed(FLAT, ((0, 0), (8, 0)), 0.1, 0.14, 0.04)
    assert [(span.start_m, span.end_m, span.tiers) for span in spans] == [(0, 8, 1)]
    (above,) = tiers_needed(FLAT, ((0, 0), (8, 0)), -0.5, 0.14)
    assert above.tiers == 1
    with pytest.raises(GeometryError, match="without height"):
        tiers_needed(FLAT, ((0, 0), (8, 0)), 0.1, 0.0)


def test_the_board_top_clears_the_highest_ground():
    runs = [((0, 0), (4, 0)), ((4, 0), (8, 0))]
    assert board_top(RAMP, runs, 0.05) == pytest.approx(0.05)
    assert board_top(RAMP, runs[1:], 0.05) == pytest.approx(-0.15)
    with pytest.raises(GeometryError, match="no run"):
        board_top(RAMP, [])
