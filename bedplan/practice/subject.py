"""What the rules look at (layer: practice)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bedplan.edging.model import BedEdging
from bedplan.model.layout import Layout
from bedplan.model.site import Site
from bedplan.units import System, format_length


@dataclass(frozen=True)
class Subject:
    """A layout, its site and its edging, ready to be checked."""

    layout: Layout
    site: Site
    edging: Sequence[BedEdging]

    @property
    def show(self) -> System:
        """The system figures are told in."""
        return self.layout.show

    def length(self, length_m: float) -> str:
        """Return a length as the plan shows lengths."""
        return format_length(length_m, self.show)
