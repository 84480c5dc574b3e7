"""What splicing anywhere is asked and what it answers (layer: engines, stock).

Terms: a *run* is a length to be covered by pieces laid end to end; a *splice* is where two
pieces of one run meet; a *station* is a distance along a run from its start.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from bedplan.stock.model import CutPlan


@dataclass(frozen=True)
class SpliceRun:
    """One run to cover.

    Parameters
    ----------
    length
        Length from long point to long point [whole units].
    clear
        Least distance of a splice from either end of this run [whole units]; ``None`` for that
        of the rules. A hoop, whose ends meet in one more splice, has 0.
    joints_below
        Stations of the splices of the tier below, from which those of this run keep off
        [whole units].
    """

    length: int
    clear: int | None = None
    joints_below: tuple[int, ...] = ()


@dataclass(frozen=True)
class SpliceRules:
    """Where a run may be spliced.

    Parameters
    ----------
    least_piece
        Least length of a piece of a spliced run [whole units], above zero. A run left whole may
        be shorter.
    clear
        Least distance of a splice from the ends of its run [whole units].
    stagger
        Least distance of a splice from those of the tier below [whole units].
    """

    least_piece: int
    clear: int = 0
    stagger: int = 0

    def end_piece(self, run: SpliceRun) -> int:
        """Return the least length of the first and the last piece of a spliced run."""
        return max(self.least_piece, self.clear if run.clear is None else run.clear)


@dataclass(frozen=True)
class SplicePlan:
    """Where every run is spliced, and how the pieces are cut.

    Parameters
    ----------
    pieces
        Lengths of the pieces of each run, in the order they are laid [whole units].
    cut
        What to buy and how to cut all pieces; its ``numbers`` count the pieces of the first run,
        then those of the second, and so on.
    fewest_splices
        No plan that costs as little with as few boards has fewer splices than this.
    """

    pieces: tuple[tuple[int, ...], ...]
    cut: CutPlan
    fewest_splices: int

    @property
    def splices(self) -> int:
        """Number of splices."""
        return sum(len(run) - 1 for run in self.pieces)

    @property
    def stations(self) -> tuple[tuple[int, ...], ...]:
        """Stations of the splices of each run [whole units]."""
        return tuple(tuple(accumulate(run[:-1])) for run in self.pieces)
