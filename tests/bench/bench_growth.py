"""Growth: a community garden of 10, 100 and 1,000 beds, each in a walk of its own.

Run: .venv/bin/python tests/bench/bench_growth.py [largest] [unit in mm]
Prints seconds per stage, the ratio to straight-line growth from the smallest, and the most
memory the process ever held. Slabs of 400 mm unless told; 190 mm gives 1,000 beds some 200,000
units.
"""

from __future__ import annotations

import resource
import sys
import time

from bedplan.edging import edge_beds
from bedplan.model.layout import (
    BedSpec,
    EnclosureSpec,
    Layer,
    Layout,
    PathSpec,
    Paving,
    Rectangle,
    Rest,
)
from bedplan.model.materials import Board, Material, Paver, StockItem
from bedplan.plan import make_plan
from bedplan.site import resolve

PITCH_M = (4.0, 2.6)


def garden(beds: int, unit_m: float = 0.4) -> Layout:
    """Return a slightly crooked garden with a grid of identical beds in a walk of square units."""
    across = max(1, round((beds * PITCH_M[1] / PITCH_M[0]) ** 0.5))
    rows = -(-beds // across)
    wide, deep = across * PITCH_M[0], rows * PITCH_M[1]
    corners = (
        ("A", (0.0, 0.0)),
        ("B", (wide, 0.1)),
        ("C", (wide - 0.05, deep + 0.1)),
        ("D", (-0.1, deep)),
    )
    specs = tuple(
        BedSpec(
            f"bed {i + 1}",
            Rectangle(
                (PITCH_M[0] * (i % across + 0.5) - 0.05, PITCH_M[1] * (i // across + 0.5) + 0.05),
                (2.4, 1.2),
            ),
            edging="larch",
            mulch=Layer("bark", 0.07),
        )
        for i in range(beds)
    )
    return Layout(
        "Growth",
        EnclosureSpec(corners),
        beds=specs,
        paths=(
            PathSpec(
                "walk",
                Rest(),
                paving=Paving("slab", joint_m=(0.005, 0.005)),
                layers=(Layer("rock", 0.1),),
            ),
        ),
        boards={
            "larch": Board(
                "larch",
                0.022,
                0.145,
                0.003,
                stock=(StockItem(2.4, 9.0), StockItem(3.0, 11.0), StockItem(4.0, 15.0)),
            )
        },
        pavers={"slab": Paver("slab", unit_m, unit_m, 0.045, price=5.0)},
        materials={"bark": Material("bark"), "rock": Material("rock", 1.25)},
        show="metric",
    )


def main() -> None:
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    unit_m = float(sys.argv[2]) / 1000.0 if len(sys.argv) > 2 else 0.4
    base: tuple[int, float] | None = None
    for beds in (10, 100, 1000, 10_000):
        if beds > largest:
            break
        layout = garden(beds, unit_m)
        start = time.process_time()
        site = resolve(layout)
        resolved = time.process_time()
        edge_beds(site, layout.boards)
        edged = time.process_time()
        plan = make_plan(layout)
        total = time.process_time() - edged
        base = base or (beds, total)
        ratio = total / (base[1] * beds / base[0])
        print(
            f"{beds:6d} beds {plan.walks[0].count:7d} units  plan {total:7.2f} s CPU  "
            f"(site {resolved - start:.2f}, edging {edged - resolved:.2f})  "
            f"{ratio:.2f} × straight-line growth (promise: at most 1.2)  "
            f"cut plan proven {plan.boards[0].cut.proven}, "
            f"best shift proven {plan.walks[0].shift_proven}, "
            f"memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0:.0f} MiB"
        )


if __name__ == "__main__":
    main()
