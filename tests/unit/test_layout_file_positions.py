"""Lines of key paths, against lines counted by marks in the text itself."""

from __future__ import annotations

import tomllib

import pytest

from bedplan.layout_file.positions import Positions

TEXT = """\
title = "x"                       # ("title",)
a.b = 1                           # ("a", "b")
[enclosure]                       # ("enclosure",)
corners = { A = [0, 0], "B c" = ["26 ft", 4] }  # ("enclosure", "corners", "B c", 1)

[[bed]]                           # ("bed", 0)
name = "n"
polygon = [                       # ("bed", 0, "polygon")
  [1, 2],                         # ("bed", 0, "polygon", 0, 1)
  # a comment between
  { side = "AB", along = 3 },     # ("bed", 0, "polygon", 1, "along")
]
[bed.mulch]                       # ("bed", 0, "mulch")
depth = 1                         # ("bed", 0, "mulch", "depth")
[[bed.layers]]                    # ("bed", 0, "layers", 0)
[[bed.layers]]                    # ("bed", 0, "layers", 1)
depth = 2                         # ("bed", 0, "layers", 1, "depth")
[[bed]]                           # ("bed", 1)
name = \"\"\"
two lines\"\"\"
width = 3                         # ("bed", 1, "width")
[[bed.layers]]                    # ("bed", 1, "layers", 0)
[board."a\\u0041 b".'c.d']         # ("board", "aA b", "c.d")
[material."base rock"]            # ("material", "base rock")
density = "x"                     # ("material", "base rock", "density")
"""
MARKED = [
    (eval(line.partition("# ")[2]), number)  # the marks are our own literals
    for number, line in enumerate(TEXT.splitlines(), 1)
    if "# (" in line
]


@pytest.mark.parametrize(("path", "line"), MARKED)
def test_line_of_a_key_path(path, line):
    assert Positions(TEXT.encode()).line(path) == line


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ((), 1),
        (("nowhere",), 1),
        (("bed", 1, "edging"), 18),
        (("bed", 0, "polygon", 1, "in"), 11),
        (("enclosure", "corners", "Z", 0), 4),
        (("bed", 7, "width"), 6),
    ],
)
def test_a_path_that_is_not_there_falls_back_to_what_would_hold_it(path, line):
    assert Positions(TEXT.encode()).line(path) == line


def paths(value, path=()):
    """Yield every key path of data, as an independent reader sees it."""
    if path:
        yield path
    inner = (
        value.items()
        if isinstance(value, dict)
        else (enumerate(value) if isinstance(value, list) else ())
    )
    for key, item in inner:
        yield from paths(item, (*path, key))


def test_every_key_path_of_the_data_has_a_line_of_its_own_and_no_other_has():
    assert set(Positions(TEXT.encode()).lines) == {(), *paths(tomllib.loads(TEXT))}


def test_broken_files_still_give_lines():
    lines = Positions(b"[a]\nb = \n[[c]]\nd = [1,\n[[c]]\ne == 2\n")
    assert lines.line(("a",)) == 1
    assert lines.line(("zzz",)) == 1
