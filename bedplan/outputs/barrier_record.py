"""Weed barrier and cut plans as plain data in SI units (layer: outputs)."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from bedplan.plan import BarrierPlan, Plan
from bedplan.plan.openings import barrier_openings
from bedplan.plan.shingling import laid_areas
from bedplan.stock import CutPlan

Record = dict[str, Any]

NM = 1e-9
"""Metres in a nanometre."""


def cut_record(cut: CutPlan) -> Record:
    """Return what to buy of one kind of stock, and how to cut it."""
    return {
        "buy": [{"stock_m": length * NM, "count": count} for length, count in cut.buy],
        "cuts": [
            {
                "stock_m": board.stock_length * NM,
                "on_hand": board.on_hand,
                "pieces_m": [piece * NM for piece in board.pieces],
                "offcut_m": board.offcut * NM,
            }
            for board in cut.boards
        ],
        "cost": cut.cost,
        "lower_bound": cut.lower_bound,
        "proven": cut.proven,
    }


def barrier_record(plan: Plan, part: BarrierPlan) -> Record:
    """Return the strips of one fabric in the order they are laid, and the openings in them."""
    main = max(part.layings, key=lambda laying: laying.net_area_m2)
    areas = tuple(laid_areas(plan, part))
    return {
        "fabric": part.fabric.name,
        "net_area_m2": sum(laying.net_area_m2 for laying in part.layings),
        "fabric_area_m2": sum(laying.fabric_area_m2 for laying in part.layings),
        "direction_deg": main.direction_deg,
        "lap_m": part.fabric.lap_m,
        "turn_up_m": part.fabric.turn_up_m,
        "strips_m": [
            length
            for laying in part.layings
            for strip in laying.strips
            for length in strip.pieces_m
        ],
        "areas": [
            {
                "area": area.area,
                "way": area.way,
                "slope": area.slope,
                "fall_deg": area.fall_deg,
            }
            for area in areas
        ],
        "strips": [
            {
                "area": area.area,
                "number": laid.strip.number,
                "order": laid.order,
                "over": list(laid.over),
                "start": list(laid.strip.start),
                "end": list(laid.strip.end),
                "begin": list(laid.begin),
                "pieces_m": list(laid.pieces_m),
                "length_m": laid.strip.length_m,
                "end_laps": len(laid.pieces_m) - 1,
            }
            for area in areas
            for laid in area.strips
        ],
        "openings": [
            {**asdict(each), "at": list(each.at), "strips": list(each.strips)}
            for each in barrier_openings(plan, part)
        ],
        **cut_record(part.cut),
        "pins": part.pins,
    }
