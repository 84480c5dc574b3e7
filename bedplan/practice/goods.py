"""Rules for loose materials: compaction and weight beside the published ones (layer: practice).

Public entry points: `check_goods`, `beside_published`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal, cast

from bedplan.errors import Finding
from bedplan.model.layout import Layout
from bedplan.model.materials import Material
from bedplan.model.published import LB_YD3, PUBLISHED, Figure, MaterialKind
from bedplan.practice.subject import Subject
from bedplan.units import System

CLOSE: Final = 0.05
"""A figure this near to a published one agrees with it [-]; common practice, no source."""


@dataclass(frozen=True)
class Beside:
    """One figure of a material beside what is published for its kind."""

    material: str
    kind: str
    figure: Literal["compaction", "density"]
    own: float
    published: tuple[Figure, ...]

    @property
    def agrees(self) -> bool:
        """Whether it lies between the least and the greatest published figure, or close by."""
        least = min(each.least for each in self.published)
        most = max(each.most for each in self.published)
        return least * (1.0 - CLOSE) <= self.own <= most * (1.0 + CLOSE)

    def tell(self, value: float, show: System) -> str:
        """Return a value of this figure in the system results are read in."""
        if self.figure == "compaction":
            return f"{value:.3g}"
        return f"{value:.0f} kg/m^3" if show == "metric" else f"{value / LB_YD3:.0f} lb/yd^3"

    def ranges(self, show: System) -> list[str]:
        """Return every published range in words."""
        return [
            self.tell(each.least, show)
            if each.least == each.most
            else f"{self.tell(each.least, show)} to {self.tell(each.most, show)}"
            for each in self.published
        ]


def beside_published(layout: Layout) -> Iterator[Beside]:
    """Yield the figures of every material of a known kind that is used, by name."""
    for name in sorted(used_materials(layout)):
        material = layout.materials[name]
        if material.kind is not None:
            yield from _figures(material)


def _figures(material: Material) -> Iterator[Beside]:
    kind = cast("MaterialKind", material.kind)
    known = PUBLISHED[kind]
    if known.compaction:
        yield Beside(material.name, kind, "compaction", material.compaction, known.compaction)
    if known.density_kg_m3 and material.density_kg_m3 is not None:
        yield Beside(material.name, kind, "density", material.density_kg_m3, known.density_kg_m3)


def used_materials(layout: Layout) -> set[str]:
    """Return the names of all materials beds and paths are filled with."""
    filled = [layer for bed in layout.beds for layer in bed.layers]
    filled += [bed.mulch for bed in layout.beds if bed.mulch]
    filled += [layer for path in layout.paths for layer in path.layers]
    joints = {path.joint_fill for path in layout.paths if path.joint_fill}
    return {layer.material for layer in filled} | joints


def check_goods(subject: Subject) -> Iterator[Finding]:
    """Yield a finding for every figure outside what is published for its kind."""
    for each in beside_published(subject.layout):
        if not each.agrees:
            yield Finding(
                "published-figure",
                "note",
                each.material,
                f"{each.figure} {each.tell(each.own, subject.show)}",
                f"{' or '.join(each.ranges(subject.show))} for {each.kind}",
                _sources(each.published),
                "ask the yard, or take the published figure",
            )


def _sources(figures: Sequence[Figure]) -> str:
    return "; ".join(dict.fromkeys(each.source for each in figures))
