"""Very large regions: slabs are sampled, the count stays close and nothing is claimed."""

from __future__ import annotations

import shapely

from bedplan.paving import best_shift, shift, stack
from bedplan.paving.deepest import deepest


def test_a_small_effort_loses_little_and_claims_no_proof(monkeypatch):
    beds = [shapely.box(x, y, x + 2.3, y + 1.1) for x in range(1, 40, 4) for y in range(1, 30, 3)]
    yard = shapely.Polygon([(0, 0), (41, 0.3), (40.6, 31), (0.2, 30.7)])
    yard = yard.difference(
        shapely.union_all(
            [shapely.affinity.rotate(bed, 0.7 * i % 5) for i, bed in enumerate(beds)]
        )
    )
    full = best_shift(yard, stack(0.4, 0.4), 0.01)
    monkeypatch.setattr(
        shift, "deepest", lambda *args, **names: deepest(*args, **names | {"effort": 40_000})
    )
    shift.unit_places.cache_clear()
    quick = best_shift(yard, stack(0.4, 0.4), 0.01)
    assert full.proven
    assert not quick.proven
    assert 0.98 * full.count <= quick.count <= full.count
