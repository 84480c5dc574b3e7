"""Edging of every bed, one after another (layer: engines).

Public entry point: `edge_beds`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from shapely.geometry import LineString

from bedplan.edging.clear import InGround
from bedplan.edging.job import BedJob, LowerBoards, SpliceChoice, longest_m
from bedplan.edging.joins import join_up
from bedplan.edging.joints import kite_legs_m
from bedplan.edging.model import BedEdging, Run
from bedplan.edging.posts import Posts
from bedplan.edging.round import cut_round, inner_face
from bedplan.edging.runs import SHORTEST_RUN_M, Edge, Served, edges_of
from bedplan.edging.stakes import set_round_stakes
from bedplan.edging.straight import edge_straight
from bedplan.edging.stretches import Setting
from bedplan.errors import Fault, LayoutError, StockError
from bedplan.geometry.polygons import touching
from bedplan.geometry.tolerance import AREA_M2, SNAP_M
from bedplan.model.materials import MOST_TIERS, Board, Stake
from bedplan.model.site import PlacedBed, Site
from bedplan.units import tell_length


def edge_beds(
    site: Site,
    boards: Mapping[str, Board],
    stakes: Mapping[str, Stake] | None = None,
    splices: SpliceChoice | None = None,
    lower: LowerBoards | None = None,
) -> tuple[BedEdging, ...]:
    """Return the edging of every bed, in the order of the site.

    Parameters
    ----------
    site
        Beds in place.
    boards
        Kinds of board, by name.
    stakes
        Kinds of stake, by name; the one its board names is set along a bed.
    splices
        Where runs are spliced, chosen elsewhere; the others are spliced evenly.
    lower
        Where boards are wanted under the first tier, for beds with ``tiers = "ground"``.

    Raises
    ------
    StockError
        If a bed is edged with a board that comes in no length at all.
    LayoutError
        With every bed that has no room for its boards, and every corner stake that is missing or
        too thin.
    """
    edger = _Edger(site, InGround(site))
    near = touching([bed.outline for bed in site.beds], SNAP_M)
    done: list[BedEdging] = []
    faults: list[Fault] = []
    for number, bed in enumerate(site.beds, start=1):
        if bed.spec.edging is None:
            done.append(BedEdging(bed.spec.name, None, (), (), (), bed.outline))
            continue
        board = boards[bed.spec.edging]
        if longest_m(board) <= 0.0:
            message = f"board {board.name!r} has no length on sale and none on hand"
            raise StockError(message)
        stake = (stakes or {}).get(board.stake or "")
        job = BedJob(bed, number, board, stake, edger.ground, splices or {}, lower or {})
        if job.tiers > MOST_TIERS:
            faults.append(_too_high(job))
            continue
        earlier = [i for i in near[number - 1] if i < number - 1 and site.beds[i].spec.edging]
        made, wrong = edger.edge(job, earlier)
        done.append(made)
        faults += wrong
    if faults:
        raise LayoutError(faults)
    return join_up(site, done)


class _Edger:
    """What all beds of a site are edged among."""

    def __init__(self, site: Site, ground: InGround) -> None:
        self._site = site
        self.ground = ground
        self._posts = Posts(site.posts)
        self._fence = Served([site.enclosure.polygon])
        self._gates = Served([], [LineString([gate.start, gate.end]) for gate in site.gates])

    def edge(self, job: BedJob, earlier: Sequence[int]) -> tuple[BedEdging, list[Fault]]:
        """Return the edging of one bed, and what is wrong with it.

        Parameters
        ----------
        job
            The bed.
        earlier
            Beds with boards that stand before it in the file and touch it.
        """
        bed, board = job.bed, job.board
        if bed.curved_m and board.bends:
            made, faults = _edge_round(job), []
        else:
            served = [Served([self._site.beds[i].outline for i in earlier])]
            served.append(self._gates if bed.spec.against_fence else self._fence)
            rings = edges_of(bed.outline, served, max(SHORTEST_RUN_M, board.thickness_m))
            enclosure = self._site.enclosure if bed.spec.against_fence else None
            faults = list(_stake_faults(job, rings))
            made = edge_straight(job, rings, Setting(board, self._posts, enclosure))
        if made.planting.area <= AREA_M2:
            faults.append(_no_room(job))
        return made, faults


def _too_high(job: BedJob) -> Fault:
    remedy = "check the height and its unit"
    if job.follows_ground:
        remedy = "check the heights of [ground] and their unit"
    return Fault(
        ("bed", job.number - 1, "tiers" if job.follows_ground else "height"),
        f"bed {job.bed.spec.name!r} would take {job.tiers} boards on top of one another",
        f"at most {MOST_TIERS}",
        remedy,
    )


def _no_room(job: BedJob) -> Fault:
    return Fault(
        ("bed", job.number - 1),
        f"bed {job.bed.spec.name!r} is too small somewhere for boards "
        f"{tell_length(job.board.thickness_m)} thick",
        "room for its boards and for ground between them",
        "make it wider there, or take thinner boards or no edging",
    )


def _stake_faults(job: BedJob, rings: Sequence[Sequence[Edge]]) -> Iterator[Fault]:
    """Yield the fault of corner stakes that are missing, or thinner than what they close."""
    board, stake = job.board, job.stake
    if board.corner != "stake":
        return
    if stake is None:
        yield Fault(
            ("board", board.name, "corner"),
            'corner = "stake" without a stake',
            "the name of a stake beside it",
            'add a line stake = "NAME" and a table [stake.NAME]',
        )
        return
    needed_m = max((max(legs) for legs in _kites(rings, board)), default=0.0)
    if stake.size_m < needed_m - SNAP_M:
        yield Fault(
            ("board", board.name, "stake"),
            f"stake {stake.name!r} is {tell_length(stake.size_m)} thick; a corner of bed "
            f"{job.bed.spec.name!r} leaves {tell_length(needed_m)} between its boards",
            "a stake at least as thick as what it closes",
            "take a thicker stake, thinner boards, or butt or mitred corners",
        )


def _kites(rings: Sequence[Sequence[Edge]], board: Board) -> Iterator[tuple[float, float]]:
    for ring in rings:
        for index, leaving in enumerate(ring):
            arriving = ring[index - 1]
            if arriving.boarded_at_end() and leaving.boarded_at_start():
                yield kite_legs_m(arriving, leaving, board.thickness_m)


def _edge_round(job: BedJob) -> BedEdging:
    """Edge a round bed with boards that bend, tier by tier."""
    bed, board = job.bed, job.board
    tiers = [
        cut_round(bed, board, longest_m(board), job.place(tier))
        for tier in range(1, job.tiers + 1)
    ]
    center = bed.outline.centroid
    stakes = None
    if job.stake_kind is not None:
        stakes = set_round_stakes(
            bed.curved_m, (float(center.x), float(center.y)), job.stake_kind, job.ground
        )
    return BedEdging(
        bed.spec.name,
        board.name,
        (Run(1, _start(bed), _start(bed), 2.0 * math.pi * bed.curved_m),),
        tuple(piece for pieces, _ in tiers for piece in pieces),
        tuple(splice for _, splices in tiers for splice in splices),
        inner_face(bed, board),
        job.tiers,
        job.height_m,
        stakes=stakes.placed() if stakes else (),
        shortfalls=tuple(stakes.shortfalls) if stakes else (),
    )


def _start(bed: PlacedBed) -> tuple[float, float]:
    spot = bed.outline.exterior.interpolate(0.0)
    return (float(spot.x), float(spot.y))
