"""From the file's table of the fence to its specification (layer: layout_file).

Public entry point: `build_enclosure`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from bedplan.layout_file.schema_enclosure import EnclosureTable, PostsTable, TapeTable
from bedplan.layout_file.ties import mark_names, marks_of_tie
from bedplan.model.layout import EnclosureSpec, Point, PostRow, Posts
from bedplan.model.ties import RingShape, Tape, Tie, TiedRing


def build_enclosure(table: EnclosureTable) -> EnclosureSpec:
    """Return the fence a file describes; one told by ties has no corners yet.

    Ties whose key names no two marks are passed over: the rules have told them.
    """
    posts = None if table.posts is None else _posts(table.posts)
    if isinstance(table.corners, dict):
        corners = tuple((name, _pair(at)) for name, at in table.corners.items())
        return EnclosureSpec(corners, posts)
    return EnclosureSpec((), posts, _tied_ring(table, table.corners))


def _pair(values: list[float]) -> Point:
    first, second = values
    return first, second


def _posts(table: PostsTable) -> Posts:
    rows: Mapping[str, list[float]] = table.__pydantic_extra__
    return Posts(
        table.size,
        table.proud,
        tuple(PostRow(side, tuple(along)) for side, along in rows.items()),
        table.footing,
    )


def _tied_ring(table: EnclosureTable, corners: list[str]) -> TiedRing:
    inward = None if table.inward is None else frozenset(table.inward)
    return TiedRing(
        tuple(corners),
        tuple(_ties(table)),
        {name: _pair(at) for name, at in table.known.items()},
        dict(table.marks),
        RingShape(table.turn, inward),
        _tape(table.tape),
    )


def _tape(table: TapeTable | None) -> Tape:
    return Tape() if table is None else Tape(table.fixed, table.per)


def _ties(table: EnclosureTable) -> Iterator[Tie]:
    """Yield every reading of every tie, in file order."""
    names: Mapping[str, Any] = {
        "corners": table.corners,
        "known": table.known,
        "marks": table.marks,
    }
    marks = mark_names(names)
    for key, reading in (table.ties or {}).items():
        for first, second in marks_of_tie(key, marks)[:1]:
            for length_m in reading if isinstance(reading, list) else [reading]:
                yield Tie(first, second, length_m)
