"""All paths laid, one after the other (layer: plan).

Where two paths come within a joint of each other, the one that stands later in the file leaves
that joint. Public entry points: `lay_walks`, and `units_before` for a path looked at by itself.
"""

from __future__ import annotations

from bedplan.model.layout import Layout
from bedplan.model.site import Site
from bedplan.plan.apart import Beside
from bedplan.plan.walk import FreeSearch, Walk, lay_walk


def lay_walks(layout: Layout, site: Site, search: FreeSearch) -> list[Walk]:
    """Return all paths laid, in file order; a later one keeps a joint from units of earlier ones.

    Raises
    ------
    LayoutError
        As `lay_walk`.
    """
    walks: list[Walk] = []
    for path in site.paths:
        beside = [Beside(walk.outlines, walk.joint_m) for walk in walks if walk.layings]
        walks.append(lay_walk(layout, site, path, search, beside=beside))
    return walks


def units_before(
    layout: Layout, site: Site, number: int, search: FreeSearch | None = None
) -> tuple[Beside, ...]:
    """Return the units of earlier paths that come within a joint of a path; mostly none.

    Only paths that near are laid for it, with the paths they need in turn.
    """
    ground, own = site.paths[number].area, site.paths[number].spec.paving
    near: list[Beside] = []
    for earlier, path in enumerate(site.paths[:number] if own else ()):
        paving = path.spec.paving
        if own and paving and path.area.distance(ground) < max(own.joint_m[0], paving.joint_m[0]):
            beside = units_before(layout, site, earlier, search)
            walk = lay_walk(
                layout, site, path, search or FreeSearch(), bounds=False, beside=beside
            )
            near.append(Beside(walk.outlines, walk.joint_m))
    return tuple(near)
