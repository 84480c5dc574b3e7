"""A set-out as plain data in SI units, for ``--json`` (layer: outputs).

Public entry point: `setout_record`.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from bedplan.plan.setting_out import SetOut
from bedplan.survey import Frame, Stake, StringLine

Record = dict[str, Any]


def setout_record(title: str, out: SetOut) -> Record:
    """Return every stake, frame, string and course as nested dicts and lists."""
    return {
        "title": title,
        "marks": {name: list(at) for name, at in out.marks.items()},
        "stakes": [_stake(group.what, stake) for group in out.groups for stake in group.stakes],
        "frames": [_frame(bed, frame) for bed, frame in out.frames],
        "strings": [_string(line) for line in out.strings],
        "rounds": [asdict(each) for each in out.rounds],
        "courses": [{**asdict(each), "gauge_m": list(each.gauge_m)} for each in out.courses],
    }


def _stake(what: str, stake: Stake) -> Record:
    beside = stake.beside
    return {
        "name": stake.name,
        "what": what,
        "at": list(stake.at),
        "ties": [asdict(tie) for tie in stake.ties],
        "hand": stake.hand,
        "crossing_deg": stake.crossing_deg,
        "check": None if stake.check is None else asdict(stake.check),
        "beside": None
        if beside is None
        else {
            "side": beside.side,
            "along_m": beside.along.exact_m,
            "along_tape_m": beside.along.tape_m,
            "in_m": beside.in_exact_m,
            "in_tape_m": beside.in_tape_m,
        },
        "rounding_m": stake.rounding_m,
        "sigma_m": stake.sigma_m,
        "clear": stake.clear,
    }


def _frame(bed: str, frame: Frame) -> Record:
    return {
        "bed": bed,
        "sides": [asdict(span) for span in frame.sides],
        "diagonals": [asdict(span) for span in frame.diagonals],
        "square": frame.square,
    }


def _string(line: StringLine) -> Record:
    return {
        "name": line.name,
        "ends": [asdict(end) for end in line.ends],
        "rounding_m": line.rounding_m,
    }
