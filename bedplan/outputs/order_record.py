"""An order as plain data in SI units, for ``--json`` (layer: outputs)."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from bedplan.outputs.tables_loads import loads_of
from bedplan.plan import Plan
from bedplan.practice.goods import beside_published


def order_record(plan: Plan) -> dict[str, Any]:
    """Return an order's lines, totals, leftovers and loads."""
    order = plan.order
    return {
        "title": plan.layout.title,
        "order": [asdict(line) for line in order.lines],
        "groups": [asdict(group) for group in order.groups],
        "cost": order.cost,
        "tax": order.tax,
        "cost_with_tax": order.total,
        "missing_prices": list(order.missing),
        "surplus": [asdict(left) for left in order.surplus],
        "loads": [asdict(load) for load in loads_of(plan)],
    }


def published_record(plan: Plan) -> list[dict[str, Any]]:
    """Return materials of a known kind with the published figures beside the file's."""
    return [{**asdict(each), "agrees": each.agrees} for each in beside_published(plan.layout)]
