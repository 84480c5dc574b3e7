"""A layout worked out, complete and frozen, for outputs to read (layer: plan)."""

from bedplan.plan.make import BarrierPlan, BoardPlan, Plan, make_plan
from bedplan.plan.walk import FreeSearch, Walk

__all__ = ["BarrierPlan", "BoardPlan", "FreeSearch", "Plan", "Walk", "make_plan"]
