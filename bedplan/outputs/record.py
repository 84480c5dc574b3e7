"""A plan as plain data in SI units, for ``--json`` (layer: outputs).

The keys are a promise to other programs; new ones may be added, none renamed. Lengths are
metres, areas square metres, volumes cubic metres, weights kilograms, angles degrees counter-
clockwise from the file's x axis; ``placements`` are the centre and turn of each unit.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import shapely

from bedplan.edging import BedEdging, Piece
from bedplan.model.site import PlacedBed, Site
from bedplan.outputs.barrier_record import barrier_record, cut_record
from bedplan.outputs.order_record import published_record
from bedplan.outputs.survey_record import survey_record
from bedplan.outputs.tables_works import works_record
from bedplan.plan import BoardPlan, Plan, Walk
from bedplan.plan.borders import lies_on
from bedplan.plan.planted import PlantedBed

Record = dict[str, Any]


def record(plan: Plan) -> Record:
    """Return a plan as nested dicts and lists of plain numbers and texts."""
    enclosure = plan.site.enclosure
    return {
        "title": plan.layout.title,
        "enclosure": {
            "area_m2": enclosure.area_m2,
            "perimeter_m": enclosure.perimeter_m,
            "corners": {name: list(point) for name, point in enclosure.corners},
        },
        "survey": survey_record(plan.layout.enclosure.ties, plan.survey),
        "beds": [
            _bed(plan, bed, edged) for bed, edged in zip(plan.site.beds, plan.edging, strict=True)
        ],
        "paths": [_path(walk, plan.site) for walk in plan.walks],
        "spare_m2": float(plan.site.spare.area),
        "edging": [_boards(plan, part) for part in plan.boards],
        "hardware": [
            {"kind": kind, "name": name, "count": count}
            for kind, counts in asdict(plan.hardware).items()
            for name, count in counts.items()
        ],
        "barrier": [barrier_record(plan, part) for part in plan.barriers],
        "fill": [
            {
                "material": total.material,
                "in_place_m3": total.in_place_m3,
                "loose_m3": total.loose_m3,
                "mass_kg": total.mass_kg,
            }
            for total in plan.totals
        ],
        "layers": [asdict(line) for line in plan.fill],
        "ground": works_record(plan.works),
        "plants": _plants(plan),
        "checks": [asdict(finding) for finding in plan.findings],
        "cautions": [asdict(caution) for caution in plan.cautions],
        "order": [asdict(line) for line in plan.order.lines],
        "cost": plan.order.cost,
        "tax": plan.order.tax,
        "cost_with_tax": plan.order.total,
        "published": published_record(plan),
        "missing_prices": list(plan.order.missing),
    }


def _bed(plan: Plan, bed: PlacedBed, edged: BedEdging) -> Record:
    mulch_m3 = sum(
        line.in_place_m3
        for line in plan.fill
        if line.where == bed.spec.name and line.kind == "mulch"
    )
    return {
        "name": bed.spec.name,
        "outline_area_m2": float(bed.outline.area),
        "planting_area_m2": float(edged.planting.area),
        "edging_m": edged.length_m,
        "tiers": edged.tiers if edged.board else 0,
        "edging_height_m": edged.height_m,
        "sagitta_m": bed.sagitta_m or None,
        "runs": [
            {
                "run": run.number,
                "start": list(run.start),
                "end": list(run.end),
                "length_m": run.length_m,
                "on_fence": run.on_fence or None,
            }
            for run in edged.runs
        ],
        "splices": [asdict(splice) for splice in edged.splices],
        "stakes": [asdict(stake) for stake in edged.stakes],
        "openings": [
            {"run": each.run, "kind": each.kind, "length_m": each.length_m}
            for each in edged.openings
        ],
        "mulch_m3": mulch_m3,
    }


def _path(walk: Walk, site: Site) -> Record:
    main = max(walk.layings, key=lambda laying: laying.count, default=None)
    return {
        "name": walk.path.spec.name,
        "area_m2": float(walk.path.area.area),
        "units": walk.count,
        "bond": walk.path.spec.paving.pattern if walk.path.spec.paving else None,
        "units_by_paver": walk.counts,
        "direction_deg": main.direction_deg if main else None,
        "joint_m": main.joint_m if main else None,
        "upper_bound": walk.upper_bound,
        "line_bound": walk.line_bound,
        "proven": walk.proven,
        "shift_proven": walk.shift_proven,
        "paved_area_m2": walk.paved_area_m2,
        "open_area_m2": walk.open_area_m2,
        "margins": [
            {
                "side": [list(margin.start), list(margin.end)],
                "least_m": margin.least_m,
                "greatest_m": margin.greatest_m,
                "along": lies_on(site, margin),
            }
            for margin in walk.margins
        ],
        "placements": [list(unit) for laying in walk.layings for unit in laying.units],
        "placement_pavers": list(walk.unit_names),
    }


def _boards(plan: Plan, part: BoardPlan) -> Record:
    """Return the pieces of one kind of board, blocks apart from what stands round the beds."""
    mine = [edged for edged in plan.edging if edged.board == part.board.name]
    return {
        "board": part.board.name,
        "pieces": [_piece(piece) for piece in part.pieces],
        "blocks": sum(len(edged.blocks) for edged in mine),
        **cut_record(part.cut),
    }


def _piece(piece: Piece) -> Record:
    return {
        "label": piece.label,
        "kind": piece.kind,
        "bed": piece.bed,
        "run": piece.run,
        "tier": piece.tier,
        "long_m": piece.long_m,
        "short_m": piece.short_m,
        "end_deg": [end.saw_deg for end in piece.ends],
        "ends": [end.joint for end in piece.ends],
        "joins": [end.joins for end in piece.ends],
        "longer": [end.longer for end in piece.ends],
        "station_m": piece.station_m,
        "notches": [asdict(notch) for notch in piece.notches],
    }


def _plants(plan: Plan) -> list[Record]:
    """List the plants of each bed; those in no bed stand under an empty name."""
    found = []
    for plant in plan.site.plants:
        bed = next(
            (
                bed.spec.name
                for bed in plan.site.beds
                if bed.outline.covers(shapely.Point(plant.at))
            ),
            "",
        )
        found.append(
            {"bed": bed, "kind": plant.plant.name, "count": 1, "existing": plant.plant.existing}
        )
    return found + [_planted(part) for part in plan.planted]


def _planted(part: PlantedBed) -> Record:
    return {
        "bed": part.spec.bed,
        "kind": part.spec.kind,
        "count": part.count,
        "existing": False,
        "spacing_m": part.spec.spacing_m,
        "pattern": part.spec.grid,
        "direction_deg": part.direction_deg,
        "proven": part.proven,
        "places": [list(place) for place in part.places],
    }
