"""Mulch as deep as what is on hand spreads it (layer: plan).

Every bed that asks for it gets the same depth on top of what lies there. Layers of set depth take
theirs first, and of each volume spread the material's waste is lost beside it. Volume over area is
depth: first principles. Public entry point: `spread_on_hand`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from bedplan.edging import BedEdging
from bedplan.model.layout import BedSpec, Layer, Layout
from bedplan.model.materials import Material
from bedplan.model.site import Site
from bedplan.plan.filled import fill_lines
from bedplan.plan.grounding import work_ground
from bedplan.plan.walk import Walk
from bedplan.takeoff.fill import FillLine
from bedplan.takeoff.spreading import spread_heap


def spread_on_hand(
    layout: Layout, site: Site, edging: Sequence[BedEdging], walks: Sequence[Walk]
) -> tuple[Layout, Site]:
    """Return layout and site with the depth of mulch that is spread from what is on hand.

    Parameters
    ----------
    layout, site
        What is asked, and where it lies; both come back as they are if no bed asks for it.
    edging, walks
        Beds and paths worked out, in the order of the file.
    """
    names = {bed.mulch.material for bed in layout.beds if bed.mulch and bed.mulch.from_heap}
    if not names:
        return layout, site
    bare = _with_depths(layout, site, lambda mulch: mulch.there_m)
    works = work_ground(*bare, edging, walks)
    lines = tuple(fill_lines(*bare, edging, walks, works))
    asking = {bed.name for bed in layout.beds if bed.mulch and bed.mulch.from_heap}
    even_m = {name: _even_m(layout.materials[name], lines, asking) for name in names}
    return _with_depths(layout, site, lambda mulch: mulch.there_m + even_m[mulch.material])


def _even_m(material: Material, lines: Sequence[FillLine], asking: set[str]) -> float:
    """Return the depth that what set depths leave of a heap gives all that ask for it [m]."""
    spread = [line for line in lines if line.kind == "mulch" and line.where in asking]
    taken_m3 = sum(line.loose_m3 for line in lines if line.material == material.name)
    left_m3 = max(0.0, material.on_hand_m3 / (1.0 + material.waste) - taken_m3)
    return spread_heap(material, left_m3, spread).even_m


def _with_depths(
    layout: Layout, site: Site, depth_m: Callable[[Layer], float]
) -> tuple[Layout, Site]:
    """Return layout and site with the depths of mulch from a heap set."""

    def filled(bed: BedSpec) -> BedSpec:
        if bed.mulch is None or not bed.mulch.from_heap:
            return bed
        return replace(bed, mulch=replace(bed.mulch, depth_m=depth_m(bed.mulch)))

    beds = tuple(replace(bed, spec=filled(bed.spec)) for bed in site.beds)
    return replace(layout, beds=tuple(map(filled, layout.beds))), replace(site, beds=beds)
