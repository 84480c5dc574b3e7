"""The stock engine: pieces wanted, what to buy, and how to cut it (layer: engines).

One engine for boards and for fabric rolls. Public entries: `cut` takes the pieces as they are,
`splice_anywhere` chooses where long runs, or all runs, are spliced.
"""

from __future__ import annotations

from bedplan.stock.cut import cut
from bedplan.stock.model import BoardCut, CutPlan, Status, StockLength
from bedplan.stock.splice import splice_anywhere
from bedplan.stock.splice_model import SplicePlan, SpliceRules, SpliceRun

__all__ = [
    "BoardCut",
    "CutPlan",
    "SplicePlan",
    "SpliceRules",
    "SpliceRun",
    "Status",
    "StockLength",
    "cut",
    "splice_anywhere",
]
