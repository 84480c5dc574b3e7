"""Words along a bar, above or below it, in lanes, so that none covers another (layer: outputs).

Terms. A *tag* is a block of words that belongs to one place of the bar. Tags stand in *lanes*, the
first nearest the bar, as near to their places as their neighbours leave room. A tag that had to
move, or stands in a further lane, has a leader; in the lanes it crosses the leader has a slot of
its own among the words, in the order of their places, so leaders cross neither words nor each
other.

Within a lane the sum of squared shifts is least: pooling of adjacent violators, M. Ayer and
others, Annals of Mathematical Statistics 26, 1955. Public entry point: `in_lanes`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Final

from bedplan.outputs.scene import Point
from bedplan.outputs.scene_lettering import Line, block_size_mm

GAP_MM: Final = 1.3
"""Between two blocks of words in a lane: figures nearer than a blank read as one [mm]."""

SLOT_MM: Final = 0.4
"""Room of a leader among words [mm]."""

CLEAR_MM: Final = 0.7
"""Between the bar and the first lane, and between lanes, where nothing slants [mm]."""

SLANT_MM: Final = 1.7
"""The same where leaders slant across [mm]."""


@dataclass(frozen=True)
class Tag:
    """Words that belong to a place of a bar.

    Parameters
    ----------
    lines
        What it says.
    at
        The place its leader leads to [mm].
    wish
        Where its middle would best be [mm].
    group
        Groups stand in lanes of their own, 0 nearest the bar.
    ticked
        Whether its leader is drawn however near it stands.
    """

    lines: tuple[Line, ...]
    at: float
    wish: float
    group: int = 0
    ticked: bool = False

    @property
    def width_mm(self) -> float:
        """Width of the words [mm]."""
        return block_size_mm(self.lines)[0]


@dataclass(frozen=True)
class SetTag:
    """A tag in its place.

    Parameters
    ----------
    middle, level
        Centre of the words: along the bar, and away from its edge [mm].
    leader
        From the bar's edge outwards, ``(along, away)`` [mm]; empty for none.
    """

    tag: Tag
    middle: float
    level: float
    leader: tuple[Point, ...]


@dataclass(frozen=True)
class Lanes:
    """Tags in their places, and how far they reach from the bar's edge [mm]."""

    tags: tuple[SetTag, ...]
    reach_mm: float


def in_lanes(tags: Sequence[Tag], low: float, high: float) -> Lanes:
    """Return every tag in its place.

    Parameters
    ----------
    tags
        In any order.
    low, high
        No words leave this stretch [mm]; each tag must be narrower.
    """
    if not tags:
        return Lanes((), 0.0)
    ordered = sorted(tags, key=lambda tag: (tag.at, tag.wish))
    lane_of = _dealt(ordered, high - low)
    count = max(lane_of) + 1
    rows = [_row(ordered, lane_of, lane, low, high) for lane in range(count)]
    return _stacked(ordered, lane_of, rows)


def _dealt(tags: Sequence[Tag], room: float) -> list[int]:
    """Return the lane of every tag: each group in as few lanes as hold it, in turn."""
    groups = sorted({tag.group for tag in tags})
    counts = dict.fromkeys(groups, 1)
    while True:
        firsts = dict(zip(groups, accumulate([0, *counts.values()]), strict=False))
        turn = dict.fromkeys(groups, 0)
        lanes = []
        for tag in tags:
            lanes.append(firsts[tag.group] + turn[tag.group] % counts[tag.group])
            turn[tag.group] += 1
        full = _overfull(tags, lanes, room)
        if full is None:
            return lanes
        # slots of further lanes may be what does not fit: then more lanes do not help
        group = max(each for each in groups if firsts[each] <= full)
        if counts[group] > len(tags):
            return lanes
        counts[group] += 1


def _overfull(tags: Sequence[Tag], lanes: Sequence[int], room: float) -> int | None:
    """Return the first lane that does not hold its words and slots."""
    for lane in range(max(lanes) + 1):
        widths = [_width(tag, at, lane) for tag, at in zip(tags, lanes, strict=True) if at >= lane]
        if sum(widths) + GAP_MM * (len(widths) - 1) > room:
            return lane
    return None


def _width(tag: Tag, at: int, lane: int) -> float:
    return tag.width_mm if at == lane else SLOT_MM


def _row(
    tags: Sequence[Tag], lanes: Sequence[int], lane: int, low: float, high: float
) -> dict[int, float]:
    """Return the middle of every tag and slot of one lane, by the tag's number."""
    numbers = [number for number, at in enumerate(lanes) if at >= lane]
    wishes = [
        tags[number].wish if lanes[number] == lane else tags[number].at for number in numbers
    ]
    widths = [_width(tags[number], lanes[number], lane) for number in numbers]
    return dict(zip(numbers, spread(wishes, widths, low, high), strict=True))


def spread(
    wishes: Sequence[float], widths: Sequence[float], low: float, high: float
) -> list[float]:
    """Return middles in the given order that do not overlap, as near to the wishes as may be.

    Examples
    --------
    >>> spread([5.0, 5.0], [2.0, 2.0], 0.0, 20.0)
    [3.35, 6.65]
    """
    steps = [(a + b) / 2 + GAP_MM for a, b in pairwise(widths)]
    offsets = list(accumulate(steps, initial=0.0))
    pools: list[list[float]] = []
    for wish, offset in zip(wishes, offsets, strict=True):
        pools.append([wish - offset, 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            value, weight = pools.pop()
            other = pools[-1]
            other[0] = (other[0] * other[1] + value * weight) / (other[1] + weight)
            other[1] += weight
    base = [value for value, weight in pools for _ in range(int(weight))]
    least, most = low + widths[0] / 2, high - widths[-1] / 2 - offsets[-1]
    return [
        max(least, min(most, value)) + offset for value, offset in zip(base, offsets, strict=True)
    ]


def _stacked(tags: Sequence[Tag], lanes: Sequence[int], rows: Sequence[dict[int, float]]) -> Lanes:
    """Return the tags with their heights and leaders, lane upon lane."""
    paths: dict[int, list[Point]] = {number: [(tag.at, 0.0)] for number, tag in enumerate(tags)}
    done: list[SetTag] = []
    reach = 0.0
    for lane, row in enumerate(rows):
        needed = any(
            _has_leader(tags[n], lanes[n], middle) and abs(paths[n][-1][0] - middle) > 0.05
            for n, middle in row.items()
        )
        reach += SLANT_MM if needed else CLEAR_MM
        tall = max(block_size_mm(tags[n].lines)[1] for n in row if lanes[n] == lane)
        for number, middle in row.items():
            if lanes[number] == lane:
                tag = tags[number]
                level = reach + block_size_mm(tag.lines)[1] / 2
                aside = _toward(tag, middle, paths[number][-1][0])
                leader = (*paths[number], (aside, reach))
                shown = leader if _has_leader(tag, lane, middle) else ()
                done.append(SetTag(tag, middle, level, shown))
            else:
                paths[number] += [(middle, reach), (middle, reach + tall)]
        reach += tall
    return Lanes(tuple(done), reach)


def _toward(tag: Tag, middle: float, at: float) -> float:
    """Return where a leader meets its words: straight out if it can, else at their nearer end."""
    half = max(0.0, tag.width_mm / 2 - 0.6)
    return max(middle - half, min(middle + half, at))


def _has_leader(tag: Tag, lane: int, middle: float) -> bool:
    moved = abs(middle - tag.wish) > 0.35 * tag.width_mm + 1.0
    return tag.ticked or moved or lane > tag.group
