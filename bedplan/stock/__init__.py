"""The stock engine: pieces wanted, what to buy, and how to cut it (layer: engines).

One engine for boards and for fabric rolls. Public entry: `cut`.
"""

from __future__ import annotations

from bedplan.stock.cut import cut
from bedplan.stock.model import BoardCut, CutPlan, Status, StockLength

__all__ = ["BoardCut", "CutPlan", "Status", "StockLength", "cut"]
