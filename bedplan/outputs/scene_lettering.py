"""How much room a line of text takes, and blocks of lines set about a point (layer: outputs).

Widths are the advances of DejaVu Sans, the face every drawing is set in (it comes with the
drawing library), in thousandths of the type size; read from the font files, so no drawing
library is needed to lay a sheet out. Characters outside the table count as their plain letter,
or as a full em where they are wide.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from shapely.geometry import Polygon

from bedplan.outputs.scene import POINT_MM, Point, Text
from bedplan.outputs.scene_palette import Style

ASCENT_EM: Final = 0.78
"""Top of capitals, ascenders and their marks over the baseline, in parts of the type size."""

DESCENT_EM: Final = 0.24
"""Depth of ``g`` and ``y`` below the baseline."""

PITCH_EM: Final = 1.24
"""From one baseline to the next."""

_SAFETY: Final = 1.02
# one number to a line would hide the module
# fmt: off
_REGULAR: Final = (
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698,
    770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732,
    684, 989, 685, 611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635,
    634, 278, 278, 579, 278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,
    525, 636, 337, 636, 838,
)
_BOLD: Final = (
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734,
    830, 683, 683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812,
    774, 1103, 771, 724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716,
    712, 343, 343, 665, 343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652,
    582, 712, 365, 712, 838,
)
# fmt: on
_OTHER: Final = {
    "°": 500,
    "²": 438,
    "³": 438,
    "·": 380,
    "×": 838,
    "–": 500,
    "—": 1000,
    "⌀": 602,
    "…": 1000,
    "’": 380,
}


def clean(words: str) -> str:
    """Return text that fits on one line of any file: no line breaks, no control characters."""
    return " ".join(
        "".join(" " if unicodedata.category(sign)[0] == "C" else sign for sign in words).split()
    )


def _advance(sign: str, table: Sequence[int]) -> int:
    place = ord(sign) - 32
    if 0 <= place < len(table):
        return table[place]
    if sign in _OTHER:
        return _OTHER[sign]
    plain = unicodedata.normalize("NFD", sign)[0]
    if plain != sign:
        return _advance(plain, table)
    return 1050 if unicodedata.east_asian_width(sign) in "WF" else 860


@lru_cache(maxsize=4096)
def width_mm(words: str, style: Style) -> float:
    """Return the room a line takes along its baseline, a little on the safe side [mm]."""
    table = _BOLD if style.bold else _REGULAR
    ems = sum(_advance(sign, table) for sign in words) / 1000.0
    return ems * style.size_pt * POINT_MM * _SAFETY


def height_mm(style: Style) -> float:
    """Return the height of one line from its lowest to its highest stroke [mm]."""
    return (ASCENT_EM + DESCENT_EM) * style.size_pt * POINT_MM


def rectangle(center: Point, width: float, height: float, angle_deg: float = 0.0) -> Polygon:
    """Return a rectangle about its centre, turned [mm, deg]."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    across, up = width / 2, height / 2
    return Polygon(
        [
            (center[0] + x * cos - y * sin, center[1] + x * sin + y * cos)
            for x, y in ((-across, -up), (across, -up), (across, up), (-across, up))
        ]
    )


def box(text: Text) -> Polygon:
    """Return the rectangle a line of text covers, as it is turned [mm]."""
    style = Style(text.size_pt, text.bold)
    wide, em = width_mm(text.text, style), text.size_pt * POINT_MM
    start = {"left": 0.5, "middle": 0.0, "right": -0.5}[text.anchor] * wide
    up = (ASCENT_EM - DESCENT_EM) / 2 * em
    cos, sin = math.cos(math.radians(text.angle_deg)), math.sin(math.radians(text.angle_deg))
    center = (text.at[0] + start * cos - up * sin, text.at[1] + start * sin + up * cos)
    return rectangle(center, wide, height_mm(style), text.angle_deg)


Line = tuple[str, Style]
"""One line of a block: what it says and its style."""


@lru_cache(maxsize=4096)
def block_size_mm(lines: tuple[Line, ...]) -> tuple[float, float]:
    """Return width and height of centred lines set one below the other [mm]."""
    wide = max(width_mm(words, style) for words, style in lines)
    ems = ASCENT_EM * lines[0][1].size_pt + DESCENT_EM * lines[-1][1].size_pt
    return wide, ems * POINT_MM + sum(_pitch_mm(style) for _, style in lines[1:])


def _pitch_mm(style: Style) -> float:
    return PITCH_EM * style.size_pt * POINT_MM


def block(
    lines: tuple[Line, ...], center: Point, angle_deg: float = 0.0, layer: str = "lettering"
) -> tuple[Text, ...]:
    """Return lines set one below the other, centred on a point [mm], turned as one."""
    _, tall = block_size_mm(lines)
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    down = tall / 2 - ASCENT_EM * lines[0][1].size_pt * POINT_MM
    texts = []
    for number, (words, style) in enumerate(lines):
        down -= _pitch_mm(style) if number else 0.0
        texts.append(
            Text(
                layer,
                words,
                (center[0] - down * sin, center[1] + down * cos),
                style.size_pt,
                "middle",
                angle_deg,
                style.bold,
                style.colour,
            )
        )
    return tuple(texts)


def wrap(words: str, style: Style, room_mm: float) -> list[str]:
    """Return text broken at blanks so that no line but a single long word exceeds the room."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_mm(longer, style) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines or [""]


def upright(angle_deg: float) -> float:
    """Return the angle at which text along a line reads from below or from the right [deg].

    Lines that lean a little past the vertical still read from the right, so that the two
    sides of a crooked fence do not read opposite ways.

    Examples
    --------
    >>> upright(180.0), upright(270.0), upright(-86.0), upright(150.0)
    (0.0, 90.0, 94.0, -30.0)
    """
    turned = angle_deg % 180.0
    return turned - 180.0 if turned > 110.0 else turned
