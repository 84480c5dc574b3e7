"""Key figures of the demo gardens, kept beside this file; a change of one must be meant.

After a change that is meant, write them anew and read the difference before committing it::

    BEDPLAN_GOLDEN=write python -m pytest tests/golden

The figures are what bedplan gave, not what anybody published: they say that something moved,
while the tests in ``tests/validation`` and ``tests/laws`` say what is right.
"""

from __future__ import annotations

import copy
import json
import math
import os
from pathlib import Path

import pytest

from bedplan import load_layout, make_plan
from bedplan.outputs.record import record

HERE = Path(__file__).parent
LAYOUTS = HERE.parents[1] / "layouts"
NAMES = ["corner-plot", "five-sided-yard", "sloping-terrace", "taped-plot", "tutorial"]
CLOSE = 1e-6
"""Metres, square metres, cubic metres or money; relative where a figure is above 1."""


def key_figures(plan):
    """Return the figures worth keeping: no placements, no texts that may be reworded."""
    data = record(plan)
    keep = {
        "paths": (
            "name",
            "area_m2",
            "units",
            "bond",
            "direction_deg",
            "joint_m",
            "upper_bound",
            "shift_proven",
            "paved_area_m2",
        ),
        "barrier": (
            "fabric",
            "net_area_m2",
            "fabric_area_m2",
            "direction_deg",
            "strips_m",
            "buy",
            "pins",
        ),
        "edging": ("board", "buy", "cost", "lower_bound", "proven"),
        "order": ("item", "quantity", "unit", "cost"),
        "checks": ("rule", "severity", "where"),
    }
    short = {
        part: [{key: row[key] for key in keys} for row in data[part]]
        for part, keys in keep.items()
    }
    pieces = [
        {key: piece[key] for key in ("label", "long_m", "short_m", "end_deg", "ends")}
        for part in data["edging"]
        for piece in part["pieces"]
    ]
    return (
        {key: data[key] for key in ("title", "enclosure", "beds", "fill", "cost")}
        | short
        | {"pieces": pieces}
    )


def differences(kept, found, where=""):
    """Yield every place where two sets of figures part."""
    if isinstance(kept, dict) and isinstance(found, dict):
        for key in kept.keys() | found.keys():
            yield from differences(kept.get(key), found.get(key), f"{where}.{key}")
    elif isinstance(kept, list) and isinstance(found, list) and len(kept) == len(found):
        for number, (one, other) in enumerate(zip(kept, found, strict=True)):
            yield from differences(one, other, f"{where}[{number}]")
    elif not same(kept, found):
        yield f"{where.lstrip('.')}: kept {kept!r}, found {found!r}"


def same(one, other):
    if any(isinstance(each, bool) or not isinstance(each, int | float) for each in (one, other)):
        return one == other and type(one) is type(other)
    return math.isclose(one, other, rel_tol=CLOSE, abs_tol=CLOSE)


def figures_of(name):
    return key_figures(make_plan(load_layout(LAYOUTS / f"{name}.toml")))


@pytest.fixture(scope="module")
def found():
    return {name: figures_of(name) for name in NAMES}


def kept(name):
    return json.loads((HERE / f"{name}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", NAMES)
def test_demo_gardens_give_the_figures_kept(found, name):
    if os.environ.get("BEDPLAN_GOLDEN") == "write":
        text = json.dumps(found[name], indent=1, ensure_ascii=False)
        (HERE / f"{name}.json").write_text(text + "\n", encoding="utf-8")
    assert not list(differences(kept(name), json.loads(json.dumps(found[name]))))


def numbers(data, where=()):
    """Yield the way to every number."""
    pairs = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    for key, value in pairs:
        if isinstance(value, int | float) and not isinstance(value, bool):
            yield (*where, key)
        yield from numbers(value, (*where, key))


@pytest.mark.parametrize("name", NAMES)
def test_any_figure_that_moves_is_seen(name):
    figures = kept(name)
    ways = list(numbers(figures))
    assert len(ways) > 50
    for way in ways:
        moved = copy.deepcopy(figures)
        place = moved
        for key in way[:-1]:
            place = place[key]
        place[way[-1]] = place[way[-1]] * (1 + 1e-5) + 1e-5
        (told,) = differences(figures, moved)
        assert str(way[-1]) in told


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data["pieces"].pop(),
        lambda data: data.pop("cost"),
        lambda data: data["order"].append(data["order"][0]),
        lambda data: data["edging"][0].update(proven=not data["edging"][0]["proven"]),
        lambda data: data["pieces"][0]["ends"].reverse() or data["pieces"][0].update(label="9.9"),
        lambda data: data.update(new=1),
    ],
)
def test_whatever_is_lost_or_added_is_seen(change):
    figures = kept("tutorial")
    moved = copy.deepcopy(figures)
    change(moved)
    assert list(differences(figures, moved))


def test_rounding_is_not_seen():
    figures = kept("tutorial")
    moved = copy.deepcopy(figures)
    moved["enclosure"]["area_m2"] *= 1 + 1e-9
    assert not list(differences(figures, moved))
