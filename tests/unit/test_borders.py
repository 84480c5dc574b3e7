"""Margins are told by the bed or the side of the fence they run along."""

from __future__ import annotations

import pytest
from gardens import bed, garden, rectangle

from bedplan.model.layout import Centerline, PathSpec, Paving, Rest
from bedplan.model.materials import Paver
from bedplan.outputs.record import record
from bedplan.plan import make_plan

PAVERS = {"slab": Paver("slab", 0.4, 0.4, 0.05)}


def along(layout):
    rows = record(make_plan(layout))["paths"]
    return {
        row["name"]: sorted(
            (each["along"] or "", round(each["least_m"], 3)) for each in row["margins"]
        )
        for row in rows
    }


def test_beds_and_fence_sides_are_named():
    # 3 m less a bed of 0.6 m leave six slabs of 0.4 m exactly; 2.1 m leave 5 cm at each end
    border = bed("border", [(2.4, 0), (3, 0), (3, 2.1), (2.4, 2.1)])
    walk = PathSpec("walk", Rest(), paving=Paving("slab"))
    found = along(garden(rectangle(3, 2.1), [border], [walk], pavers=PAVERS))
    assert [name for name, _ in found["walk"]] == ["AB", "CD", "DA", "border"]
    assert [gap for _, gap in found["walk"]] == pytest.approx([0.05, 0.05, 0.0, 0.0], abs=1e-3)


def test_a_side_beside_another_path_has_no_name():
    drawn = PathSpec("drawn", Centerline(((0.5, 0), (0.5, 2)), 0.8), paving=Paving("slab"))
    walk = PathSpec("walk", Rest())
    found = along(garden(rectangle(3, 2), [], [drawn, walk], pavers=PAVERS))
    assert [name for name, _ in found["drawn"]] == ["", "", "AB", "CD"] or [
        name for name, _ in found["drawn"]
    ] == ["", ""]
