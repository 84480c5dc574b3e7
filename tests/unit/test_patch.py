"""Values changed inside a layout file: what changes, what stays, and what cannot be changed."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import pytest

from bedplan.cli import main
from bedplan.cli.work import progress_line
from bedplan.errors import LayoutError
from bedplan.layout_file import load_layout
from bedplan.layout_file.patch import with_values
from bedplan.plan import make_plan

LAYOUTS = Path(__file__).parents[2] / "layouts"


def test_a_value_that_is_there_keeps_its_place_spacing_and_comment():
    text = (
        b"# head\n\n[[path]]   # the first\n  name  =  'walk'\t# its name\n\n"
        b'bond="stack"# plain\r\n# foot\n[paver.slab]\nsize = [1, 2]\n'
    )
    assert with_values(text, "path", 0, {"bond": "free"}) == text.replace(b"stack", b"free")


@pytest.mark.parametrize("bom", [b"", b"\xef\xbb\xbf"], ids=["plain", "with a mark"])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"], ids=["LF", "CRLF"])
def test_a_new_key_is_put_below_the_first_with_the_line_end_of_the_file(bom, end):
    lines = [b"[[path]] # a walk", b'name = "walk" # here', b"# there", b'area = "rest"', b""]
    made = with_values(
        bom + end.join(lines), "path", 0, {"pavers": "slab", "direction": 30, "area": "rest"}
    )
    wanted = [*lines[:2], b'pavers = "slab"', b"direction = 30", *lines[2:]]
    assert made == bom + end.join(wanted)


def test_a_new_key_ends_like_the_line_above_where_line_ends_are_mixed():
    text = b'[[path]]\nname = "a"\r\narea = "rest"\n'
    assert with_values(text, "path", 0, {"bond": "free"}) == (
        b'[[path]]\nname = "a"\r\nbond = "free"\r\narea = "rest"\n'
    )


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_a_last_line_without_its_end_stays_without(end):
    text = b"[[path]]" + end + b'name = "a"'
    assert with_values(text, "path", 0, {"bond": "free"}) == text + end + b'bond = "free"'


def test_a_first_value_of_many_lines_is_not_torn():
    text = (
        b"[[path]]\npolygon = [\n  [0, 0], # a corner ] of its own\n  [1, 0],\n  [1, 1],\n]\n"
        b'name = """\na\nb"""\n'
    )
    made = with_values(text, "path", 0, {"bond": "stack"})
    assert made == text.replace(b"\n]\n", b'\n]\nbond = "stack"\n')


def test_a_list_of_many_lines_gives_way_to_one_value():
    text = b'[[path]]\njoint = [\n  1, # least\n  2,\n] # gap\nname = "a"\n'
    assert with_values(text, "path", 0, {"joint": 3.5}) == (
        b'[[path]]\njoint = 3.5 # gap\nname = "a"\n'
    )


@pytest.mark.parametrize("key", [b'"bond"', b"'bond'", b'"b\\u006fnd"'])
@pytest.mark.parametrize("head", [b"path", b" path ", b'"path"', b"'path'"])
def test_quoted_keys_and_headings_are_the_same_keys(key, head):
    text = b"[[" + head + b']]\nname = "a"\n' + key + b' = "stack"\n'
    changed = with_values(text, "path", 0, {"bond": "free"})
    assert changed == text.replace(b"stack", b"free")


def test_like_keys_of_inner_and_other_tables_are_left_alone():
    text = (
        b'[[path]]\nname = "a"\nextra.bond = "stack"\n[path.inner]\nbond = "stack"\n'
        b'[[path.list]]\nbond = "stack"\n[[bed]]\nbond = "stack"\n'
        b'[[path]]\nname = "b"\nbond = "stack"\n[bond]\nbond = "stack"\n'
    )
    first = with_values(text, "path", 0, {"bond": "free"})
    assert first == text.replace(b'name = "a"\n', b'name = "a"\nbond = "free"\n')
    second = with_values(text, "path", 1, {"bond": "free"})
    assert second == text.replace(b'"b"\nbond = "stack"', b'"b"\nbond = "free"')


def test_a_table_with_inner_tables_alone_takes_keys_below_its_heading():
    text = b"[[path]] # empty\n[path.inner]\na = 1\n"
    assert with_values(text, "path", 0, {"bond": "free"}) == (
        b'[[path]] # empty\nbond = "free"\n[path.inner]\na = 1\n'
    )
    assert with_values(b"[[path]]", "path", 0, {"bond": "free"}) == b'[[path]]\nbond = "free"'


@pytest.mark.parametrize(
    "value",
    ['a "slab"', "it's", "back\\slash", "Straße 石", "two\nlines\t", "\x7f\x00", "", "# no", "é]"],
)
def test_texts_come_back_as_they_were_meant(value):
    made = with_values(b'[[path]]\nbond = "x" # old\n', "path", 0, {"bond": value, "new": value})
    assert tomllib.loads(made.decode()) == {"path": [{"bond": value, "new": value}]}
    assert made.count(b"\n") == 3
    assert b" # old\n" in made


@pytest.mark.parametrize("value", [0, -30, 30.5, 1e-7, 1e22, 0.1 + 0.2])
def test_numbers_come_back_exactly(value):
    made = with_values(b"[[path]]\nbond = 1\n", "path", 0, {"bond": value})
    assert tomllib.loads(made.decode()) == {"path": [{"bond": value}]}


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_a_key_taken_out_goes_with_its_line_alone(end):
    lines = [b"[[path]]", b'name = "a"', b'  "second" = "half"  ', b"", b'bond = "free"', b""]
    kept = [line for line in lines if b"second" not in line]
    made = with_values(end.join(lines), "path", 0, {"second": None})
    assert made == end.join(kept)


def test_a_comment_on_the_line_of_a_key_taken_out_stays():
    text = b'[[path]]\nname = "a"\n\tsecond = "half" # dear, but they last\nbond = "free"\n'
    made = with_values(text, "path", 0, {"second": None})
    assert made == text.replace(b'second = "half" ', b"")


def test_a_value_of_many_lines_is_taken_out_whole():
    text = b'[[path]]\njoint = [\n  1, # least\n  2,\n]\nname = "a"\n[x]\ny = 1\n'
    made = with_values(text, "path", 0, {"joint": None})
    assert made == b'[[path]]\nname = "a"\n[x]\ny = 1\n'


def test_a_last_line_without_its_end_may_be_taken_out():
    text = b'[[path]]\nname = "a"\nsecond = "half"'
    assert with_values(text, "path", 0, {"second": None}) == b'[[path]]\nname = "a"\n'


def test_keys_are_taken_out_put_in_and_changed_at_once():
    text = b'[[path]]\nsecond = "half"\nname = "a"\nbond = "pinwheel"\n'
    values = {"second": None, "bond": "stack", "pavers": "slab"}
    assert with_values(text, "path", 0, values) == (
        b'[[path]]\nname = "a"\npavers = "slab"\nbond = "stack"\n'
    )
    alone = b'[[path]] # it\nsecond = "half"\n'
    assert with_values(alone, "path", 0, {"second": None, "bond": "stack"}) == (
        b'[[path]] # it\nbond = "stack"\n'
    )


def test_a_key_that_is_not_there_needs_no_taking_out():
    text = b'[[path]]\nname = "a"\n[[path]]\nsecond = "half"\n'
    assert with_values(text, "path", 0, {"second": None}) == text


@pytest.mark.parametrize(
    "text",
    [b'[[path]]\nsecond.name = "a"\n', b'[[path]]\nname = "a"\n[path.second]\nkind = 1\n'],
    ids=["dotted", "a table of that name"],
)
def test_a_key_that_is_more_than_one_line_is_not_taken_out(text):
    with pytest.raises(LayoutError, match="changed line by line"):
        with_values(text, "path", 0, {"second": None})


def test_nothing_new_changes_nothing():
    text = b'[[path]]\nbond = "stack"\n'
    assert with_values(text, "path", 0, {}) == text
    assert with_values(text, "path", 0, {"bond": "stack"}) == text


@pytest.mark.parametrize(
    ("text", "values"),
    [
        (b'path = [{ name = "a" }]\n', {"bond": "free"}),
        (b'[[bed]]\nname = "a"\n', {"bond": "free"}),
        (b'[[path]]\nname = "a"\nbond.kind = "stack"\n', {"bond": "free"}),
        (b'[[path]]\nname = "a"\n[path.bond]\nkind = 1\n', {"bond": "free"}),
        (b'[[path]]\nname = "a"\n', {"bond": "\udcff"}),
        (b'[[path]]\nname = "a"\n', {"direction": float("inf")}),
    ],
    ids=["inline", "no such table", "dotted", "a table of that name", "no Unicode", "no number"],
)
def test_what_cannot_be_changed_is_told_as_a_fault(text, values):
    with pytest.raises(LayoutError, match="changed line by line") as told:
        with_values(text, "path", 0, values)
    assert told.value.faults[0].path == ("path", 0)


@pytest.mark.parametrize("file", sorted(LAYOUTS.glob("*.toml")), ids=lambda file: file.stem)
def test_every_table_of_the_demo_gardens_can_be_changed(file):
    text = file.read_bytes()
    for kind, rows in tomllib.loads(text.decode()).items():
        for row in range(len(rows) if isinstance(rows, list) else 0):
            changed = with_values(text, kind, row, {"name": "another", "also": 1.5})
            added = set(changed.splitlines()) - set(text.splitlines())
            assert added == {b'name = "another"', b"also = 1.5"}


# ---- the command that writes ---------------------------------------------------------------


@pytest.fixture
def choose(monkeypatch, capsys):
    """Return a function that runs `bedplan choose` and gives exit code, output and messages."""

    def _choose(*args):
        monkeypatch.setattr(sys, "argv", ["bedplan", "choose", *map(str, args)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        assert "bug in bedplan" not in told.err
        return ended.value.code or 0, told.out, told.err

    return _choose


@pytest.fixture
def garden(tmp_path):
    """Return a copy of the tutorial's garden beside its price list."""
    for name in ("tutorial.toml", "prices-yard.toml"):
        (tmp_path / name).write_bytes((LAYOUTS / name).read_bytes())
    return tmp_path / "tutorial.toml"


def walk_of(file):
    return make_plan(load_layout(file)).walks[0]


def test_a_choice_is_written_and_counted(choose, garden):
    before = garden.read_bytes()
    code, out, _ = choose(garden, "walk", "--bond", "running")
    assert code == 0
    assert garden.read_bytes() == before.replace(
        b'name = "walk"\n', b'name = "walk"\nbond = "running"\n'
    )
    assert f"{walk_of(garden).count} whole units now" in out
    assert choose(garden, "walk", "--bond", "stack")[0] == 0
    assert walk_of(garden).count == 56  # as the tutorial has it


@pytest.mark.parametrize(
    ("given", "written", "turn_deg"),
    [
        ("30", b"direction = 30\n", 30.0),
        ("-12.5", b"direction = -12.5\n", 167.5),
        ("30 deg", b'direction = "30 deg"\n', 30.0),
        ("BC", b'direction = "BC"\n', 90.0),
        ("best", b'direction = "best"\n', 90.0),  # the longer sides of the walk run up the plan
    ],
)
def test_directions_are_written_in_a_form_the_loader_takes(
    choose, garden, given, written, turn_deg
):
    assert choose(garden, "walk", "--direction", given)[0] == 0
    assert written in garden.read_bytes()
    turns = {unit.turn_deg % 90.0 for each in walk_of(garden).layings for unit in each.units}
    assert sorted(turns) == pytest.approx([turn_deg % 90.0])


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("lawn", "--bond", "stack"), "no path called 'lawn'; the paths are 'walk'"),
        (("walk",), "nothing to change"),
        (("walk", "--bond", "runing"), "did you mean 'running'?"),
        (("walk", "--bond", "pinwheel"), "without a second unit"),
        (("walk", "--second", "slab"), "a second unit for bond 'stack'"),
        (("walk", "--pavers", "brick"), "unknown paver 'brick'"),
        (("walk", "--pavers", "a\udcff"), "changed line by line"),
        (("walk", "--direction", "AC"), "unknown side 'AC'"),
        (("walk", "--direction", "999"), "angle from -360 to 360"),
        (("walk", "--direction", "nan"), "unknown side 'nan'"),
    ],
)
def test_a_choice_that_does_not_work_leaves_the_file_alone(choose, garden, args, says):
    before, stood = garden.read_bytes(), garden.stat()
    code, out, err = choose(garden, *args)
    assert (code, out) == (2, "")
    assert says in err
    assert garden.read_bytes() == before
    assert garden.stat().st_mtime_ns == stood.st_mtime_ns
    assert len(list(garden.parent.iterdir())) == 2


def test_a_unit_that_fits_nowhere_leaves_the_file_alone(choose, garden):
    plank = '[paver.plank]\nsize = ["40 ft", "1 in"]\nthickness = "2 in"\n'
    garden.write_text(garden.read_text("utf-8") + "\n" + plank, "utf-8")
    before = garden.read_bytes()
    code, _, err = choose(garden, "walk", "--pavers", "plank")
    assert code == 2
    assert "no whole unit fits" in err
    assert garden.read_bytes() == before


def test_a_garden_written_in_one_line_is_not_touched(choose, garden):
    text = garden.read_text("utf-8").partition("[[path]]")[0]
    inline = 'path = [{ name = "walk", area = "rest", pavers = "slab" }]\n'
    garden.write_text(text.replace("[enclosure]", inline + "[enclosure]"), "utf-8")
    before = garden.read_bytes()
    code, _, err = choose(garden, "walk", "--bond", "running")
    assert code == 2
    assert "under its own [[path]] heading" in err
    assert garden.read_bytes() == before


def test_permissions_and_links_stay(choose, garden):
    link = garden.with_name("linked.toml")
    link.symlink_to(garden.name)
    garden.chmod(0o640)
    assert choose(link, "walk", "--bond", "courses")[0] == 0
    assert link.is_symlink()
    assert b'bond = "courses"' in garden.read_bytes()
    assert garden.stat().st_mode & 0o777 == 0o640


HALF = '\n[paver.half]\nsize = ["8 in", "8 in"]\nthickness = "1-3/4 in"\nprice = 2.10\n'


@pytest.fixture
def two_sizes(garden):
    """Return the garden with a second unit of half the size, not laid yet."""
    garden.write_text(garden.read_text("utf-8") + HALF, "utf-8")
    return garden


def test_a_bond_of_two_sizes_is_written_with_its_second_unit_and_taken_out_again(
    choose, two_sizes
):
    before = two_sizes.read_bytes()
    code, out, _ = choose(two_sizes, "walk", "--bond", "pinwheel", "--second", "half")
    assert code == 0
    written = two_sizes.read_bytes()
    lines = b'name = "walk"\nsecond = "half"\nbond = "pinwheel"\n'
    assert written == before.replace(b'name = "walk"\n', lines)
    assert set(walk_of(two_sizes).counts) == {"slab", "half"}
    assert f"{walk_of(two_sizes).count} whole units now" in out
    # a bond of one size has no use for the second unit
    assert choose(two_sizes, "walk", "--bond", "stack")[0] == 0
    assert two_sizes.read_bytes() == written.replace(b'second = "half"\n', b"").replace(
        b"pinwheel", b"stack"
    )
    assert walk_of(two_sizes).count == 56


def test_another_bond_of_two_sizes_keeps_the_second_unit(choose, two_sizes):
    own = (
        "\n[bond.ladder]\nalong = { x = [1, 0] }\nacross = { y = [0, 1, 0, 1] }\n"
        "units = [{ x = [0.5, 0], y = [0, 0.5] }, "
        "{ x = [0, 0, 0.5, 0], y = [0, 1, 0, 0.5], face = 2 }]\n"
    )
    two_sizes.write_text(two_sizes.read_text("utf-8") + own, "utf-8")
    assert choose(two_sizes, "walk", "--bond", "pinwheel", "--second", "half")[0] == 0
    code, _, err = choose(two_sizes, "walk", "--bond", "ladder")
    assert (code, err) == (0, "")
    assert b'second = "half"\nbond = "ladder"\n' in two_sizes.read_bytes()


def test_faults_are_told_by_the_file_as_it_stands(choose, garden):
    # no key "bond" is in the file: the fault stands at its path
    line = garden.read_text("utf-8").splitlines().index("[[path]]") + 1
    _, _, err = choose(garden, "walk", "--bond", "pinwheel")
    assert f"{garden}:{line}: path[1].bond: bond 'pinwheel' without a second unit" in err
    at = garden.read_text("utf-8").splitlines().index('pavers = "slab"') + 1
    _, _, err = choose(garden, "walk", "--bond", "running", "--pavers", "brick")
    assert f"{garden}:{at}: path[1].pavers: unknown paver 'brick'" in err


def test_faults_found_while_planning_carry_file_and_line(choose, garden):
    # whether boards suffice is known only when the whole garden is planned
    prices = garden.with_name("prices-yard.toml")
    text = prices.read_text("utf-8")
    short = text.replace("[board.cedar]", "[board.other]") + (
        '\n[board.cedar]\nthickness = "5/8 in"\nheight = "5-1/2 in"\nkerf = "1/8 in"\n'
        'corner = "butt"\nstock = [{ length = "10 ft", price = 1.0, limit = 1 }]\n'
    )
    prices.write_text(short, "utf-8")
    before = garden.read_bytes()
    with pytest.raises(LayoutError) as planned:
        make_plan(load_layout(garden))
    (fault,) = planned.value.faults
    line = short.splitlines().index("[board.cedar]") + 1
    code, _, err = choose(garden, "walk", "--bond", "running")
    assert code == 2
    assert f"{prices}:{line}: {fault.key}: {fault.got}" in err
    assert garden.read_bytes() == before


def test_a_free_laying_keeps_to_its_seconds_and_shows_how_far_it_is(
    choose, garden, monkeypatch, capsys
):
    limits = []

    def lay_free(_walk, start, **search):
        limits.append(search)
        return start

    monkeypatch.setattr("bedplan.plan.walk.lay_free", lay_free)
    assert choose(garden, "walk", "--bond", "free", "--seconds", "0.7")[0] == 0
    (search,) = limits
    assert search["time_limit_s"] == 0.7
    assert b'bond = "free"\n' in garden.read_bytes()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    search["progress"](0.5, 41)
    assert "laying freely [##########          ] 41 units" in capsys.readouterr().err


def test_a_progress_line_is_drawn_on_a_terminal_alone(monkeypatch, capsys):
    tell = progress_line("trying sizes", lambda count: f"{count} so far")
    tell(0.5, 3)
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    tell(0.5, 3)
    assert "\rtrying sizes [##########          ] 3 so far" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["the long walk", 'a "wide" one', "Straße"])
def test_paths_are_found_by_any_name_under_any_quotes(choose, garden, name):
    text = garden.read_text("utf-8")
    quoted = '"' + name.replace('"', '\\"') + '"'
    text = text.replace('name = "walk"', f"'name' = {quoted}").replace("[[path]]", '[["path"]]')
    text = text.replace('pavers = "slab"', '"pavers" = "slab" # whole ones')
    garden.write_text(text, "utf-8")
    assert choose(garden, name, "--bond", "running", "--pavers", "slab")[0] == 0
    after = text.replace(f"{quoted}\n", f'{quoted}\nbond = "running"\n', 1)
    assert garden.read_text("utf-8") == after


def test_a_unit_of_a_price_list_may_be_chosen_and_the_list_stays(choose, garden):
    prices = garden.with_name("prices-yard.toml")
    prices.write_text(prices.read_text("utf-8") + HALF, "utf-8")
    before = prices.read_bytes()
    assert choose(garden, "walk", "--pavers", "half")[0] == 0
    assert walk_of(garden).paver.name == "half"
    assert prices.read_bytes() == before


def test_a_write_protected_file_is_left_alone(choose, garden):
    before = garden.read_bytes()
    garden.chmod(0o444)
    code, out, err = choose(garden, "walk", "--bond", "running")
    assert (code, out) == (2, "")
    assert f"{garden} cannot be written (it is write-protected)" in err
    assert garden.read_bytes() == before


def test_a_folder_that_takes_no_file_leaves_the_layout_alone(choose, garden, monkeypatch):
    def refused(*_args, **_names):
        raise PermissionError(13, "Permission denied")

    before = garden.read_bytes()
    monkeypatch.setattr("tempfile.mkstemp", refused)
    code, out, err = choose(garden, "walk", "--bond", "running")
    assert (code, out) == (2, "")
    assert "cannot be written (Permission denied); nothing was changed" in err
    assert garden.read_bytes() == before


@pytest.mark.parametrize("missing", ["no-such.toml", "."])
def test_a_layout_that_is_not_there_is_told(choose, tmp_path, missing):
    code, out, err = choose(tmp_path / missing, "walk", "--bond", "running")
    assert (code, out) == (2, "")
    assert "wanted: a layout file" in err


def test_a_path_without_units_takes_them(choose, garden):
    text = garden.read_text("utf-8")
    keys = ("pavers", "joint", "joint_fill")
    for line in [line for line in text.splitlines(keepends=True) if line.startswith(keys)]:
        text = text.replace(line, "")
    garden.write_text(text.rstrip() + "\n", "utf-8")
    before = garden.read_bytes()
    code, _, err = choose(garden, "walk", "--bond", "running")
    assert code == 2
    assert str(garden) in err
    assert garden.read_bytes() == before
    assert choose(garden, "walk", "--pavers", "slab")[0] == 0
    assert walk_of(garden).counts == {"slab": 49}  # no joint is asked for now
