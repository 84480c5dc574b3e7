"""Tables of earthwork: digging, heights of paths, spoil, boards on a slope (layer: outputs).

Each is empty for a layout that says nothing of its ground. `works_record` is the same as plain
data in SI units, for ``--json``.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from bedplan.geometry.lines import Point
from bedplan.ground.depths import PathDig
from bedplan.ground.plane import toward_side_deg
from bedplan.ground.works import BedWorks, PathWorks, Works
from bedplan.model.site import Site
from bedplan.outputs.table import Column, Table, named
from bedplan.plan import Plan
from bedplan.practice.ground import percent
from bedplan.units import System, format_length, format_volume


def digging_table(plan: Plan, show: System) -> Table:
    """Return the cut, the ground made up and the base of every path."""
    rows = tuple(
        (
            path.path,
            fall_words(path, plan.site),
            format_volume(path.work.cut_m3, show),
            format_length(path.work.greatest_cut_m, show),
            format_volume(path.work.fill_m3, show),
            format_length(path.base_least_m, show),
            format_length(path.base_greatest_m, show),
            format_volume(path.base_m3, show),
        )
        for path in (plan.works.paths if plan.works else ())
    )
    columns = (
        Column("path", "left"),
        Column("finish", "left"),
        *(Column(word) for word in ("cut", "deepest", "made up")),
        *(Column(word) for word in ("base, least", "base, greatest", "base in place")),
    )
    note = (
        "Cut and made-up ground are in the bank, as the ground lies, down to the formation under "
        "the base."
    )
    return Table("Digging", columns, rows, note)


def fall_words(path: PathWorks, site: Site) -> str:
    """Return how a finish lies: ``level``, ``2 % to AB``, or the direction in degrees."""
    toward = path.finish.fall_deg
    if toward is None:
        return "level"
    for side in site.enclosure.sides:
        if abs((toward - toward_side_deg(side) + 180.0) % 360.0 - 180.0) < 0.005:
            return f"{percent(path.finish.slope)} to {side.name}"
    return f"{percent(path.finish.slope)} at {toward:.1f}°"


def heights_table(plan: Plan, show: System) -> Table:
    """Return the finish of every path at its corners, tied to the nearest side."""
    rows = tuple(
        (
            path.path,
            *_tied(plan.site, corner.at, show),
            format_length(corner.finish_m, show),
            format_length(corner.ground_m, show),
            format_length(corner.finish_m - corner.ground_m, show),
        )
        for path in (plan.works.paths if plan.works else ())
        for corner in path.corners
    )
    columns = (
        Column("path", "left"),
        Column("side", "left"),
        *(Column(word) for word in ("along", "in", "finish", "ground now", "finish over it")),
    )
    note = "Heights are over the mark the spot heights are taken from."
    return Table("Heights of paths", columns, rows, note)


def _tied(site: Site, at: Point, show: System) -> tuple[str, str, str]:
    """Return the side a place is nearest to, how far along it, and how far in."""
    ties = []
    for side in site.enclosure.sides:
        station_m = side.line.station(at)
        foot = side.line.point(min(max(0.0, station_m), side.length_m))
        away_m = ((at[0] - foot[0]) ** 2 + (at[1] - foot[1]) ** 2) ** 0.5
        ties.append((round(away_m, 6), side.name, station_m))
    away_m, name, station_m = min(ties)
    return name, format_length(station_m, show), format_length(away_m, show)


def spoil_table(plan: Plan, show: System) -> Table:
    """Return where all that is dug goes, and what is left to cart away."""
    works = plan.works
    if works is None or not works.paths:
        return Table("Spoil", named("", "volume"), ())
    spoil = works.spoil
    rows = [
        ("dug, in the bank", spoil.cut_m3),
        ("of it rolled in where ground is made up", spoil.rolled_m3),
        ("the rest, loose", spoil.loose_m3),
        *((f"bed {room.bed} takes", room.room_m3) for room in spoil.taken if room.room_m3 > 0.0),
        ("cart away, loose", spoil.cart_m3),
    ]
    if spoil.wanting_m3 > 0.0:
        rows.append(("ground still wanting, compacted", spoil.wanting_m3))
    ground = plan.layout.ground
    soil = ground.soil if ground is not None else None
    note = (
        f"{soil.name.capitalize()}: {percent(soil.loose - 1.0)} swell when dug, "
        f"{percent(1.0 - soil.compacted)} shrinkage when rolled."
        if soil
        else ""
    )
    return Table(
        "Spoil",
        named("", "volume"),
        tuple((words, format_volume(volume, show)) for words, volume in rows),
        note,
    )


def tiers_table(plan: Plan, show: System) -> Table:
    """Return the stretches of every run that need more boards than the file has stacked."""
    rows = tuple(
        (
            bed.bed,
            str(run.run),
            format_length(bed.top_m, show),
            format_length(span.start_m, show),
            format_length(span.end_m, show),
            str(span.tiers),
            str(bed.tiers),
        )
        for bed in (plan.works.beds if plan.works else ())
        for run in bed.short_runs
        for span in run.spans
    )
    columns = named("bed", "run", "board top", "from", "to", "boards needed", "boards stacked")
    note = "From and to are along the run from its start; the board top runs level all round."
    return Table("Boards on the slope", columns, rows, note)


def works_record(works: Works | None) -> dict[str, Any] | None:
    """Return the earthwork as plain data; None for a layout without ``[ground]``."""
    if works is None:
        return None
    doubtful = {spot.number for spot in works.doubtful}
    spoil = works.spoil
    return {
        "spots": [
            {"at": [x, y], "height_m": height_m, "doubtful": number in doubtful}
            for number, (x, y, height_m) in enumerate(works.spots)
        ],
        "extrapolated_m2": float(works.surface.extrapolated.area),
        "cut_m3": spoil.cut_m3,
        "fill_m3": works.work.fill_m3,
        "rolled_m3": spoil.rolled_m3,
        "loose_m3": spoil.loose_m3,
        "taken": [{"bed": room.bed, "loose_m3": room.room_m3} for room in spoil.taken],
        "cart_m3": spoil.cart_m3,
        "wanting_m3": spoil.wanting_m3,
        "paths": [_path_record(path) for path in works.paths],
        "beds": [_bed_record(bed) for bed in works.beds],
    }


def _path_record(path: PathWorks) -> dict[str, Any]:
    work = path.work
    return {
        "name": path.path,
        "slope": path.finish.slope,
        "fall_deg": path.finish.fall_deg,
        "cut_m3": work.cut_m3,
        "fill_m3": work.fill_m3,
        "greatest_cut_m": work.greatest_cut_m,
        "greatest_fill_m": work.greatest_fill_m,
        "base_least_m": path.base_least_m,
        "base_greatest_m": path.base_greatest_m,
        "base_m3": path.base_m3,
        "guessed_m2": path.guessed_m2,
        "corners": [
            {"at": list(each.at), "finish_m": each.finish_m, "ground_m": each.ground_m}
            for each in path.corners
        ],
        "walks": [_dig_record(dig) for dig in path.digs],
    }


def _dig_record(dig: PathDig) -> dict[str, Any]:
    return {
        "formation": asdict(dig.formation),
        "cut_m3": dig.work.cut_m3,
        "fill_m3": dig.work.fill_m3,
        "base_m3": dig.base.volume_m3,
    }


def _bed_record(bed: BedWorks) -> dict[str, Any]:
    return {
        "name": bed.bed,
        "top_m": bed.top_m,
        "room_m3": bed.room_m3,
        "tiers": bed.tiers,
        "runs": [
            {"run": run.run, "tiers": [asdict(span) for span in run.spans]} for run in bed.runs
        ],
    }
