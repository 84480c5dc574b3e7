"""A survey and a set-out as plain data in SI units, for ``--json`` (layer: outputs).

Public entry points: `survey_record`, `corners_record`.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from bedplan.model.site import Enclosure
from bedplan.model.ties import TiedRing
from bedplan.survey import Closure, Rival, Survey, Suspect, TieCheck
from bedplan.survey.next_tie import tie_to_add

Record = dict[str, Any]


def survey_record(ring: TiedRing | None, survey: Survey | None) -> Record | None:
    """Return a survey as nested dicts and lists; None where no corner was taped."""
    if ring is None or survey is None:
        return None
    add = tie_to_add(ring, survey)
    return {
        "ties": [_tie(check) for check in survey.ties],
        "redundancy": survey.redundancy,
        "unit_weight": survey.unit_weight,
        "sound": survey.sound,
        "suspect": None if survey.suspect is None else _suspect(survey.suspect),
        "unchecked": [tie.name for tie in survey.unchecked],
        "tape_next": None if add is None else list(add),
        "marks": [
            {
                "name": mark.name,
                "at": list(mark.at),
                "error": None if mark.error is None else asdict(mark.error),
            }
            for mark in survey.marks
        ],
        "corners": [asdict(corner) for corner in survey.corners],
        "closure": _closure(survey.closure),
        "rivals": [_rival(rival) for rival in survey.rivals],
    }


def _tie(check: TieCheck) -> Record:
    return {
        "name": check.tie.name,
        "first": check.tie.first,
        "second": check.tie.second,
        "measured_m": check.tie.length_m,
        "sigma_m": check.sigma_m,
        "computed_m": check.computed_m,
        "residual_m": check.residual_m,
        "standardised": check.standardised,
        "redundancy": check.redundancy,
        "visible_m": check.visible_m,
    }


def _suspect(suspect: Suspect) -> Record:
    return {
        "tie": suspect.tie.name,
        "standardised": suspect.standardised,
        "corrected_m": suspect.corrected_m,
        "error_m": suspect.error_m,
        "alike": [tie.name for tie in suspect.alike],
        "certain": suspect.certain,
    }


def _closure(closure: Closure) -> Record:
    return {**asdict(closure), "ratio": closure.ratio}


def _rival(rival: Rival) -> Record:
    return {
        "places": {name: list(at) for name, at in rival.places.items()},
        "inward": sorted(rival.inward),
        "settle": list(rival.settle),
        "here_m": rival.here_m,
        "there_m": rival.there_m,
    }


def corners_record(enclosure: Enclosure) -> list[Record]:
    """Return the angle inside the fence at every corner, in file order."""
    return [
        {"name": name, "at": list(at), "interior_deg": enclosure.interior_deg(number)}
        for number, (name, at) in enumerate(enclosure.corners)
    ]
