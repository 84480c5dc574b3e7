"""What holds of the bound on units along and across one direction, whatever the ground."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_courses_laws import faces, grounds, joints

from bedplan.paving import best_courses, courses_along, upper_bound
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_mixed import mixed_bound
from bedplan.paving.free import lay_free

few = settings(max_examples=7, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@few
@given(grounds(), faces(), joints, st.floats(0, 180))
def test_no_courses_and_no_free_laying_of_one_frame_exceed_it(region, face, joint_m, angle):
    bound = mixed_bound(region, *face, joint_m, angle, time_limit_s=0.4)
    alike = mixed_bound(region, *face, joint_m, angle, both_ways=False, time_limit_s=0.4)
    along = best_courses(region, *face, joint_m, angle)
    across = best_courses(region, *face[::-1], joint_m, angle)
    assert along.count <= alike <= line_bound(region, *face, joint_m, angle)
    assert max(along.count, across.count) <= bound <= upper_bound(region, *face, joint_m)
    start = courses_along(region, *face, joint_m, [angle])
    free = lay_free(region, start, time_limit_s=0.3, enough=bound)
    turns = np.array([unit.turn_deg for unit in free.units])
    if np.all(np.abs((turns - angle + 45.0) % 90.0 - 45.0) < 1e-6):
        assert free.count <= bound
