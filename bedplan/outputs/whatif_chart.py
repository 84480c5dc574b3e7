"""Charts of variants: cost, and what changes most, over a setting (layer: outputs).

Terms. A *field* is one diagram on the page; fields share their level axis. Settings that are
numbers run along it at scale, words stand side by side. Shape tells what colour cannot in a copy:
dots for figures, a ring for the file as it is, hollow squares where prices are missing, crosses
for variants with a fault. Scales are alike on all pages of one comparison.

Public entry point: `whatif_charts`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

from shapely.geometry import Polygon, box

from bedplan.outputs.scene import (
    Anchor,
    Mark,
    Pen,
    Placed,
    Point,
    Scene,
    Shapes,
    Strokes,
    Text,
)
from bedplan.outputs.scene_lettering import box as text_box
from bedplan.outputs.scene_lettering import clean, width_mm, wrap
from bedplan.outputs.scene_palette import BODY, BORDER, INK, NAME, SUBTITLE, TITLE, Style
from bedplan.outputs.sheet import Page, Sheet
from bedplan.outputs.whatif_axes import Across, Upward, across, upward
from bedplan.outputs.whatif_marks import cross, dot, ring, square
from bedplan.plan.whatif import (
    COST,
    Comparison,
    Quantity,
    Trial,
    Varied,
    most_changed,
    quantities,
)

CURVE: Final = Pen(0.45, INK)
STEM: Final = Pen(0.25, "#8d99a4", (1.2, 0.9))
GRID: Final = Pen(0.12, "#b4bec7")
FRAME: Final = Pen(0.30, INK)
LEFT_MM: Final = 24.0
"""Room for figures left of the fields [mm]."""
HEAD_MM: Final = 24.0
FOOT_MM: Final = 34.0
"""Room for title, and for the level axis and the legend [mm]."""
GAP_MM: Final = 12.0
"""Between two fields, for the upper edge's heading [mm]."""
LABEL: Final = Style(8.0)


@dataclass(frozen=True)
class _Page:
    """One page: the setting along it, its trials, and what the other settings are."""

    setting: int
    trials: tuple[int, ...]
    said: str = ""


def whatif_charts(made: Comparison) -> list[Scene]:
    """Return a page for every setting; combined, for every way to set the others than the first.

    Parameters
    ----------
    made
        All that is drawn; its system chooses the paper, letter or A4.
    """
    figures = quantities(made.trials)
    cost = next(each for each in figures if each.name == COST)
    drawn = [each for each in (cost, most_changed(figures)) if each is not None]
    paper = Sheet("a4" if made.show == "metric" else "letter", landscape=True)
    page = next(paper.pages())
    return [_scene(made, each, drawn, page) for each in _pages(made)]


def _pages(made: Comparison) -> Iterator[_Page]:
    if not made.combined:
        for number in range(len(made.settings)):
            others = [i for i in range(len(made.settings)) if i != number]
            trials = [
                index
                for index, trial in enumerate(made.trials)
                if all(trial.way[i] is None for i in others)
            ]
            yield _Page(number, tuple(trials))
        return
    others = list(range(1, len(made.settings)))
    for numbers in product(*(range(len(made.settings[i].shown)) for i in others)):
        chosen = list(zip(others, numbers, strict=True))
        said = ", ".join(
            f"{made.settings[i].key} = {made.settings[i].shown[number]}" for i, number in chosen
        )
        yield _Page(0, tuple(_combined(made, chosen)), clean(said))


def _combined(made: Comparison, chosen: list[tuple[int, int]]) -> Iterator[int]:
    for number, trial in enumerate(made.trials):
        if made.in_file(trial):
            if all(made.settings[i].is_now(value) for i, value in chosen):
                yield number
        elif all(trial.way[i] == value for i, value in chosen):
            yield number


def _scene(made: Comparison, page: _Page, drawn: list[Quantity], paper: Page) -> Scene:
    setting = made.settings[page.setting]
    left, bottom, right, top = paper.border.bounds
    area = box(left + LEFT_MM, bottom + FOOT_MM, right - 8.0, top - HEAD_MM)
    axis = across(setting, [made.trials[i].way[page.setting] for i in page.trials], area)
    marks: list[Mark] = [*_head(made, page, paper)]
    for quantity, field in zip(drawn, _fields(area, len(drawn)), strict=True):
        scale = upward(quantity, made.show, field)
        marks += _field(field, axis, scale)
        marks += _points(made, page, quantity, axis, scale)
    marks += _under(setting, axis, area)
    marks += _legend(made, page, bottom + 6.0, left + LEFT_MM)
    marks.append(Shapes("border", (paper.border,), None, BORDER))
    labels = [
        Placed("chart", mark.text, text_box(mark)) for mark in marks if isinstance(mark, Text)
    ]
    return paper.printed(f"{clean(made.title)}, what if {clean(setting.key)}", marks, labels)


def _fields(area: Polygon, count: int) -> list[Polygon]:
    """Return fields one below the other, the first on top."""
    left, bottom, right, top = area.bounds
    tall = (top - bottom - GAP_MM * (count - 1)) / count
    tops = [top - number * (tall + GAP_MM) for number in range(count)]
    return [box(left, each - tall, right, each) for each in tops]


def _head(made: Comparison, page: _Page, paper: Page) -> Iterator[Mark]:
    left, _, right, top = paper.border.bounds
    room = right - left - 12.0
    yield _text(_cut(clean(made.title), TITLE, room), (left + 6.0, top - 8.0), TITLE)
    said = f"What if: {clean(made.settings[page.setting].key)}"
    said += f", with {page.said}" if page.said else ""
    yield _text(_cut(said, SUBTITLE, room), (left + 6.0, top - 13.5), SUBTITLE)


def _cut(words: str, style: Style, room: float) -> str:
    """Return words shortened to a room."""
    while width_mm(words, style) > room and len(words) > 1:
        words = f"{words.rstrip('…')[:-1]}…"
    return words


def _text(words: str, at: Point, style: Style, anchor: Anchor = "left") -> Text:
    return Text("panel lettering", words, at, style.size_pt, anchor, 0.0, style.bold, style.colour)


def _field(field: Polygon, axis: Across, scale: Upward) -> Iterator[Mark]:
    """Yield frame, grid, figures up the left edge and the heading of a field."""
    left, _, right, top = field.bounds
    levels = [scale.at(value) for value, _ in scale.ticks]
    grid = [((left, y), (right, y)) for y in levels]
    grid += [((x, field.bounds[1]), (x, top)) for _, x in axis.labelled]
    if grid:
        yield Strokes("paper", tuple(grid), GRID)
    yield Shapes("dimensions", (field,), None, FRAME)
    for (_, words), y in zip(scale.ticks, levels, strict=True):
        yield _text(words, (left - 2.0, y - 1.0), LABEL, "right")
    yield _text(clean(scale.heading), (left, top + 2.2), NAME)


def _points(
    made: Comparison, page: _Page, quantity: Quantity, axis: Across, scale: Upward
) -> Iterator[Mark]:
    floor = scale.field.bounds[1]
    told = [(made.trials[i], quantity.values[i]) for i in page.trials]
    spots = [
        (axis.at(trial.way[page.setting]), None if value is None else scale.at(value))
        for trial, value in told
    ]
    yield from _lines(spots, axis, floor)
    for (trial, _), (x, y) in zip(told, spots, strict=True):
        if x is None:
            continue
        if y is None:
            yield cross((x, floor))
            continue
        if made.in_file(trial):
            yield ring((x, y))
        lacking = quantity.name == COST and _lacking(trial)
        yield square((x, y)) if lacking else dot((x, y))


def _lacking(trial: Trial) -> bool:
    return trial.figures is not None and bool(trial.figures.missing)


def _lines(
    spots: list[tuple[float | None, float | None]], axis: Across, floor: float
) -> Iterator[Mark]:
    """Yield the curve through points at scale, broken at faults; stems under words."""
    placed = sorted((x, y) for x, y in spots if x is not None and y is not None)
    faulty = [x for x, y in spots if x is not None and y is None]
    if not axis.at_scale:
        if placed:
            yield Strokes("dimensions", tuple(((x, floor), (x, y)) for x, y in placed), STEM)
        return
    pairs = tuple(
        (one, two) for one, two in pairwise(placed) if not any(one[0] < x < two[0] for x in faulty)
    )
    if pairs:
        yield Strokes("dimensions", pairs, CURVE)


def _under(setting: Varied, axis: Across, area: Polygon) -> Iterator[Mark]:
    """Yield the labels under the level axis, and what it shows."""
    left, bottom, right, _ = area.bounds
    for words, x in axis.labelled:
        for row, line in enumerate(_rows(words, axis.room)):
            yield _text(line, (x, bottom - 5.0 - 3.6 * row), LABEL, "middle")
    unit = f" [{setting.unit}]" if setting.unit else ""
    said = _cut(clean(f"{setting.key}{unit}"), NAME, right - left)
    yield _text(said, ((left + right) / 2, bottom - 17.5), NAME, "middle")


def _rows(words: str, room: float) -> list[str]:
    """Return a label on up to three lines, each cut to the room it has."""
    return [_cut(line, LABEL, room) for line in wrap(clean(words), LABEL, room)[:3]]


def _legend(made: Comparison, page: _Page, level: float, left: float) -> Iterator[Mark]:
    trials = [made.trials[i] for i in page.trials]
    rows = [(ring, "the file as it is")] if any(map(made.in_file, trials)) else []
    if any(map(_lacking, trials)):
        rows.append((square, "cost without what has no price"))
    if any(trial.figures is None for trial in trials):
        rows.append((cross, "variant with a fault"))
    x = left + 2.0
    for draw, words in rows:
        yield draw((x, level + 1.0))
        yield _text(words, (x + 4.0, level), BODY)
        x += 12.0 + width_mm(words, BODY)
    yield _text("Scales up the side need not start at nought.", (x, level), BODY)
