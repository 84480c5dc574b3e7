"""Free laying: it gains where it must, keeps what it has, and stops when it is told to."""

from __future__ import annotations

import itertools
import random
import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from bedplan.paving import (
    best_courses,
    best_shift,
    courses_along,
    herringbone,
    pinwheel,
    stack,
    upper_bound,
)
from bedplan.paving.free import lay_free
from bedplan.paving.free_ground import Ground
from bedplan.paving.free_patches import relaid
from bedplan.paving.free_windows import exchanged

CROOKED = Polygon([(0, 0), (3.1, 0.2), (2.8, 1.3), (1.7, 1.1), (1.9, 2.6), (0.3, 2.2)])


class Told:
    """A listener that keeps what it is told, and breaks off after so many steps."""

    def __init__(self, steps=None):
        self.steps, self.shares, self.counts = steps, [], []

    def __call__(self, share, count):
        self.shares.append(share)
        self.counts.append(count)
        if len(self.counts) == self.steps:
            raise KeyboardInterrupt


def window_step(ground, units, chance):
    return exchanged(ground, units, 2.5, chance, lambda: False)


def poor(laying, keep=1):
    """Return a laying with its first units alone."""
    return replace(laying, units=laying.units[:keep], faces=laying.faces[:keep])


def least_gap(laying):
    units = laying.outlines()
    gaps = shapely.distance(units[:, None], units[None])
    return gaps[~np.eye(len(units), dtype=bool)].min()


def test_a_bare_yard_with_one_unit_is_filled():
    # sixteen slabs and their joints go into two metres, four by four, and no fifth row
    yard = box(0, 0, 2.0, 2.0)
    start = poor(best_courses(yard, 0.4, 0.4, 0.1))
    laying = lay_free(yard, start, time_limit_s=20.0, enough=16)
    assert (start.count, laying.count, laying.proven, laying.bond.name) == (1, 16, True, "free")
    assert laying.joint_m == 0.1
    assert least_gap(laying) >= 0.1 - 3e-5
    assert np.all(shapely.covers(yard.buffer(3e-5), laying.outlines()))


def test_units_turned_to_each_other_beat_all_courses():
    # By hand: 5 rows of 2 bricks 2 by 1 in a square of 5 by 5, the rest one wide; two more
    # bricks go into that strip, across the rows. Straight courses hold 10 at most.
    square = box(0, 0, 1.25, 1.25)
    courses = courses_along(square, 0.5, 0.25, 0.0)
    laying = lay_free(square, courses, time_limit_s=20.0, enough=12)
    assert (courses.count, laying.count) == (10, 12)
    assert upper_bound(square, 0.5, 0.25, 0.0) == 12
    assert {round(unit.turn_deg) for unit in laying.units} == {0, 90}


def test_spots_nearer_than_a_joint_are_laid_with_regard_to_each_other():
    # a board 5 mm thick between two beds of one slab each, joints of 30 mm: one slab only
    ground = MultiPolygon([box(0, 0, 0.4, 0.4), box(0.405, 0, 0.805, 0.4)])
    start = best_courses(ground, 0.4, 0.4, 0.03)
    assert start.count == 1
    assert lay_free(ground, start, time_limit_s=10.0, progress=Told(20)) is start
    apart = MultiPolygon([box(0, 0, 0.4, 0.4), box(0.43, 0, 0.83, 0.4)])
    assert lay_free(apart, start, time_limit_s=10.0, enough=2).count == 2


@pytest.mark.parametrize("steps", [1, 2, 15])
def test_an_interrupted_search_keeps_the_best_so_far(steps):
    told = Told(steps)
    start = poor(best_courses(CROOKED, 0.3, 0.15, 0.01), 4)
    laying = lay_free(CROOKED, start, time_limit_s=60.0, progress=told)
    assert len(told.counts) == steps
    assert laying.count == told.counts[-1]
    assert (laying is start) == (told.counts[-1] == 4)
    assert told.counts[0] == 4
    assert not laying.proven or laying is start


def test_progress_is_told_in_order_and_within_the_time():
    told = Told()
    began = time.monotonic()
    start = poor(best_courses(CROOKED, 0.3, 0.15, 0.01), 4)
    laying = lay_free(CROOKED, start, time_limit_s=0.5, progress=told)
    assert time.monotonic() - began < 5.0
    assert told.shares == sorted(told.shares)
    assert 0.0 <= told.shares[0] < 0.5
    assert told.shares[-1] < 1.0
    assert told.counts == sorted(told.counts)
    assert laying.count >= told.counts[-1] > 4


def test_enough_ends_the_search_at_once():
    told = Told()
    start = best_courses(CROOKED, 0.3, 0.15, 0.01)
    assert lay_free(CROOKED, start, enough=start.count, progress=told) is start
    assert lay_free(CROOKED, start, enough=start.count - 3, progress=told) is start
    assert not told.counts
    began = time.monotonic()
    less = lay_free(CROOKED, poor(start), time_limit_s=60.0, enough=10)
    assert less.count >= 10
    assert less.proven  # whoever says that ten cannot be beaten is believed
    assert time.monotonic() - began < 10.0


def test_without_time_nothing_is_tried():
    start = poor(best_courses(CROOKED, 0.3, 0.15, 0.01))
    assert lay_free(CROOKED, start, time_limit_s=0.0) is start


def test_two_faces_no_units_and_no_ground_come_back_as_they_are():
    two = best_shift(CROOKED, pinwheel(0.4, 0.2), 0.0)
    assert two.count > 5
    assert lay_free(CROOKED, two, time_limit_s=5.0) is two
    none = best_shift(CROOKED, stack(4.0, 4.0), 0.0)
    assert lay_free(CROOKED, none, time_limit_s=5.0) is none


def test_the_same_seed_takes_the_same_steps():
    # by the clock two runs may differ; stopped after as many steps they may not
    start = poor(best_shift(CROOKED, herringbone(0.3, 0.15), 0.01), 20)

    def run(seed):
        return lay_free(CROOKED, start, time_limit_s=60.0, progress=Told(20), seed=seed)

    assert run(1) == run(1)
    assert run(1).bond.name == "free"


@pytest.mark.parametrize("step", [window_step, relaid], ids=["window", "patch"])
def test_a_step_is_decided_by_its_seed_and_loses_no_unit(step):
    laying = best_shift(CROOKED, herringbone(0.3, 0.15), 0.01)
    ground = Ground(CROOKED, 0.3, 0.15, 0.01, laying.direction_deg)
    once, again, other = (
        step(ground, list(laying.units), random.Random(seed)) for seed in (5, 5, 6)
    )
    assert once == again != other
    assert min(len(once), len(other)) >= laying.count


def test_a_search_by_an_injected_clock_ends_when_its_time_is_up(monkeypatch):
    # every look at the clock costs a second: so many looks, and no more, are paid for
    ticks = itertools.count()
    monkeypatch.setattr("bedplan.paving.free.monotonic", lambda: float(next(ticks)))
    told = Told()
    start = poor(best_courses(CROOKED, 0.3, 0.15, 0.01), 4)
    laying = lay_free(CROOKED, start, time_limit_s=40.0, progress=told)
    assert told.shares == sorted(told.shares)
    assert told.shares[-1] < 1.0
    assert 5 <= len(told.shares) <= 40
    assert 40 <= next(ticks) <= 45
    assert laying.count > start.count


def test_the_name_the_face_and_the_first_unit_are_those_of_the_result():
    start = poor(best_courses(CROOKED, 0.3, 0.15, 0.01), 4)
    laying = lay_free(CROOKED, start, time_limit_s=60.0, progress=Told(30))
    assert laying.bond.faces == ((0.3, 0.15),)
    assert laying.shift_m == laying.units[0][:2]
    assert laying.paved_area_m2 == pytest.approx(laying.count * 0.045)
