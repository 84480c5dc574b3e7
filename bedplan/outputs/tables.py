"""A plan as tables of text, in the units people read (layer: outputs).

What stands in a table is decided in `tables_ground`, `tables_edging` and `tables_order`; `text`
and the file writers only set it. Public entry point: `tables`.
"""

from __future__ import annotations

from bedplan.outputs.table import Table
from bedplan.outputs.tables_barrier import openings_table, strips_table
from bedplan.outputs.tables_edging import (
    barrier_table,
    cut_table,
    hardware_table,
    lower_boards_table,
    pieces_table,
    splices_table,
    stakes_table,
)
from bedplan.outputs.tables_ground import beds_table, ground_table, paths_table, units_table
from bedplan.outputs.tables_loads import published_table
from bedplan.outputs.tables_order import (
    cautions_table,
    fill_table,
    findings_table,
    order_table,
    totals_table,
)
from bedplan.outputs.tables_works import (
    digging_table,
    heights_table,
    spoil_table,
    tiers_table,
)
from bedplan.plan import Plan


def tables(plan: Plan) -> tuple[Table, ...]:
    """Return every table of a plan that has a row, in the order of the work."""
    show = plan.layout.show
    made = [
        ground_table(plan, show),
        beds_table(plan, show),
        paths_table(plan, show),
        units_table(plan),
    ]
    for part in plan.boards:
        made += [pieces_table(part, show), cut_table(part, show)]
    made += [splices_table(plan, show), stakes_table(plan, show), hardware_table(plan)]
    made += [lower_boards_table(plan, show), tiers_table(plan, show)]
    for barrier in plan.barriers:
        made += [
            barrier_table(barrier, show),
            strips_table(plan, barrier),
            openings_table(plan, barrier),
        ]
    made += [digging_table(plan, show), heights_table(plan, show), spoil_table(plan, show)]
    made += [
        fill_table(plan, show),
        totals_table(plan, show),
        published_table(plan, show),
        order_table(plan),
        findings_table(plan),
        cautions_table(plan),
    ]
    return tuple(table for table in made if table.rows)
