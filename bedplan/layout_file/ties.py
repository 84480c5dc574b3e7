"""What a key of ``[enclosure.ties]`` means: the two marks a tape ran between (layer: layout_file).

``AC`` joins two corners; where a mark has several letters, a hyphen or a space stands between
the two: ``A-oak``. Works on the file's plain data, so that keys are judged beside other faults.

Public entry points: `corner_names`, `mark_names`, `marks_of_tie`, `key_of_tie`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from bedplan.model.ties import tie_name

JOINTS: Final = ("", "-", "–", " ")
"""What may stand between the two marks of a tie."""


def corner_names(enclosure: Mapping[str, Any]) -> list[str]:
    """Return the names of the corners in file order, whichever way they are given."""
    corners = enclosure.get("corners")
    rows = corners if isinstance(corners, list | dict) else ()
    return [name for name in rows if isinstance(name, str)]


def mark_names(enclosure: Mapping[str, Any]) -> list[str]:
    """Return the names of all marks a tie may run to: corners, known places, other marks."""
    more = [
        name
        for key in ("known", "marks")
        if isinstance(enclosure.get(key), Mapping)
        for name in enclosure[key]
    ]
    return list(dict.fromkeys((*corner_names(enclosure), *more)))


def marks_of_tie(key: str, marks: Sequence[str]) -> list[tuple[str, str]]:
    """Return every way to read a tie's key as two marks; one way is as it should be.

    Examples
    --------
    >>> marks_of_tie("A-oak", ["A", "B", "oak"]), marks_of_tie("AX", ["A", "B"])
    ([('A', 'oak')], [])
    """
    return list(dict.fromkeys(_readings(key, marks)))


def _readings(key: str, marks: Sequence[str]) -> Iterator[tuple[str, str]]:
    known = set(marks)
    for first in marks:
        for joint in JOINTS:
            head, second = first + joint, key[len(first + joint) :]
            if key.startswith(head) and second in known:
                yield first, second


def key_of_tie(name: str, enclosure: Mapping[str, Any]) -> str:
    """Return the file's key of a tie the survey speaks of; the name itself if there is none.

    Examples
    --------
    >>> key_of_tie("A–oak", {"corners": ["A", "B"], "marks": {"oak": "inside"},
    ...                      "ties": {"A-oak": 3.0}})
    'A-oak'
    """
    ties = enclosure.get("ties")
    marks = mark_names(enclosure)
    for key in ties if isinstance(ties, Mapping) else ():
        if any(tie_name(*pair) == name for pair in marks_of_tie(key, marks)):
            return str(key)
    return name
