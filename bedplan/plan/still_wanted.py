"""What is still to be cut and bought once cut pieces have found their places (layer: plan).

Public entry point: `still_wanted`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from bedplan.errors import LayoutError
from bedplan.model.layout import Layout
from bedplan.plan.changes import WITHIN_M, PieceChange, pieces_of
from bedplan.plan.make import Plan
from bedplan.plan.reuse import CutPiece, Reuse, reuse, square_m
from bedplan.plan.sawn import BoardPlan, plan_boards
from bedplan.units import nanometres


@dataclass(frozen=True)
class StillWanted:
    """Places served by cut pieces, and the cut plans of what is left.

    Parameters
    ----------
    reuse
        Which cut piece serves which place; its spare pieces are untouched.
    parts
        Cut plans of the places that still want a piece. Spare pieces are on hand there with their
        ends squared.
    usable
        Kind of board, length with both ends squared [nm], and label of every spare piece.
    """

    reuse: Reuse
    parts: tuple[BoardPlan, ...]
    usable: tuple[tuple[str, int, str], ...]

    @property
    def unused(self) -> tuple[CutPiece, ...]:
        """Spare pieces that no cut plan takes."""
        used = {source for part in self.parts for source in self.sources(part)}
        return tuple(one for one in self.reuse.spare if f"cut piece {one.label}" not in used)

    def sources(self, part: BoardPlan) -> list[str]:
        """Return where each board of a cut plan comes from: a cut piece, on hand, or to buy."""
        waiting: dict[int, list[str]] = defaultdict(list)
        for kind, length, label in self.usable:
            if kind == part.board.name:
                waiting[length].append(label)
        return [_source(board.on_hand, waiting[board.stock_length]) for board in part.cut.boards]


def _source(on_hand: bool, labels: list[str]) -> str:
    if not on_hand:
        return "buy"
    return f"cut piece {labels.pop(0)}" if labels else "on hand"


def still_wanted(
    after: Plan,
    changes: Sequence[PieceChange],
    cut: Sequence[CutPiece],
    within_m: float = WITHIN_M,
) -> StillWanted:
    """Return what cut pieces serve, and what is still to cut and buy, the cheaper of two ways.

    A cut piece may be trimmed for one place, or sawn up as a leftover for several: first every
    trim is taken, then none, and the way that buys less is returned.

    Parameters
    ----------
    after
        The plan as built.
    changes
        Its pieces beside those of the plan as drawn.
    cut
        Pieces already cut.
    within_m
        A piece this much off still serves [m].

    Raises
    ------
    LayoutError
        If the boards that can be had do not give every piece.
    """
    thickness = {name: board.thickness_m for name, board in after.layout.boards.items()}
    homes = {
        change.before.label: change.after.label
        for change in changes
        if change.before is not None and change.after is not None
    }
    trimmed = reuse(cut, pieces_of(after), thickness, homes, within_m)
    first = _still(after, trimmed)
    if not any(served.how == "trimmed" for served in trimmed.served):
        return first
    try:
        second = _still(after, _untrimmed(trimmed))
    except LayoutError:
        return first
    return min(first, second, key=_objective)


def _objective(still: StillWanted) -> float:
    return sum(part.cut.objective for part in still.parts)


def _untrimmed(made: Reuse) -> Reuse:
    """Return the same with every piece to be trimmed put among the spare ones."""
    trims = [served for served in made.served if served.how == "trimmed"]
    return Reuse(
        tuple(served for served in made.served if served.how != "trimmed"),
        (*made.spare, *(served.cut for served in trims)),
        (*made.wanted, *(served.piece for served in trims)),
    )


def _still(after: Plan, made: Reuse) -> StillWanted:
    usable = tuple(_usable(after.layout, made.spare))
    wanted = {id(piece) for piece in made.wanted}
    edging = [
        replace(
            bed,
            pieces=tuple(piece for piece in bed.pieces if id(piece) in wanted),
            blocks=tuple(block for block in bed.blocks if id(block) in wanted),
        )
        for bed in after.edging
    ]
    return StillWanted(made, tuple(plan_boards(_stocked(after.layout, usable), edging)), usable)


def _usable(layout: Layout, spare: Iterable[CutPiece]) -> Iterator[tuple[str, int, str]]:
    for one in spare:
        board = layout.boards.get(one.board)
        if board is not None:
            length = nanometres(square_m(one, board.thickness_m))
            if length > 0 and not one.notches:
                yield one.board, length, one.label


def _stocked(layout: Layout, usable: Sequence[tuple[str, int, str]]) -> Layout:
    """Return the layout with spare pieces among the leftovers of their kind."""
    boards = {
        name: replace(
            board,
            on_hand_m=(
                *board.on_hand_m,
                *(length * 1e-9 for kind, length, _ in usable if kind == name),
            ),
        )
        for name, board in layout.boards.items()
    }
    return replace(layout, boards=boards)
