"""Rules of practice: where a plan breaks one, and what to mind while building (layer: practice).

Every rule says what it measured, the limit, whose limit it is, and what to change. Limits bind
nobody: local codes and licensed practice come first. Public entry points: `check`, `cautions`.
"""

from __future__ import annotations

from bedplan.errors import Finding
from bedplan.ground.works import Works
from bedplan.practice.beds import check_beds
from bedplan.practice.cautions import Caution, cautions
from bedplan.practice.edging import check_edging
from bedplan.practice.gates import check_gates
from bedplan.practice.goods import check_goods
from bedplan.practice.ground import check_ground
from bedplan.practice.roots import check_roots
from bedplan.practice.subject import Subject
from bedplan.practice.walks import check_walks

__all__ = ["Caution", "Subject", "cautions", "check"]


def check(subject: Subject, works: Works | None = None) -> tuple[Finding, ...]:
    """Return every finding, the gravest first."""
    found = [*check_gates(subject), *check_walks(subject), *check_beds(subject)]
    found += check_edging(subject)
    found += check_goods(subject)
    found += check_roots(subject)
    found += check_ground(subject, works)
    rank = {"error": 0, "warning": 1, "note": 2}
    return tuple(sorted(found, key=lambda finding: rank[finding.severity]))
