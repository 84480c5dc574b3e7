"""A layout whose fence is told by ties, with its corners found (layer: survey engine).

Public entry point: `surveyed`.
"""

from __future__ import annotations

from dataclasses import replace

from bedplan.model.layout import Layout
from bedplan.survey.model import Survey
from bedplan.survey.solve import solve_ring


def surveyed(layout: Layout) -> tuple[Layout, Survey | None]:
    """Return the layout with its corners where the ties put them, and the survey.

    A layout whose corners are given comes back as it is, without a survey.

    Raises
    ------
    LayoutError
        With every fault of the ties; see `survey.solve`.
    """
    ties = layout.enclosure.ties
    if ties is None:
        return layout, None
    survey = solve_ring(ties)
    return replace(layout, enclosure=replace(layout.enclosure, corners=survey.ring)), survey
