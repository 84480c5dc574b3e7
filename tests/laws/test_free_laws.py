"""What holds of every free laying, whatever the ground and whatever it starts from.

The clock decides how far a search comes, so two runs may differ; none of these laws may break.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_courses_laws import faces, grounds

from bedplan.paving import (
    basket_weave,
    best_shift,
    courses_along,
    herringbone,
    running,
    upper_bound,
)
from bedplan.paving.free import lay_free

laws = settings(max_examples=18, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def starts(draw):
    """Ground, a laying of it in courses or a bond, perhaps with many units taken up again."""
    region, face = draw(grounds()), draw(faces())
    joint_m = draw(st.sampled_from([0.0, 0.003, 0.0127, 0.04]))
    make = draw(st.sampled_from([None, running, herringbone, basket_weave]))
    laying = (
        courses_along(region, *face, joint_m)
        if make is None
        else best_shift(region, make(*face), joint_m, draw(st.floats(0, 180)))
    )
    kept = laying.units[:: draw(st.sampled_from([1, 1, 2, 5]))]
    return region, replace(laying, units=kept, faces=(0,) * len(kept))


@laws
@given(starts(), st.integers(0, 9))
def test_free_laying_is_sound_and_never_fewer(drawn, seed):
    region, start = drawn
    face, joint_m = start.bond.faces[0], start.joint_m
    most = upper_bound(region, *face, joint_m)
    told = []
    laying = lay_free(
        region,
        start,
        time_limit_s=0.25,
        enough=most,
        progress=lambda share, count: told.append((share, count)),
        seed=seed,
    )
    assert start.count <= laying.count <= most
    assert told == sorted(told)
    assert all(
        0.0 <= share < 1.0 and start.count <= count <= laying.count for share, count in told
    )
    if laying.count == start.count:
        assert laying is start
    else:
        assert laying.bond.name == "free"
        assert laying.proven == (laying.count == most)
    units = laying.outlines()
    assert np.allclose(shapely.area(units), face[0] * face[1])
    assert np.all(shapely.covers(region.buffer(3e-5), units))
    first, second = shapely.STRtree(units).query(units, "dwithin", joint_m + 1e-6)
    first, second = first[first < second], second[first < second]
    assert np.all(shapely.distance(units[first], units[second]) >= joint_m - 1e-7)
    overlap = shapely.intersection(units[first], units[second], grid_size=1e-9)
    assert np.all(shapely.area(overlap) <= 1e-7 * max(face))
