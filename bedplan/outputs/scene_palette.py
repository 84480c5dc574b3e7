"""Colours, pens and type styles of the drawings, in one place (layer: outputs).

Nothing is told by hue alone. Every kind of ground has a texture and every line a weight or
dash of its own, and the fills differ in lightness, so a sheet copied in black and white reads
the same. Hues are blue, orange-brown and dark green on straw and cool grey: pairs that
remain apart for readers who do not see red from green.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bedplan.outputs.scene import Pen

INK: Final = "#1b1f23"
SLATE: Final = "#3c4a57"
BLUE: Final = "#0b4f8a"
GREEN: Final = "#1f5138"
BROWN: Final = "#7a4318"
WHITE: Final = "#ffffff"

SPARE_FILL: Final = "#ffffff"
PATH_FILL: Final = "#e8edf1"
PATH_MARK: Final = "#8d99a4"
UNIT_FILL: Final = "#f8fafb"
SECOND_UNIT_FILL: Final = "#bac7d2"
BED_FILL: Final = "#ead8a9"
BED_MARK: Final = "#94703d"
FENCE_FILL: Final = "#d5d9dd"
BOARD_FILLS: Final = (BROWN, "#2f3b46", "#c08a4e", "#5c6f80")
CROWN_FILL: Final = "#5f8f6f"
CROWN_OPACITY: Final = 0.13

HAIR: Final = Pen(0.10, SLATE)
FENCE_FACE: Final = Pen(0.60, INK)
FENCE_BACK: Final = Pen(0.25, INK)
FENCE_HATCH: Final = Pen(0.13, INK)
POST: Final = Pen(0.10, INK)
GATE_LEAF: Final = Pen(0.25, BLUE)
GATE_SWING: Final = Pen(0.18, BLUE, (1.4, 0.8))
UNIT: Final = Pen(0.16, SLATE)
PATH_EDGE: Final = Pen(0.18, SLATE)
BED_EDGE: Final = Pen(0.25, BROWN, (2.0, 0.9))
BOARD_PEN_MM: Final = 0.06
CROWN: Final = Pen(0.28, GREEN, (2.2, 0.9, 0.5, 0.9))
PLANNED_CROWN: Final = Pen(0.22, GREEN, (0.7, 0.7))
RING: Final = Pen(0.15, GREEN)
DIMENSION: Final = Pen(0.15, INK)
TICK: Final = Pen(0.40, INK)
LEADER: Final = Pen(0.18, INK)
BORDER: Final = Pen(0.60, INK)
RULE: Final = Pen(0.20, INK)


@dataclass(frozen=True)
class Style:
    """A style of type: size [pt], weight and colour."""

    size_pt: float
    bold: bool = False
    colour: str = INK

    def sized(self, size_pt: float) -> Style:
        """Return the same style in another size [pt]."""
        return Style(size_pt, self.bold, self.colour)


TITLE: Final = Style(14.0, bold=True)
SUBTITLE: Final = Style(8.5, colour=SLATE)
HEADING: Final = Style(7.5, bold=True, colour=SLATE)
BODY: Final = Style(7.0)
SMALL: Final = Style(6.2, colour=SLATE)
CORNER: Final = Style(9.0, bold=True)
NAME: Final = Style(8.0, bold=True)
FIGURE: Final = Style(7.0)
DIMENSION_TEXT: Final = Style(7.0)
INNER_DIMENSION: Final = Style(6.2, colour=SLATE)
PLANT_NAME: Final = Style(7.0, colour=GREEN)
GATE_NAME: Final = Style(7.0, bold=True, colour=BLUE)
