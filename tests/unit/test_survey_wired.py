"""A fence told by ties, from file to plan: the garden its corners would give, faults in place."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from bedplan import make_plan
from bedplan.errors import LayoutError
from bedplan.layout_file import load_layout, parse_layout
from bedplan.layout_file.ties import key_of_tie, marks_of_tie
from bedplan.model.layout import EnclosureSpec
from bedplan.outputs.record import record
from bedplan.outputs.survey_sheet import survey_sheet
from bedplan.plan.survey_findings import FAR_DEG
from bedplan.survey import solve_ring, surveyed
from bedplan.survey.next_tie import ENOUGH, tie_to_add

LAYOUTS = Path(__file__).parents[2] / "layouts"

REST = """
[[gate]]
name = "gate"
side = "AB"
along = 2
opening = 1.1
hinge = "A"

[[bed]]
name = "border"
along = ["BC", "CD"]
width = 0.7

[[bed]]
name = "square"
rectangle = { center = { side = "DA", along = 2.5, in = 2 }, size = [1.6, 1.2], square_to = "AB" }

[[path]]
name = "walk"
area = "rest"
pavers = "slab"

[paver.slab]
size = ["40 cm", "40 cm"]
thickness = "5 cm"
"""

PLACES = {"A": (0.0, 0.0), "B": (8.0, 0.0), "C": (7.7, 5.6), "D": (-0.3, 5.9), "oak": (3.0, 3.2)}


def tied(pairs, head='corners = ["A", "B", "C", "D"]', change=None, rest=REST):
    """Return a layout whose ties are the distances between `PLACES`, to 0.1 mm."""
    change = change or {}
    lines = [
        f"{pair} = {change.get(pair, round(math.dist(*(PLACES[n] for n in names(pair))), 4))}"
        for pair in pairs
    ]
    table = "\n".join(lines)
    return f'title = "Yard"\nunit = "m"\n[enclosure]\n{head}\n[enclosure.ties]\n{table}\n{rest}'


def names(pair):
    return pair.split("-") if "-" in pair else list(pair)


ALL = ["AB", "BC", "CD", "DA", "AC", "BD"]


@pytest.fixture(scope="module")
def with_ties():
    return make_plan(parse_layout(tied(ALL)))


def test_ties_give_the_garden_that_corners_give(with_ties):
    corners = ", ".join(f"{name} = [{x}, {y}]" for name, (x, y) in PLACES.items() if name != "oak")
    text = f'title = "Yard"\nunit = "m"\n[enclosure]\ncorners = {{ {corners} }}\n{REST}'
    given = make_plan(parse_layout(text))
    assert given.survey is None
    # lengths to 0.1 mm leave corners within a fraction of a millimetre
    for (name, here), (other, there) in zip(
        with_ties.site.enclosure.corners, given.site.enclosure.corners, strict=True
    ):
        assert name == other
        assert math.dist(here, there) < 3e-4
    for one, other in zip(with_ties.site.beds, given.site.beds, strict=True):
        assert one.outline.hausdorff_distance(other.outline) < 5e-4
    assert with_ties.site.gates[0].start == pytest.approx(given.site.gates[0].start, abs=3e-4)
    assert [walk.count for walk in with_ties.walks] == [walk.count for walk in given.walks]


def test_the_layout_keeps_its_ties_and_is_not_solved_twice_over(with_ties):
    layout = with_ties.layout
    assert [tie.name for tie in layout.enclosure.ties.ties] == ALL
    assert with_ties.survey.ring == layout.enclosure.corners
    # as a Python caller may build it: without corners yet
    bare = EnclosureSpec((), layout.enclosure.posts, layout.enclosure.ties)
    solved, survey = surveyed(
        type(layout)(layout.title, bare, layout.gates, beds=layout.beds, pavers=layout.pavers)
    )
    assert solved.enclosure.corners == layout.enclosure.corners
    assert survey.redundancy == 1


def test_a_tie_of_several_readings_and_marks_of_many_letters():
    head = 'corners = ["A", "B", "C", "D"]\nmarks = { oak = "inside" }'
    text = tied([*ALL, "A-oak", "B-oak", "C-oak"], head)
    layout = parse_layout(text.replace("AB = 8.0", "AB = [8.0, 8.002]"))
    plan = make_plan(layout)
    assert plan.survey.redundancy == 10 - (2 * 5 - 3)
    assert math.dist(plan.survey.places["oak"], PLACES["oak"]) < 5e-3
    assert [tie.name for tie in layout.enclosure.ties.ties][:2] == ["AB", "AB"]
    assert plan.survey.ties[-1].tie.name == "C–oak"


def test_known_corners_turn_inward_and_tape_reach_the_survey():
    head = (
        'corners = ["D", "C", "B", "A"]\nturn = "cw"\ninward = []\n'
        'known = { A = [10, 20], B = [10, 28] }\ntape = { fixed = "1 mm", per = 0.0002 }'
    )
    ring = parse_layout(tied(ALL, head, rest="")).enclosure.ties
    assert ring.shape.turn == "cw"
    assert ring.shape.inward == frozenset()
    assert ring.tape.sigma_m(10.0) == pytest.approx(0.003)
    found = solve_ring(ring)
    assert found.places["A"] == (10.0, 20.0)
    # A and B lie along y: the whole plot is turned a quarter to the left
    assert found.places["C"] == pytest.approx((10 - 5.6, 20 + 7.7), abs=1e-3)


ONE_FAULT = [
    (
        "unknown mark",
        lambda text: text.replace("AC =", "AX ="),
        "AX =",
        "AX runs to 'X', which is no mark",
    ),
    (
        "unparsable key",
        lambda text: text.replace("AC =", '"?!" ='),
        '"?!" =',
        "names no two marks",
    ),
    ("to itself", lambda text: text.replace("AC =", "AA ="), "AA =", "a tie from A to itself"),
    (
        "too few ties",
        lambda text: re.sub(r"(?m)^(AC|BD) = .*\n", "", text),
        "[enclosure.ties]",
        "free to move",
    ),
    (
        "a triangle no tapes can make",
        lambda text: re.sub(r"(?m)^AC = .*$", "AC = 19.5", text),
        "AC = 19.5",
        "reaches only",
    ),
    (
        "no length at all",
        lambda text: re.sub(r"(?m)^AC = .*$", 'AC = "-3 m"', text),
        "AC =",
        '"-3 m"',
    ),
    (
        "a length with no unit anybody knows",
        lambda text: re.sub(r"(?m)^AC = .*$", 'AC = "3 furlong^2"', text),
        "AC =",
        "furlong",
    ),
    (
        "places and ties",
        lambda text: text.replace(
            '["A", "B", "C", "D"]', "{ A = [0, 0], B = [8, 0], C = [8, 6], D = [0, 6] }"
        ),
        "[enclosure.ties]",
        "corners with places, and 'ties' beside them",
    ),
    (
        "no ties",
        lambda text: re.sub(r"(?s)\[enclosure.ties\].*?\n\n", "\n", text),
        "corners =",
        "corners without places, and no ties",
    ),
    (
        "corner twice",
        lambda text: text.replace('"C", "D"]', '"C", "C", "D"]'),
        "corners =",
        "corner C twice",
    ),
    (
        "inward is no corner",
        lambda text: text.replace('"D"]', '"D"]\ninward = ["K"]'),
        "inward =",
        "'K' is said to point inward",
    ),
    (
        "a key that may be read two ways",
        lambda text: text.replace(
            '"D"]', '"D"]\nmarks = { BC = "inside", AB = "inside" }'
        ).replace("AC =", "ABC ="),
        "ABC =",
        "tie 'ABC' may mean",
    ),
    (
        "a word turn cannot be",
        lambda text: text.replace('"D"]', '"D"]\nturn = "left"'),
        "turn =",
        '"left"',
    ),
    (
        "known mark in the place of another",
        lambda text: text.replace('"D"]', '"D"]\nknown = { A = [0, 0], B = [0, 0] }'),
        "known =",
        "B is given the place of A",
    ),
    (
        "corners of the wrong type",
        lambda text: text.replace('["A", "B", "C", "D"]', "4"),
        "corners = 4",
        "4",
    ),
    (
        "corners whose ties cross the fence",
        lambda text: text.replace('["A", "B", "C", "D"]', '["A", "C", "B", "D"]'),
        "corners =",
        "across side",
    ),
]


@pytest.mark.parametrize(
    ("name", "change", "start", "words"), ONE_FAULT, ids=[case[0] for case in ONE_FAULT]
)
def test_a_fault_of_the_ties_stands_on_its_line(name, change, start, words):
    text = change(tied(ALL))
    with pytest.raises(LayoutError) as caught:
        parse_layout(text, "yard.toml")
    line = 1 + next(i for i, row in enumerate(text.splitlines()) if row.startswith(start))
    hits = [fault for fault in caught.value.faults if words in fault.got]
    assert hits, f"{name}: {caught.value}"
    assert {fault.line for fault in hits} == {line}
    assert all(fault.remedy and fault.wanted and fault.file == "yard.toml" for fault in hits)


def test_a_tie_of_long_names_is_told_by_the_key_of_the_file():
    head = 'corners = ["A", "B", "C", "D"]\nmarks = { oak = "inside" }'
    text = tied([*ALL, "A-oak", "B-oak", "C-oak"], head, {"A-oak": 19.0})
    with pytest.raises(LayoutError) as caught:
        parse_layout(text, "yard.toml")
    line = 1 + next(i for i, row in enumerate(text.splitlines()) if row.startswith("A-oak"))
    assert any(fault.line == line for fault in caught.value.faults)


def test_faults_of_ties_do_not_hide_those_of_beds():
    text = tied(ALL).replace("AC =", "AX =").replace("width = 0.7", 'width = "wide"')
    with pytest.raises(LayoutError) as caught:
        parse_layout(text)
    assert {fault.path[0] for fault in caught.value.faults} == {"enclosure", "bed"}


def test_keys_of_ties_are_read_in_every_way_they_can_be():
    marks = ["A", "B", "AB", "oak"]
    assert marks_of_tie("AB", marks) == [("A", "B")]
    assert marks_of_tie("A-oak", marks) == [("A", "oak")]
    assert marks_of_tie("oak A", marks) == [("oak", "A")]
    assert marks_of_tie("ABB", marks) == [("AB", "B")]
    assert marks_of_tie("AAB", marks) == [("A", "AB")]
    assert marks_of_tie("Aelm", marks) == []
    assert key_of_tie("AB", {"corners": ["A", "B"], "ties": {"BA": 1, "AB": 2}}) == "AB"


def findings(plan):
    return {each.rule: each for each in plan.findings}


def test_a_wrong_tie_is_an_error_with_its_size():
    head = 'corners = ["A", "B", "C", "D"]\nmarks = { oak = "inside" }'
    pairs = [*ALL, "A-oak", "B-oak", "C-oak", "D-oak"]
    right = math.dist(PLACES["A"], PLACES["C"])
    plan = make_plan(parse_layout(tied(pairs, head, {"AC": round(right + 0.1, 4)})))
    found = findings(plan)["survey-suspect"]
    assert found.severity == "error"
    assert found.figure.startswith("AC reads")
    assert "too long" in found.figure
    assert plan.survey.suspect.error_m == pytest.approx(0.1, abs=2e-3)
    assert "again" in found.remedy
    short = make_plan(parse_layout(tied(pairs, head, {"AC": round(right - 0.1, 4)})))
    assert "too short" in findings(short)["survey-suspect"].figure


def test_one_tie_to_spare_names_all_that_may_be_wrong():
    plan = make_plan(parse_layout(tied(ALL, change={"AC": 9.7})))
    remedy = findings(plan)["survey-suspect"].remedy
    others = {check.tie.name for check in plan.survey.ties}
    assert sum(name in remedy for name in others) == len(others)
    assert findings(plan)["survey-suspect"].figure.startswith("one of ")
    sheet = survey_sheet(plan.layout, plan.site, plan.survey)
    said = [label.words for label in sheet.labels if label.words.endswith("SUSPECT?")]
    assert len(said) == len(others)


def test_five_ties_leave_every_one_unchecked_and_the_sixth_is_asked_for():
    plan = make_plan(parse_layout(tied(ALL[:-1])))
    found = findings(plan)["survey-unchecked"]
    assert found.severity == "warning"
    assert found.remedy == "tape BD as well"


def test_a_figure_the_ties_leave_open_is_told_with_the_tie_that_settles_it():
    # C lies so near to AB's far side that D mirrored over AC falls inside the plot
    places = {"A": (0.0, 0.0), "B": (8.0, 0.0), "C": (8.0, 8.0), "D": (2.0, 5.0)}
    lines = [
        f"{pair} = {math.dist(places[pair[0]], places[pair[1]]):.4f}"
        for pair in ("AB", "BC", "CD", "DA", "AC")
    ]
    table = "\n".join(lines)
    text = (
        'title = "Yard"\nunit = "m"\n[enclosure]\ncorners = ["A", "B", "C", "D"]\n'
        f"[enclosure.ties]\n{table}\n"
    )
    plan = make_plan(parse_layout(text))
    found = findings(plan)["survey-rival"]
    assert "BD" in found.remedy
    (rival,) = plan.survey.rivals
    assert rival.inward == {"D"}
    # D mirrored over the line y = x
    assert rival.places["D"] == pytest.approx((5.0, 2.0), abs=1e-3)
    said = make_plan(parse_layout(text.replace('"D"]', '"D"]\ninward = []')))
    assert "survey-rival" not in findings(said)


def test_corners_far_from_square_are_noted_and_near_ones_are_not(with_ties):
    assert "corner-square" in findings(with_ties)
    assert f"within {FAR_DEG:g}°" in findings(with_ties)["corner-square"].limit
    square = {"AB": 8.0, "BC": 6.0, "CD": 8.0, "DA": 6.0, "AC": 10.0, "BD": 10.0}
    assert "corner-square" not in findings(make_plan(parse_layout(tied(ALL, change=square))))


def test_the_tie_to_add_makes_the_survey_better_than_any_other_would():
    head = 'corners = ["A", "B", "C", "D"]\nmarks = { oak = "inside" }'
    pairs = [*ALL[:5], "A-oak", "B-oak"]
    ring = parse_layout(tied(pairs, head, rest="")).enclosure.ties
    survey = solve_ring(ring)
    best = tie_to_add(ring, survey)
    left = {}
    for pair in ("BD", "C-oak", "D-oak"):
        more = solve_ring(parse_layout(tied([*pairs, pair], head, rest="")).enclosure.ties)
        worst = max(
            math.hypot(mark.error.semi_major_m, mark.error.semi_minor_m)
            for mark in more.marks
            if mark.error
        )
        # over what the ties' own misfit adds: places are exact to 0.1 mm here
        left[frozenset(names(pair))] = (len(more.unchecked), worst)
    assert min(left, key=lambda pair: left[pair]) == frozenset(best)
    whole = parse_layout(tied([*ALL, "A-oak", "B-oak", "C-oak", "D-oak"], head, rest=""))
    ring = whole.enclosure.ties
    checked = solve_ring(ring)
    assert min(check.redundancy for check in checked.ties) < ENOUGH
    assert tie_to_add(ring, checked) is None  # all are taped


def test_the_record_of_a_survey_holds_what_the_survey_says(with_ties):
    data = json.loads(json.dumps(record(with_ties), allow_nan=False))["survey"]
    assert [row["name"] for row in data["ties"]] == ALL
    assert {"measured_m", "residual_m", "standardised", "redundancy"} <= data["ties"][0].keys()
    for row, check in zip(data["ties"], with_ties.survey.ties, strict=True):
        assert row["measured_m"] - row["computed_m"] == pytest.approx(row["residual_m"])
        assert row["measured_m"] == check.tie.length_m
    assert sum(row["redundancy"] for row in data["ties"]) == pytest.approx(1.0)
    assert data["redundancy"] == 1
    assert sum(row["interior_deg"] for row in data["corners"]) == pytest.approx(360.0)
    assert record(make_plan(load_layout(LAYOUTS / "tutorial.toml")))["survey"] is None
