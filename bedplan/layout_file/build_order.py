"""From the file's tables to loose materials and the terms of the order (layer: layout_file).

Public entry points: `order_terms`, `planting`, `loose_material`.
"""

from __future__ import annotations

from bedplan.layout_file.quantities import SaleUnit
from bedplan.layout_file.schema_goods import BagTable, BulkTable, MaterialTable
from bedplan.layout_file.schema_order import OrderTable, PlantingTable
from bedplan.model.materials import Bag, Bulk, Material
from bedplan.model.ordering import BARROW_M3, LIFT_KG, OrderTerms
from bedplan.model.planting import Planting


def order_terms(table: OrderTable | None) -> OrderTerms:
    """Return the terms a file orders by."""
    if table is None:
        return OrderTerms()
    return OrderTerms(
        table.tax,
        table.payload,
        table.payload_volume,
        BARROW_M3 if table.barrow is None else table.barrow,
        LIFT_KG if table.lift is None else table.lift,
    )


def planting(table: PlantingTable) -> Planting:
    """Return what is planted in a bed at a spacing."""
    return Planting(
        table.bed,
        table.kind,
        table.spacing,
        table.pattern,
        table.edge,
        table.direction,
        table.price,
        table.on_hand,
    )


def loose_material(name: str, table: MaterialTable) -> Material:
    """Return a loose material with the ways it is sold."""
    bulk = _bulk(table.bulk) if table.bulk else None
    return Material(
        name,
        table.compaction,
        table.density,
        table.sold_by or (bulk.measure if bulk else None),
        bulk,
        tuple(_bag(bag) for bag in table.bags),
        table.on_hand,
        table.kind,
        table.lift,
        table.settles,
        table.waste,
    )


def _bag(table: BagTable) -> Bag:
    """Return a bag by the volume it spreads to, which a bale does not print on itself."""
    spread_m3 = table.spread
    if table.covers is not None and table.depth is not None:
        spread_m3 = table.covers * table.depth
    if spread_m3 is None:
        return Bag(table.volume or 0.0, table.price, weight_kg=table.weight)
    return Bag(spread_m3, table.price, table.volume, table.covers, table.weight)


def _bulk(table: BulkTable) -> Bulk:
    per: SaleUnit = table.per
    return Bulk(
        per.measure, per.text, per.size, table.step, table.minimum, table.price, table.delivery
    )
