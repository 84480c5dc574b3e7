"""What is cut from stock: boards and rolls of weed barrier (layer: plan).

Public entry points: `plan_boards`, `plan_barriers`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from bedplan.edging import BedEdging, Piece
from bedplan.errors import GeometryError, LayoutError, StockError
from bedplan.geometry.polygons import parts, union
from bedplan.model.layout import Layout
from bedplan.model.materials import Board, Fabric, StockItem
from bedplan.model.site import Site
from bedplan.stock import CutPlan, StockLength, cut
from bedplan.takeoff.barrier import StripLaying, lay_strips
from bedplan.takeoff.barrier_pins import pin_count
from bedplan.units import nanometres, tell_length


@dataclass(frozen=True)
class BoardPlan:
    """All pieces of one kind of board, backing blocks among them, and how they are cut."""

    board: Board
    pieces: tuple[Piece, ...]
    cut: CutPlan

    @property
    def notes(self) -> tuple[str, ...]:
        """What looks like a slip in the stock of this board, lengths told as tapes read them."""
        return tuple(_as_tapes_read(note) for note in self.cut.notes)


@dataclass(frozen=True)
class BarrierPlan:
    """All strips of one fabric, area by area, and how they are cut from rolls."""

    fabric: Fabric
    layings: tuple[StripLaying, ...]
    cut: CutPlan
    pins: int | None


def plan_boards(layout: Layout, edging: Sequence[BedEdging]) -> Iterator[BoardPlan]:
    """Yield the pieces and the cut plan of every kind of board that is used.

    Raises
    ------
    LayoutError
        If the boards that can be had do not give every piece.
    """
    for name, board in layout.boards.items():
        pieces = tuple(piece for bed in edging for piece in bed.all_pieces if piece.board == name)
        if pieces:
            lengths = [nanometres(piece.long_m) for piece in pieces]
            yield BoardPlan(board, pieces, _cut_board(board, lengths))


def _cut_board(board: Board, lengths: Sequence[int]) -> CutPlan:
    try:
        return cut(
            lengths,
            stock_of(board.stock),
            nanometres(board.kerf_m),
            end_trim=nanometres(board.end_trim_m),
            on_hand=[nanometres(length) for length in board.on_hand_m],
        )
    except StockError as error:
        raise _not_enough(("board", board.name), error) from None


def plan_barriers(
    layout: Layout, site: Site, edging: Sequence[BedEdging]
) -> Iterator[BarrierPlan]:
    """Yield the strips and the cut plan of every fabric that is used.

    Raises
    ------
    LayoutError
        If a lap leaves nothing of the roll's width, or the rolls do not give every strip.
    """
    for name, fabric in layout.fabrics.items():
        covered = _barrier_areas(name, site, edging)
        if covered:
            layings = tuple(_lay(fabric, area) for area in covered)
            yield BarrierPlan(fabric, layings, _cut_rolls(fabric, layings), _pins(fabric, layings))


def _pins(fabric: Fabric, layings: Sequence[StripLaying]) -> int | None:
    if fabric.pin_every_m is None:
        return None
    return sum(pin_count(laid, fabric.pin_every_m) for laid in layings)


def _lay(fabric: Fabric, area: BaseGeometry) -> StripLaying:
    rolls = [item.length_m for item in fabric.rolls]
    try:
        return lay_strips(
            area,
            roll_width_m=fabric.width_m,
            lap_m=fabric.lap_m,
            turn_up_m=fabric.turn_up_m,
            longest_m=max(rolls or fabric.on_hand_m, default=0.0),
        )
    except GeometryError as error:
        raise LayoutError.of(
            ("fabric", fabric.name, "lap"),
            str(error),
            "rolls longer and wider than their lap",
            "make the lap smaller, or add rolls",
        ) from None


def _cut_rolls(fabric: Fabric, layings: Sequence[StripLaying]) -> CutPlan:
    lengths = [
        nanometres(length)
        for laying in layings
        for strip in laying.strips
        for length in strip.pieces_m
    ]
    on_hand = [nanometres(length) for length in fabric.on_hand_m]
    try:
        return cut(lengths, stock_of(fabric.rolls), on_hand=on_hand)
    except StockError as error:
        raise _not_enough(("fabric", fabric.name), error) from None


def _not_enough(path: tuple[str, str], error: StockError) -> LayoutError:
    """Return the fault of a stock that does not suffice, its lengths told as tapes read them.

    The stock engine counts whole nanometres, and says so in its messages.
    """
    return LayoutError.of(
        path,
        _as_tapes_read(str(error)),
        "stock enough for every piece",
        "raise a limit or add a length",
    )


def _as_tapes_read(words: str) -> str:
    """Return words with every count of nanometres told as a length."""
    return re.sub(r"\d{6,}", lambda found: tell_length(int(found[0]) * 1e-9), words)


def stock_of(items: Iterable[StockItem]) -> list[StockLength]:
    """Return lengths on sale as the stock engine takes them, in whole nanometres."""
    return [StockLength(nanometres(item.length_m), item.price, item.limit) for item in items]


def _barrier_areas(name: str, site: Site, edging: Sequence[BedEdging]) -> list[BaseGeometry]:
    """Return the grounds a fabric covers: walks that touch as one, and each bed by itself."""
    walks = [path.area for path in site.paths if path.spec.barrier == name]
    grounds: list[BaseGeometry] = list(parts(union(walks))) if walks else []
    grounds += [
        part
        for bed, edged in zip(site.beds, edging, strict=True)
        if bed.spec.barrier == name
        for part in parts(edged.planting)
    ]
    return grounds
