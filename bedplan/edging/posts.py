"""Fence posts in the way of a run of boards (layer: engines).

A post stands in the way where its outline covers part of the strip between the faces of a board.
Boards fixed to the fence run from post to post, so there a post that stands flush is in the way
as well. Stations are taken along the outer face of the run's edge [m].

Public entry points: `Posts`, `stopped`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.edging.joints import Cut, face_ends, square_cut
from bedplan.edging.runs import Edge
from bedplan.geometry.lines import Line, through
from bedplan.geometry.polygons import common, parts
from bedplan.geometry.tolerance import AREA_M2, GRID_M, SNAP_M
from bedplan.model.site import PlacedPost

BEHIND_M: Final = 1e-3
"""How far behind a fence line a post is looked for that stands flush with it [m]."""

LEAST_WOOD: Final = 0.25
"""Share of the thickness a notch must leave; less stops the board: common practice, no source."""


@dataclass(frozen=True)
class PostInWay:
    """A post in the strip of a run.

    Parameters
    ----------
    name
        Name of the post.
    first_m, last_m
        Where on the run it begins and ends.
    before, after
        Cuts of a board that stops at it, arriving and going on.
    depth_m, face
        Depth of a notch that clears it and the face it is cut into; ``through`` where no board
        can pass.
    """

    name: str
    first_m: float
    last_m: float
    before: Line
    after: Line
    depth_m: float
    face: Literal["outer", "inner", "through"]


class Posts:
    """The posts of a site; a search tree finds the few near an edge."""

    def __init__(self, posts: Sequence[PlacedPost]) -> None:
        self._posts = posts
        self._tree = shapely.STRtree([post.outline for post in posts])

    def in_way(self, edge: Edge, thickness_m: float, *, on_fence: bool) -> list[PostInWay]:
        """Return the posts in the way of boards along an edge, in order.

        Parameters
        ----------
        edge, thickness_m
            The edge and its boards.
        on_fence
            True for boards fixed to the fence, which run from post to post.
        """
        if not self._posts:
            return []
        strip = _strip(edge, -BEHIND_M if on_fence else 0.0, thickness_m)
        found = [
            found
            for index in self._tree.query(strip).tolist()
            if (found := _in_way(self._posts[index], edge, strip, thickness_m))
        ]
        return sorted(found, key=lambda post: post.first_m)

    def within(self, shape: BaseGeometry, least_m2: float = AREA_M2) -> list[Polygon]:
        """Return the outlines of the posts that take more than so much of a piece of ground."""
        found = self._tree.query(shape, predicate="intersects").tolist() if self._posts else []
        return [
            self._posts[index].outline
            for index in found
            if common(self._posts[index].outline, shape).area > least_m2
        ]


def _strip(edge: Edge, from_m: float, to_m: float) -> Polygon:
    low, high = edge.line.shifted(from_m), edge.line.shifted(to_m)
    length_m = edge.length_m
    return Polygon([low.at, low.point(length_m), high.point(length_m), high.at])


def _in_way(post: PlacedPost, edge: Edge, strip: Polygon, thickness_m: float) -> PostInWay | None:
    found = parts(common(post.outline, strip))
    if not found:
        return None
    part, line = found[0], edge.line
    points = [(line.station(at), line.left_of(at)) for at in part.exterior.coords]
    stations = [station for station, _ in points]
    first_m, last_m = min(stations), max(stations)
    before, after = (square_cut(edge, station) for station in (first_m, last_m))
    middle_m = (first_m + last_m) / 2.0
    for face in _faces_across(post.outline, line, thickness_m):
        at_m = sum(face_ends(line, face, face)) / 2.0
        before, after = (face, after) if at_m < middle_m else (before, face)
    depth_m, side = _notch([left for _, left in points], thickness_m)
    return PostInWay(post.name, first_m, last_m, before, after, depth_m, side)


def _faces_across(post: Polygon, line: Line, thickness_m: float) -> list[Line]:
    """Return the faces of a post that a board can stop against with its whole end."""
    faces = []
    for a, b in pairwise(post.exterior.coords):
        left = sorted((line.left_of(a), line.left_of(b)))
        if left[0] <= SNAP_M and left[1] >= thickness_m - SNAP_M:
            faces.append(through(a, b))
    return faces


def _notch(
    left_m: Sequence[float], thickness_m: float
) -> tuple[float, Literal["outer", "inner", "through"]]:
    """Return the depth of the notch that clears a post, and the face it is cut into."""
    outer_m, inner_m = max(left_m), thickness_m - min(left_m)
    depth_m = min(outer_m, inner_m)
    if depth_m > (1.0 - LEAST_WOOD) * thickness_m + SNAP_M:
        return thickness_m, "through"
    return (outer_m, "outer") if outer_m <= inner_m else (inner_m, "inner")


def stopped(edge: Edge, cut: Cut, post: PostInWay, thickness_m: float, *, at_start: bool) -> Cut:
    """Return the cut of an end that a corner and a post both bound.

    Parameters
    ----------
    edge, thickness_m
        The edge and its boards.
    cut, post
        The cut the corner asks for, and the post.
    at_start
        True for the start of a run: the later of the two cuts is taken, at its end the earlier.
        Where they cross within the board it is cut square, clear of both.
    """
    way, at_post = (1, post.after) if at_start else (-1, post.before)
    faces = (edge.line, edge.line.shifted(thickness_m))
    corner = [way * face_ends(face, cut.line, cut.line)[0] for face in faces]
    stop = [way * face_ends(face, at_post, at_post)[0] for face in faces]
    if all(c >= s - GRID_M for c, s in zip(corner, stop, strict=True)):
        return cut
    if all(s >= c - GRID_M for c, s in zip(corner, stop, strict=True)):
        return Cut("post", at_post, cut.ring, post.name)
    square = square_cut(edge, way * max(*corner, *stop))
    return Cut("post", square, cut.ring, post.name)
