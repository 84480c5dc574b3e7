"""Tables of the ground: areas, beds, paths, and the choices for a path (layer: outputs)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bedplan.outputs.table import Column, Row, Table, money, named
from bedplan.plan import Plan, Walk
from bedplan.plan.choices import Choice
from bedplan.units import System, format_area, format_length, format_mass, format_volume


def ground_table(plan: Plan, show: System) -> Table:
    """Return how the ground inside the fence is shared out."""
    site = plan.site
    beds = sum(bed.outline.area for bed in site.beds)
    paths = sum(path.area.area for path in site.paths)
    rows = [
        ("beds", beds),
        ("paths", paths),
        ("neither", float(site.spare.area)),
        ("inside the fence", site.enclosure.area_m2),
    ]
    note = f"Fence line {format_length(site.enclosure.perimeter_m, show)} round."
    return Table(
        "Ground",
        named("", "area", "share"),
        tuple(
            (name, format_area(area, show), f"{area / site.enclosure.area_m2:.0%}")
            for name, area in rows
        ),
        note,
    )


def beds_table(plan: Plan, show: System) -> Table:
    """Return the beds with their areas, edging and mulch."""
    rows = []
    for bed, edged in zip(plan.site.beds, plan.edging, strict=True):
        mulch = [
            line for line in plan.fill if line.where == bed.spec.name and line.kind == "mulch"
        ]
        rows.append(
            (
                bed.spec.name,
                format_area(bed.outline.area, show),
                format_area(edged.planting.area, show),
                format_length(edged.length_m, show) if edged.runs else "none",
                format_volume(mulch[0].loose_m3, show) if mulch else "none",
            )
        )
    columns = named("bed", "outline", "planting", "edging", "mulch")
    return Table("Beds", columns, tuple(rows), _sagittas(plan, show))


def _sagittas(plan: Plan, show: System) -> str:
    """Tell how far the straight edges of round beds stray from their circles."""
    return " ".join(
        f"The straight edges of {bed.spec.name} stray up to "
        f"{format_length(bed.sagitta_m, show)} from its circle."
        for bed in plan.site.beds
        if bed.sagitta_m
    )


def paths_table(plan: Plan, show: System) -> Table:
    """Return the paths with the way their units lie."""
    rows = tuple(_path_row(walk, plan, show) for walk in plan.walks)
    note = "Margins: the least gap at each side, smallest to largest. Open: joints and margins."
    return Table(
        "Paths",
        named("path", "area", "bond", "courses", "joint", "margins", "open"),
        rows,
        note if any(walk.paver for walk in plan.walks) else "",
    )


def _path_row(walk: Walk, plan: Plan, show: System) -> Row:
    area = format_area(walk.path.area.area, show)
    if walk.paver is None or walk.path.spec.paving is None:
        return (walk.path.spec.name, area, *[""] * 5)
    ways = dict.fromkeys(direction_words(plan, laying.direction_deg) for laying in walk.layings)
    return (
        walk.path.spec.name,
        area,
        walk.path.spec.paving.pattern,
        ", ".join(ways),
        _joints(walk, show),
        _margins(walk, show),
        format_area(walk.open_area_m2, show),
    )


def units_table(plan: Plan) -> Table:
    """Return the whole units of every paved path, and the bounds beside the count."""
    rows = tuple(
        (
            walk.path.spec.name,
            " + ".join(walk.counts),
            _count(walk),
            str(walk.line_bound),
            str(walk.upper_bound),
            f"{walk.paved_area_m2 / float(walk.ground.area):.0%}",
        )
        for walk in plan.walks
        if walk.pavers
    )
    columns = (
        Column("path", "left"),
        Column("unit", "left"),
        Column("whole units"),
        Column("most so turned"),
        Column("most at all"),
        Column("cover"),
    )
    note = (
        "None is cut. So turned: no layout of whole units all turned like these holds more. At "
        "all: no layout of whole units whatever does."
    )
    if any(walk.second for walk in plan.walks):
        note += " Of two sizes both count alike."
    return Table("Units", columns, rows, note)


def _count(walk: Walk) -> str:
    """Return how many units lie in a walk: ``62``, or of two sizes ``40 + 22 = 62``."""
    if walk.second is None:
        return str(walk.count)
    return f"{' + '.join(map(str, walk.counts.values()))} = {walk.count}"


def _margins(walk: Walk, show: System) -> str:
    """Return the least gap between units and a side, at the closest and at the widest side."""
    if not walk.margins:
        return "none"
    gaps = [margin.least_m for margin in walk.margins]
    return f"{format_length(min(gaps), show)} to {format_length(max(gaps), show)}"


def _joints(walk: Walk, show: System) -> str:
    return ", ".join(sorted({format_length(laying.joint_m, show, 32) for laying in walk.layings}))


def direction_words(plan: Plan, direction_deg: float) -> str:
    """Return a direction as ``along AB`` or ``square to AB`` where a side has it, else degrees."""
    for side in plan.site.enclosure.sides:
        apart = (direction_deg - side.direction_deg) % 180.0
        if min(apart, 180.0 - apart) < 0.005:
            return f"along {side.name}"
        if abs(apart - 90.0) < 0.005:
            return f"square to {side.name}"
    return f"{direction_deg % 180.0:.1f}°"


def choices_table(path: str, made: Sequence[Choice], show: System, note: str = "") -> Table:
    """Return every unit and bond for one path side by side, the file's own marked."""
    rows = tuple(
        (
            f"{choice.paver} + {choice.second}" if choice.second else choice.paver,
            f"{choice.bond} *" if choice.chosen else choice.bond,
            _count(choice.walk),
            f"{choice.share:.0%} of {choice.walk.upper_bound}",
            f"{choice.cover:.0%}",
            _widest_margin(choice.walk, show),
            _joints(choice.walk, show),
            money(choice.cost),
            "no weight" if choice.weight_kg is None else format_mass(choice.weight_kg, show),
        )
        for choice in made
    )
    columns = (
        Column("unit", "left"),
        Column("bond", "left"),
        Column("count"),
        Column("of the most"),
        Column("cover"),
        Column("margin"),
        Column("joint"),
        Column("cost"),
        Column("weight"),
    )
    about = (
        "* in the file. The most: no layout of whole units whatever holds more. Cover: share of "
        "the path's ground under units. Margin: at the side with the widest. Cost: units to buy "
        "after those on hand."
    )
    return Table(f"Choices for {path}", columns, rows, f"{about} {note}".rstrip())


def _widest_margin(walk: Walk, show: System) -> str:
    gaps = [margin.least_m for margin in walk.margins]
    return format_length(max(gaps), show) if gaps else "none"


def choice_record(choice: Choice) -> dict[str, Any]:
    """Return one choice as plain data in SI units, for ``--json``."""
    walk = choice.walk
    return {
        "pavers": choice.paver,
        "second": choice.second,
        "bond": choice.bond,
        "units": walk.count,
        "units_by_paver": dict(walk.counts),
        "line_bound": walk.line_bound,
        "upper_bound": walk.upper_bound,
        "share": choice.share,
        "cover": choice.cover,
        "margins_m": sorted(margin.least_m for margin in walk.margins),
        "joints_m": sorted({laying.joint_m for laying in walk.layings}),
        "cost": choice.cost,
        "mass_kg": choice.weight_kg,
        "in_file": choice.chosen,
    }
