"""A layout worked out, complete and frozen, for outputs to read (layer: plan)."""

from bedplan.plan.make import Plan, make_plan
from bedplan.plan.sawn import BarrierPlan, BoardPlan
from bedplan.plan.walk import FreeSearch, Walk

__all__ = ["BarrierPlan", "BoardPlan", "FreeSearch", "Plan", "Walk", "make_plan"]
