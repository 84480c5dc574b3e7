"""Tables of what is cut: edging pieces, cut plans, strips of weed barrier (layer: outputs)."""

from __future__ import annotations

from collections import Counter

from bedplan.edging import BedEdging, Piece, PlacedStake
from bedplan.edging.hardware import screw_counts
from bedplan.geometry.lines import through
from bedplan.outputs.table import Column, Row, Table
from bedplan.plan import BarrierPlan, BoardPlan, Plan
from bedplan.units import System, format_area, format_length, nanometres


def pieces_table(part: BoardPlan, show: System) -> Table:
    """Return every piece of one kind of board."""
    stacked = any(piece.tier > 1 for piece in part.pieces)
    notched = any(piece.notches for piece in part.pieces)
    rows = tuple(
        (
            piece.label,
            piece.bed,
            *((str(piece.tier),) if stacked else ()),
            format_length(piece.long_m, show),
            format_length(piece.short_m, show),
            _end(piece, 0),
            _end(piece, 1),
            *((_notches(piece, show),) if notched else ()),
        )
        for piece in part.pieces
    )
    columns = (
        Column("piece", "left"),
        Column("bed", "left"),
        *((Column("tier"),) if stacked else ()),
        Column("long point"),
        Column("short point"),
        Column("first end", "left"),
        Column("last end", "left"),
        *((Column("notches", "left"),) if notched else ()),
    )
    return Table(f"Edging pieces, {part.board.name}", columns, rows, _pieces_note(stacked))


def _pieces_note(stacked: bool) -> str:
    tier = " The number after a dash is the tier." if stacked else ""
    return (
        "Saw settings as a mitre saw reads them, 0° square; after the arrow, what the end meets. "
        "Piece 2.3a is bed 2, run 3, first length of a splice; runs are numbered with the bed on "
        f"the left.{tier}"
    )


def _end(piece: Piece, which: int) -> str:
    end = piece.ends[which]
    meets = f" → {end.joins}" if end.joins else ""
    return f"{end.joint} {end.saw_deg:.1f}°{meets}"


def _notches(piece: Piece, show: System) -> str:
    return ", ".join(
        f"{format_length(notch.start_m, show)} to {format_length(notch.end_m, show)}, "
        f"{format_length(notch.depth_m, show)} deep in the {notch.face} face, post {notch.post}"
        for notch in piece.notches
    )


def splices_table(plan: Plan, show: System) -> Table:
    """Return where every run is spliced, and what holds the splice."""
    rows = tuple(
        (
            edged.bed,
            str(splice.run),
            str(splice.tier),
            " | ".join(splice.joins),
            format_length(splice.station_m, show),
            splice.block or splice.held_by,
        )
        for edged in plan.edging
        for splice in edged.splices
    )
    columns = (
        Column("bed", "left"),
        Column("run"),
        Column("tier"),
        Column("pieces", "left"),
        Column("from the run's start"),
        Column("held by", "left"),
    )
    return Table("Splices", columns, rows, "Blocks are cut from the same boards.")


def lower_boards_table(plan: Plan, show: System) -> Table:
    """Return where boards stand under the level one of beds that follow the ground."""
    rows = tuple(
        (
            edged.bed,
            str(each.run),
            str(each.tier),
            format_length(each.start_m, show),
            format_length(each.end_m, show),
            format_length(each.end_m - each.start_m, show),
        )
        for edged in plan.edging
        for each in edged.lower
    )
    columns = (
        Column("bed", "left"),
        Column("run"),
        Column("tier"),
        Column("from"),
        Column("to"),
        Column("length"),
    )
    note = "From and to are along the run from its start; tier 2 lies under the level board."
    return Table("Lower boards", columns, rows, note)


def stakes_table(plan: Plan, show: System) -> Table:
    """Return the stakes of every bed along its runs."""
    rows = tuple(
        (
            stake.label,
            edged.bed,
            str(stake.run),
            stake.kind,
            _along(edged, stake, show),
            format_length(stake.length_m, show),
            format_length(max(0.0, stake.below_m), show),
            format_length(abs(stake.shifted_m), show) if stake.shifted_m else "",
        )
        for edged in plan.edging
        for stake in edged.stakes
    )
    columns = (
        Column("stake", "left"),
        Column("bed", "left"),
        Column("run"),
        Column("at", "left"),
        Column("from the run's start"),
        Column("length"),
        Column("in the ground"),
        Column("moved"),
    )
    note = "Stakes stand inside the boards; moved ones keep clear of what is in the ground."
    return Table("Stakes", columns, rows, note)


def _along(edged: BedEdging, stake: PlacedStake, show: System) -> str:
    """Return how far along its run a stake stands; round a ring, from where the run starts."""
    run = edged.runs[stake.run - 1]
    if run.start == run.end:
        return ""
    station_m = through(run.start, run.end).station(stake.at)
    return format_length(max(0.0, station_m), show)


def hardware_table(plan: Plan) -> Table:
    """Return stakes, screws and connectors, with what the screws are for."""
    rows: list[Row] = [(f"{name} stake", str(n), "") for name, n in plan.hardware.stakes.items()]
    rows += [
        (plan.layout.screws[name].plural, str(n), _uses(plan, name))
        for name, n in plan.hardware.screws.items()
    ]
    rows += [(f"{name} connector", str(n), "") for name, n in plan.hardware.connectors.items()]
    columns = (Column("item", "left"), Column("used"), Column("where", "left"))
    return Table("Hardware", columns, tuple(rows))


def _uses(plan: Plan, screws: str) -> str:
    uses: Counter[str] = Counter()
    for edged in plan.edging:
        board = plan.layout.boards.get(edged.board or "")
        if board is not None and board.screws == screws:
            for what, count in screw_counts(edged, board):
                uses[what] += count
    return ", ".join(f"{what} {count}" for what, count in uses.items() if count)


def cut_table(part: BoardPlan, show: System) -> Table:
    """Set every board with its pieces by label, alike boards on one row each."""
    waiting: dict[int, list[str]] = {}
    for piece in part.pieces:
        waiting.setdefault(nanometres(piece.long_m), []).append(piece.label)
    rows = []
    for number, board in enumerate(part.cut.boards, start=1):
        cuts = ", ".join(
            f"{waiting[length].pop(0)} ({format_length(length * 1e-9, show)})"
            for length in board.pieces
        )
        rows.append(
            (
                str(number),
                format_length(board.stock_length * 1e-9, show),
                "on hand" if board.on_hand else "buy",
                cuts,
                format_length(board.offcut * 1e-9, show),
            )
        )
    columns = (
        Column("board"),
        Column("length"),
        Column("from", "left"),
        Column("saw in this order", "left"),
        Column("offcut"),
    )
    return Table(f"Cut plan, {part.board.name}", columns, tuple(rows), _proof(part))


def _proof(part: BoardPlan) -> str:
    what = f"{part.cut.cost:.2f}" if part.cut.cost is not None else "cost unknown"
    if part.cut.proven:
        proof = f"{what}: proven, no plan costs less."
    else:
        proof = f"{what}: no plan costs less than {part.cut.lower_bound:.2f}."
    return " ".join((proof, *(f"{note[0].upper()}{note[1:]}." for note in part.notes)))


def barrier_table(part: BarrierPlan, show: System) -> Table:
    """Return the strips of one fabric, area by area."""
    rows: list[Row] = []
    for number, laying in enumerate(part.layings, start=1):
        lengths = Counter(
            format_length(length, show) for strip in laying.strips for length in strip.pieces_m
        )
        strips = ", ".join(
            f"{count} × {length}" if count > 1 else length for length, count in lengths.items()
        )
        rows.append(
            (
                str(number),
                format_area(laying.net_area_m2, show),
                format_area(laying.fabric_area_m2, show),
                strips,
            )
        )
    columns = (Column("area"), Column("to cover"), Column("fabric"), Column("strips", "left"))
    pins = f" {part.pins} pins." if part.pins else ""
    return Table(
        f"Weed barrier, {part.fabric.name}",
        columns,
        tuple(rows),
        f"Lap {format_length(part.fabric.lap_m, show)}, turned up "
        f"{format_length(part.fabric.turn_up_m, show)} at edges.{pins}",
    )
