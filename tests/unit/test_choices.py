"""Choices for a walk: every unit in every bond, as it would be laid and paid for."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from bedplan.cli import main
from bedplan.errors import LayoutError
from bedplan.layout_file import load_layout
from bedplan.model.bonds import ONE_SIZE
from bedplan.model.materials import Paver
from bedplan.outputs.tables_ground import choices_table
from bedplan.plan import FreeSearch, make_plan
from bedplan.plan.choices import COMPARED, choices, uneven_pairs
from bedplan.site import resolve

LAYOUTS = Path(__file__).parents[2] / "layouts"
BRICK = Paver("brick", 0.2, 0.1, 0.06, price=0.7, weight_kg=2.7, on_hand=30)
PLANK = Paver("plank", 9.0, 0.05, 0.04, price=40.0)
PLAIN = Paver("plain", 0.6, 0.4, 0.04)


@pytest.fixture(scope="module")
def tutorial():
    """The tutorial's garden with more units to choose from."""
    layout = load_layout(LAYOUTS / "tutorial.toml")
    more = {paver.name: paver for paver in (BRICK, PLANK, PLAIN)}
    return replace(layout, pavers={**layout.pavers, **more})


@pytest.fixture(scope="module")
def made(tutorial):
    site = resolve(tutorial)
    return choices(tutorial, site, site.paths[0])


def with_paving(layout, **changes):
    paving = replace(layout.paths[0].paving, **changes)
    return replace(layout, paths=(replace(layout.paths[0], paving=paving), *layout.paths[1:]))


def test_every_unit_that_fits_comes_in_every_bond_once(made):
    assert {(each.paver, each.bond) for each in made} == {
        (paver, bond) for paver in ("slab", "brick", "plain") for bond in COMPARED
    }
    assert len(made) == 3 * len(COMPARED)
    assert set(ONE_SIZE) - set(COMPARED) == {"free"}


def test_every_choice_is_what_the_plan_would_lay(tutorial, made):
    # each choice is written into the layout, and the whole garden is planned anew
    for each in made[::3]:
        plan = make_plan(with_paving(tutorial, paver=each.paver, bond=each.bond))
        (walk,) = plan.walks
        assert each.walk.layings == walk.layings
        assert each.walk.line_bound == walk.line_bound
        bought = [line for line in plan.order.lines if line.item == each.paver]
        if each.cost is not None:
            assert sum(line.cost for line in bought) == pytest.approx(each.cost)


def test_the_greatest_cover_comes_first(made):
    covers = [each.cover for each in made]
    assert covers == sorted(covers, reverse=True)
    faces = {"slab": (16 * 0.0254) ** 2, "brick": 0.02, "plain": 0.24}
    for each in made:
        area = each.walk.count * faces[each.paver] / each.walk.ground.area
        assert each.cover == pytest.approx(area)
    assert 0.5 < covers[-1] < covers[0] < 1.0


def test_only_units_to_buy_cost_but_all_have_weight(made):
    for each in made:
        count = each.walk.count
        if each.paver == "brick":
            assert each.cost == pytest.approx(0.7 * (count - 30))
            assert each.weight_kg == pytest.approx(2.7 * count)
        if each.paver == "plain":
            assert each.cost is None
            assert each.weight_kg is None


def test_more_on_hand_than_laid_costs_nothing(tutorial):
    site = resolve(tutorial)
    slab = replace(tutorial.pavers["slab"], on_hand=500)
    layout = replace(tutorial, pavers={"slab": slab})
    assert {each.cost for each in choices(layout, site, site.paths[0])} == {0.0}


def test_a_limit_holds_for_choices_as_for_the_plan(tutorial):
    slab = replace(tutorial.pavers["slab"], limit=20)
    layout = replace(tutorial, pavers={"slab": slab})
    site = resolve(layout)
    for each in choices(layout, site, site.paths[0]):
        (walk,) = make_plan(with_paving(layout, bond=each.bond)).walks
        assert each.walk.count == walk.count == 20
        assert each.cost == pytest.approx(20 * slab.price)


@pytest.mark.parametrize("bond", ["stack", "herringbone 45", "courses"])
def test_what_the_file_asks_for_is_marked_and_nothing_else(tutorial, bond):
    layout = with_paving(tutorial, bond=bond)
    site = resolve(layout)
    all_made = choices(layout, site, site.paths[0])
    assert [(each.paver, each.bond) for each in all_made if each.chosen] == [("slab", bond)]
    table = choices_table("walk", all_made, "imperial")
    assert [row[:2] for row in table.rows if "*" in row[1]] == [("slab", f"{bond} *")]


def test_table_rows_are_the_choices_in_words(tutorial, made):
    table = choices_table("walk", made, "metric")
    assert len(table.rows) == len(made)
    for row, each in zip(table.rows, made, strict=True):
        assert len(row) == len(table.columns)
        mark = " *" if each.chosen else ""
        assert row[:3] == (each.paver, each.bond + mark, str(each.walk.count))
        most = each.walk.upper_bound
        assert row[3] == f"{100 * each.walk.count / most:.0f}% of {most}"
        assert row[4] == f"{100 * each.cover:.0f}%"
    plain = next(row for row in table.rows if row[0] == "plain")
    assert "no price" in plain
    assert "no weight" in plain


def test_a_path_of_loose_rock_has_nothing_to_choose(tutorial):
    loose = replace(tutorial, paths=(replace(tutorial.paths[0], paving=None),))
    site = resolve(loose)
    with pytest.raises(LayoutError, match="'walk' has no pavers"):
        choices(loose, site, site.paths[0])


def test_no_choice_reaches_more_than_any_layout_could_hold(made):
    for each in made:
        assert each.share == each.walk.count / each.walk.upper_bound <= 1.0
        # a bound on layouts turned alike is no weaker than that on any
        assert each.walk.line_bound <= each.walk.upper_bound


def test_free_laying_is_compared_where_it_is_asked_for(tutorial):
    site = resolve(tutorial)
    told = []
    search = FreeSearch(0.2, lambda *progress: told.append(progress))
    compared = choices(tutorial, site, site.paths[0], free=True, search=search)
    free = {each.paver: each.walk.count for each in compared if each.bond == "free"}
    assert set(free) == {"slab", "brick", "plain"}
    courses = {each.paver: each.walk.count for each in compared if each.bond == "courses"}
    assert all(free[name] >= courses[name] for name in free)
    assert [each.bond for each in compared if each.chosen] == ["stack"]
    assert told


@pytest.mark.parametrize("asked", [{"bond": "free"}, {"stride_m": 0.6}])
def test_what_the_file_asks_for_is_there_though_it_is_not_compared(tutorial, asked):
    layout = with_paving(tutorial, **asked)
    site = resolve(layout)
    compared = choices(layout, site, site.paths[0], search=FreeSearch(0.2))
    (chosen,) = [each for each in compared if each.chosen]
    assert (chosen.paver, chosen.bond) == ("slab", layout.paths[0].paving.pattern)
    assert [each for each in compared if each.bond == chosen.bond] == [chosen]
    # the other rows are those of any other bond of the file
    unchanged = resolve(tutorial)
    plain = choices(tutorial, unchanged, unchanged.paths[0])
    others = {(each.paver, each.bond, each.walk.count) for each in compared if not each.chosen}
    assert others == {(each.paver, each.bond, each.walk.count) for each in plain}


def test_two_units_of_different_thickness_are_not_tried_together(tutorial):
    large, small = Paver("large", 0.4, 0.4, 0.06), Paver("small", 0.2, 0.2, 0.06)
    thin = replace(small, name="thin", thickness_m=0.04)
    layout = replace(tutorial, pavers={paver.name: paver for paver in (large, small, thin)})
    layout = with_paving(layout, paver="large")
    site = resolve(layout)
    pairs = {(each.paver, each.second) for each in choices(layout, site, site.paths[0])}
    assert {pair for pair in pairs if pair[1]} == {("large", "small")}
    assert uneven_pairs(layout)
    assert not uneven_pairs(replace(layout, pavers={"large": large, "small": small}))
    # what the file asks for is another matter
    asked = with_paving(layout, second="thin", bond="pinwheel")
    site = resolve(asked)
    chosen = [each for each in choices(asked, site, site.paths[0]) if each.chosen]
    assert [(each.paver, each.second) for each in chosen] == [("large", "thin")]


# ---- the command ---------------------------------------------------------------------------


@pytest.fixture
def run(monkeypatch, capsys):
    def _run(*args):
        monkeypatch.setattr(sys, "argv", ["bedplan", "choices", *map(str, args)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "bug in bedplan" not in told.err
        return ended.value.code or 0, told.out, told.err

    return _run


def test_the_command_shows_each_paved_path_or_the_one_named(run):
    layout = LAYOUTS / "corner-plot.toml"  # one path is paved, the other loose
    code, out, _ = run(layout)
    assert code == 0
    assert out.count("CHOICES FOR") == 1
    assert "CHOICES FOR PAVED WALK" in out
    assert run(layout, "paved walk")[1] == out
    marked = [line for line in out.splitlines() if " * " in line[:40]]
    assert len(marked) == 1
    assert marked[0].split()[:3] == ["block", "running", "*"]


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("lawn", "no path called 'lawn'; the paths are 'paved walk', 'gravel'"),
        ("gravel", "no pave"),
    ],
)
def test_a_path_that_is_not_there_or_not_paved_is_told(run, path, says):
    code, out, err = run(LAYOUTS / "corner-plot.toml", path)
    assert (code, out) == (2, "")
    assert says in err


def test_json_gives_every_choice_in_si_units(run):
    code, out, _ = run(LAYOUTS / "corner-plot.toml", "--json", "--show", "imperial")
    assert code == 0
    (path,) = json.loads(out)["paths"]
    assert path["name"] == "paved walk"
    assert [row["bond"] for row in path["choices"] if row["in_file"]] == ["running"]
    walk = make_plan(load_layout(LAYOUTS / "corner-plot.toml")).walks[0]
    (row,) = [row for row in path["choices"] if row["in_file"]]
    assert (row["units"], row["units_by_paver"]) == (walk.count, {"block": walk.count})
    assert (row["line_bound"], row["upper_bound"]) == (walk.line_bound, walk.upper_bound)
    assert row["mass_kg"] == pytest.approx(2.7 * walk.count)
    assert row["margins_m"] == pytest.approx(sorted(each.least_m for each in walk.margins))


def test_free_rows_come_with_seconds_and_the_note_tells_of_pairs_left_out(run, tmp_path):
    text = (LAYOUTS / "corner-plot.toml").read_text(encoding="utf-8")
    flag = '[paver.flag]\nsize = ["400 mm", "400 mm"]\nthickness = "40 mm"\n'
    file = tmp_path / "two.toml"
    file.write_text(f"{text}\n{flag}", encoding="utf-8")
    _, plain, _ = run(file)
    assert "Units of different thickness are not tried together." in " ".join(plain.split())
    assert " free " not in plain
    _, free, _ = run(file, "--free", "0.3")
    rows = [line.split()[:2] for line in free.splitlines() if " free " in line]
    assert sorted(rows) == [["block", "free"], ["flag", "free"]]
    assert "different thickness" not in run(LAYOUTS / "corner-plot.toml")[1]


@pytest.mark.parametrize("command", ["choices", "hints"])
def test_a_layout_without_pavers_is_told(monkeypatch, capsys, tmp_path, command):
    file = tmp_path / "bare.toml"
    text = (LAYOUTS / "corner-plot.toml").read_text(encoding="utf-8")
    for line in (
        'pavers = "block"\n',
        'bond = "running"\n',
        'joint = ["2 mm", "5 mm"]\n',
        'direction = "best"\n',
        'joint_fill = "grit"\n',
    ):
        assert line in text
        text = text.replace(line, "")
    file.write_text(text, encoding="utf-8")
    for words, says in (
        ([], f"{file}: no path has pavers; the paths are 'paved walk', 'gravel'"),
        (["gravel"], f"{file}: path 'gravel' has no pavers"),
        (["a b"], f"{file}: no path called 'a b'"),
    ):
        monkeypatch.setattr(sys, "argv", ["bedplan", command, str(file), *words])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert (ended.value.code, told.out) == (2, "")
        assert says in told.err
