"""Runs of boards with the cuts at their ends, in one tier (layer: engines).

A span is a part of an edge that carries a board; posts in its way part it into runs, or notch it.
Every run keeps its number in all tiers.

Public entry points: `Setting`, `runs_of`, `ring_quads`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from shapely.geometry import Polygon

from bedplan.edging.joints import Cut, face_ends, joint_cuts, open_cut
from bedplan.edging.posts import PostInWay, Posts, stopped
from bedplan.edging.runs import SHORTEST_RUN_M, Edge, Span
from bedplan.geometry.lines import Line
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.materials import Board
from bedplan.model.site import Enclosure

Key = tuple[int, ...]
"""Ring, edge, span of the edge, and bay between posts: the same in every tier. A part of a run,
where a tier goes along parts only, has its number after these."""

RUN_KEY: Final = 4
"""So many numbers tell a run."""


@dataclass(frozen=True)
class Setting:
    """What the runs of one bed are set among.

    Parameters
    ----------
    board
        Its thickness, corners, and what it does at posts.
    posts
        Posts of the site.
    enclosure
        The fence, where boards are fixed to it; None where the fence needs none.
    """

    board: Board
    posts: Posts
    enclosure: Enclosure | None


@dataclass(frozen=True)
class Stretch:
    """One run in one tier.

    Parameters
    ----------
    key
        Which run it is.
    edge, span
        Its edge, and the part of its outline that its run borders [m].
    start, end
        The cuts at its ends.
    notches
        Posts it is notched round.
    corners
        Whether it meets another board at its start and at its end.
    on_fence
        Name of the side it is fixed to; empty elsewhere.
    """

    key: Key
    edge: Edge
    span: Span
    start: Cut
    end: Cut
    thickness_m: float
    notches: tuple[PostInWay, ...] = ()
    corners: tuple[bool, bool] = (False, False)
    on_fence: str = ""

    @property
    def faces(self) -> tuple[Line, Line]:
        """The outer and the inner face of its boards."""
        return self.edge.line, self.edge.line.shifted(self.thickness_m)

    @property
    def ends_m(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Where the outer and the inner face begin and end, along the edge [m]."""
        outer, inner = (face_ends(face, self.start.line, self.end.line) for face in self.faces)
        return outer, inner

    @property
    def extent_m(self) -> Span:
        """Where it begins and ends along the edge, the longer face counting [m]."""
        (outer_a, outer_b), (inner_a, inner_b) = self.ends_m
        return min(outer_a, inner_a), max(outer_b, inner_b)

    @property
    def shortest_face_m(self) -> float:
        """Length of its shorter face [m]."""
        return min(last - first for first, last in self.ends_m)


def is_part(stretch: Stretch) -> bool:
    """Tell whether it is but a part of its run."""
    return len(stretch.key) > RUN_KEY


def runs_of(
    rings: Sequence[Sequence[Edge]], setting: Setting, *, swapped: bool = False
) -> list[Stretch]:
    """Return the runs of a bed in one tier, in order round each ring.

    Parameters
    ----------
    rings
        The edges of the outline, with the spans that carry boards.
    setting
        Board, posts and fence.
    swapped
        True in every second tier, where butt corners lap the other way.
    """
    return [
        stretch
        for number, ring in enumerate(rings)
        for index in range(len(ring))
        for whole in _spans(ring, (number, index), setting.board, swapped=swapped)
        for stretch in _parted(whole, setting)
    ]


def ring_quads(rings: Sequence[Sequence[Edge]], board: Board) -> Iterator[Polygon]:
    """Yield the part of the ring between the faces that every span has to fill."""
    for number, ring in enumerate(rings):
        for index in range(len(ring)):
            for span in _spans(ring, (number, index), board):
                outer, inner = span.faces
                cuts = (span.start.ring, span.end.ring)
                (outer_a, outer_b), (inner_a, inner_b) = (
                    face_ends(face, *cuts) for face in span.faces
                )
                begin, end = (
                    (outer.point(outer_a), outer.point(outer_b)),
                    (
                        inner.point(inner_b),
                        inner.point(inner_a),
                    ),
                )
                yield Polygon([*begin, *end])


def _spans(
    ring: Sequence[Edge], which: tuple[int, int], board: Board, *, swapped: bool = False
) -> Iterator[Stretch]:
    """Yield every span of an edge with the cuts its corners ask for, posts left aside."""
    index = which[1]
    before, edge, after = ring[index - 1], ring[index], ring[(index + 1) % len(ring)]
    for number, span in enumerate(edge.spans):
        at_start, at_end = span[0] == 0.0, span[1] == edge.length_m
        stretch = Stretch(
            (*which, number, 0),
            edge,
            span,
            joint_cuts(before, edge, board, swapped=swapped)[1]
            if at_start
            else open_cut(edge, span[0], before, board),
            joint_cuts(edge, after, board, swapped=swapped)[0]
            if at_end
            else open_cut(edge, span[1], after, board),
            board.thickness_m,
            corners=(
                at_start and before.boarded_at_end(),
                at_end and after.boarded_at_start(),
            ),
        )
        if (at_start and at_end) or stretch.shortest_face_m > SHORTEST_RUN_M:
            yield stretch


def _parted(whole: Stretch, setting: Setting) -> Iterator[Stretch]:
    """Yield the runs that posts leave of a span, those too short for a board left out."""
    side = _side_of(whole, setting.enclosure)
    along = setting.posts.in_way(whole.edge, whole.thickness_m, on_fence=bool(side))
    posts = [post for post in along if _meets(post, whole)]
    passing = not side and setting.board.at_posts == "notch"
    notched = tuple(post for post in posts if passing and post.face != "through")
    stops = [post for post in posts if post not in notched]
    rest = replace(whole, on_fence=side, notches=notched)
    if not stops:
        yield replace(rest, key=(*whole.key[:3], _bay(rest, along)))
        return
    for stretch in _between(rest, stops):
        if stretch.shortest_face_m > max(SHORTEST_RUN_M, whole.thickness_m):
            kept = tuple(post for post in notched if _meets(post, stretch))
            yield replace(stretch, key=(*whole.key[:3], _bay(stretch, along)), notches=kept)


def _between(rest: Stretch, stops: Sequence[PostInWay]) -> Iterator[Stretch]:
    """Yield what is left of a span before, between and after the posts that stop it."""
    thick_m = rest.thickness_m
    for post in stops:
        before = _ended(rest, stopped(rest.edge, rest.end, post, thick_m, at_start=False))
        if before.shortest_face_m > SHORTEST_RUN_M:
            yield before
        rest = _begun(rest, stopped(rest.edge, rest.start, post, thick_m, at_start=True))
        if rest.shortest_face_m <= SHORTEST_RUN_M:
            return
    yield rest


def _bay(stretch: Stretch, along: Sequence[PostInWay]) -> int:
    """Return how many posts of the edge stand before a run: the same in every tier."""
    middle_m = sum(stretch.extent_m) / 2.0
    return sum((post.first_m + post.last_m) / 2.0 < middle_m for post in along)


def _ended(stretch: Stretch, cut: Cut) -> Stretch:
    if cut is stretch.end:
        return stretch
    cut_short = replace(stretch, end=cut, corners=(stretch.corners[0], False))
    return replace(cut_short, span=(stretch.span[0], min(stretch.span[1], cut_short.ends_m[0][1])))


def _begun(stretch: Stretch, cut: Cut) -> Stretch:
    if cut is stretch.start:
        return stretch
    cut_short = replace(stretch, start=cut, corners=(False, stretch.corners[1]))
    return replace(cut_short, span=(max(stretch.span[0], cut_short.ends_m[0][0]), stretch.span[1]))


def _meets(post: PostInWay, stretch: Stretch) -> bool:
    low, high = stretch.extent_m
    return post.last_m > low and post.first_m < high


def _side_of(stretch: Stretch, enclosure: Enclosure | None) -> str:
    """Return the name of the fence side that a span lies on; empty where it lies on none."""
    if enclosure is None:
        return ""
    middle = stretch.edge.line.point(sum(stretch.span) / 2.0)
    for side in enclosure.sides:
        on_line = abs(side.line.left_of(middle)) <= 2 * SNAP_M
        if on_line and -SNAP_M <= side.line.station(middle) <= side.length_m + SNAP_M:
            return side.name
    return ""
