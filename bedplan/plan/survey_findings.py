"""What a taped fence wants settled before anybody digs (layer: plan).

The tie that looks wrong, ties that disagree together, other figures the ties allow, ties that
nothing checks, and corners far from square. Public entry point: `survey_findings`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from bedplan.errors import Finding
from bedplan.model.layout import System
from bedplan.model.ties import Tie, TiedRing, tie_name
from bedplan.survey import Rival, Survey, Suspect
from bedplan.survey.next_tie import tie_to_add
from bedplan.units import format_length

FENCE: Final = "fence"
"""Where the findings of a survey are."""

FAR_DEG: Final = 3.0
"""A corner this far from 90° or 270°, and not meant to be slanted, is told [deg]: our choice.

It is 1 in 19: about 5/8 in in a foot, or 52 mm in a metre.
"""

BAARDA: Final = "W. Baarda (1968), A testing procedure for use in geodetic networks"
PRINCIPLE: Final = "first principles: an error in a tie that no other tie checks cannot be seen"


def survey_findings(ring: TiedRing | None, survey: Survey | None, show: System) -> list[Finding]:
    """Return the findings of a fence told by ties; none where its corners are given.

    Parameters
    ----------
    ring
        The ties as the layout has them.
    survey
        What they came to.
    show
        How figures read.
    """
    if ring is None or survey is None:
        return []
    return [
        *_wrong(survey, show),
        *(_rival(rival, show) for rival in survey.rivals),
        *_unchecked(ring, survey),
        *_out_of_square(survey),
    ]


def told(length_m: float, show: System) -> str:
    """Return a length to the nearest 1/16 in or millimetre; small ones, to 1/32 in.

    Examples
    --------
    >>> told(0.0008, "imperial"), told(0.30, "imperial"), told(0.0008, "metric")
    ('1/32"', '11-13/16"', '0.8 mm')
    """
    if abs(length_m) >= 0.0254:
        return format_length(length_m, show)
    if show == "metric":
        return f"{length_m * 1000:.1f} mm"
    return format_length(length_m, show, 32)


def names(ties: Sequence[Tie]) -> str:
    """Return the names of ties in a row of words."""
    words = list(dict.fromkeys(tie.name for tie in ties))
    return ", ".join(words[:-1]) + " and " + words[-1] if len(words) > 1 else "".join(words)


def suspect_words(suspect: Suspect, show: System) -> str:
    """Return by how much a tie looks wrong: ``AC reads 4" too long``."""
    way = "long" if suspect.error_m > 0.0 else "short"
    wrong = (
        f"{suspect.tie.name} reads {told(abs(suspect.error_m), show)} too {way}: "
        f"{format_length(suspect.tie.length_m, show)} taped, "
        f"{format_length(suspect.corrected_m, show)} by all other ties"
    )
    if suspect.certain:
        return wrong
    return f"one of {names((suspect.tie, *suspect.alike))} is wrong; if it is the first, {wrong}"


def suspect_remedy(suspect: Suspect) -> str:
    """Return what to tape again, every tie that would explain the misfit as well among it."""
    if suspect.certain:
        return f"tape {suspect.tie.name} again, and look whether a figure was misread"
    return f"tape {names((suspect.tie, *suspect.alike))} again, and one tie more to tell which"


def _wrong(survey: Survey, show: System) -> Iterator[Finding]:
    if survey.suspect is not None:
        yield Finding(
            "survey-suspect",
            "error",
            FENCE,
            suspect_words(survey.suspect, show),
            "residuals within 3.29 standard deviations",
            BAARDA,
            suspect_remedy(survey.suspect),
        )
    elif not survey.sound and survey.unit_weight is not None:
        yield Finding(
            "survey-unsound",
            "warning",
            FENCE,
            f"the ties disagree {survey.unit_weight:.1f} times as much as the tape should",
            "about 1",
            "C. F. Gauss (1823), Theoria combinationis observationum erroribus minimis obnoxiae",
            "tape the ties with the largest residuals again, level and with the same pull",
        )


def _rival(rival: Rival, show: System) -> Finding:
    inward = ", ".join(sorted(rival.inward)) or "no corner"
    pair = tie_name(*rival.settle)
    return Finding(
        "survey-rival",
        "warning",
        FENCE,
        f"the ties fit another figure too, with {inward} pointing inward",
        "ties that only one fence meets",
        "first principles: ties alone never tell a mark from its mirror image",
        f"tape {pair}: {format_length(rival.here_m, show)} in the figure taken, "
        f"{format_length(rival.there_m, show)} in the other; or say it by `inward`",
    )


def _unchecked(ring: TiedRing, survey: Survey) -> Iterator[Finding]:
    if not survey.unchecked:
        return
    add = tie_to_add(ring, survey)
    every = len(survey.unchecked) == len(survey.ties)
    yield Finding(
        "survey-unchecked",
        "warning",
        FENCE,
        "no tie is checked by another" if every else f"nothing checks {names(survey.unchecked)}",
        "every tie checked",
        PRINCIPLE,
        f"tape {tie_name(*add)} as well" if add else "tie another mark to every corner",
    )


def _out_of_square(survey: Survey) -> Iterator[Finding]:
    far = [
        f"{corner.name} {corner.interior_deg:.1f}°"
        for corner in survey.corners
        if corner.off_square_deg is not None and abs(corner.off_square_deg) >= FAR_DEG
    ]
    if far:
        yield Finding(
            "corner-square",
            "note",
            FENCE,
            ", ".join(far),
            f"within {FAR_DEG:g}° of square where units run along both sides",
            "common practice, no source",
            "lay units along one side of each and let a bed take up the slant",
        )
