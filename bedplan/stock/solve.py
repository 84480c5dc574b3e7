"""The search for a best plan, from quick to thorough (layer: engines, stock).

Heuristics and quick bounds settle most cut lists; only then is the solver loaded.
"""

from __future__ import annotations

from bedplan.stock.bounds import first_bounds
from bedplan.stock.heuristics import first_plans
from bedplan.stock.problem import Search


def solve(search: Search) -> None:
    """Search until the best plan is proven or the time is up."""
    first_bounds(search)
    first_plans(search)
    if search.open():
        from bedplan.stock.exact import prove  # noqa: PLC0415 - loads the solver, 0.08 s

        prove(search)
