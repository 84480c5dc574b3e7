"""Whatever a layout file looks like, changing values of one table changes nothing else.

Files are put together from pieces, so that the changed file can be put together as well and the
two compared byte by byte.
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass, replace

from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.layout_file.patch import with_values

laws = settings(max_examples=150, deadline=None)

KEYS = ("name", "bond", "pavers", "direction", "joint", "area", "offset")
NEW = ("fresh", "other")


def quoted(value):
    """Return a value in TOML: JSON's texts and numbers, and one sign JSON does not escape."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


@dataclass(frozen=True)
class Pair:
    """A key with all that stands about it: empty lines, quotes, spaces, a comment."""

    key: str
    before: str
    value: str
    after: str

    @property
    def text(self):
        return f"{self.before}{self.value}{self.after}\n"


@dataclass(frozen=True)
class Piece:
    """One table of a list of tables, its own keys, and an inner table."""

    kind: str
    heading: str
    pairs: tuple[Pair, ...]
    inner: str

    @property
    def text(self):
        return self.heading + "".join(pair.text for pair in self.pairs) + self.inner

    def changed(self, changes):
        """Return the table as it should be: values in place, new keys below the first."""
        pairs = [
            replace(pair, value=quoted(changes[pair.key])) if pair.key in changes else pair
            for pair in self.pairs
        ]
        there = {pair.key for pair in pairs}
        new = [
            Pair(key, f"{key} = ", quoted(value), "")
            for key, value in changes.items()
            if key not in there
        ]
        return replace(self, pairs=(*pairs[:1], *new, *pairs[1:]))


words = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
comments = st.sampled_from(["", " # plain", "# x = 1", '\t# "quoted" [[path]]'])
values = st.one_of(
    words.map(quoted),
    st.integers(-500, 500).map(str),
    st.sampled_from(
        [
            "'literal \\ text'",
            '"""\nmany\nlines"""',
            "'''\n[[path]]\nbond = 1\n'''",
            "[1, 2]",
            "[\n  1, # least ]\n  2,\n]",
            '{ material = "bark", depth = 3 }',
            "true",
            "1979-05-27T07:32:00Z",
        ]
    ),
)


@st.composite
def pairs(draw, keys):
    made = []
    for key in draw(st.lists(st.sampled_from(keys), unique=True, max_size=len(keys))):
        lines = draw(st.sampled_from(["", "\n", "# line\n", "   "]))
        written = draw(st.sampled_from([key, f'"{key}"', f"'{key}'"]))
        space = draw(st.sampled_from(["", " ", "  \t"]))
        before = f"{lines}{written}{space}={space}"
        made.append(Pair(key, before, draw(values), draw(comments)))
    return tuple(made)


@st.composite
def pieces(draw):
    kind = draw(st.sampled_from(["path", "path", "bed"]))
    heading = draw(st.sampled_from([f"[[{kind}]]", f"[[ {kind} ]]", f'[["{kind}"]]']))
    inner = ""
    if draw(st.integers(0, 3)) == 0:
        inner = f"[{kind}.inner]\n" + "".join(pair.text for pair in draw(pairs(KEYS)))
    return Piece(kind, f"{heading}{draw(comments)}\n", draw(pairs(KEYS)), inner)


@st.composite
def files(draw):
    """The top of a file and its tables, which of them is changed, the changes, and its form."""
    top = "".join(pair.text for pair in draw(pairs(("title", "unit"))))
    made = draw(st.lists(pieces(), min_size=1, max_size=4))
    number = draw(st.integers(0, len(made) - 1))
    new = st.one_of(words, st.integers(-360, 360), st.floats(-360, 360))
    changes = draw(st.dictionaries(st.sampled_from((*KEYS, *NEW)), new, max_size=4))
    end, mark = draw(st.sampled_from(["\n", "\n", "\r\n"])), draw(st.sampled_from(["", "\ufeff"]))
    ended = draw(st.booleans())

    def form(text):
        return (mark + (text if ended else text.removesuffix("\n")).replace("\n", end)).encode()

    return top, made, number, changes, form


@laws
@given(files())
def test_the_changed_file_is_the_old_one_but_for_the_values(drawn):
    top, made, number, changes, form = drawn
    kind = made[number].kind
    row = [piece.kind for piece in made[:number]].count(kind)
    text = form(top + "".join(piece.text for piece in made))
    after = [*made[:number], made[number].changed(changes), *made[number + 1 :]]
    wanted = form(top + "".join(piece.text for piece in after))

    meant = tomllib.loads(text.decode("utf-8-sig"))
    meant[kind][row] |= changes
    assert tomllib.loads(wanted.decode("utf-8-sig")) == meant  # the law itself is sound
    assert with_values(text, kind, row, changes) == wanted


@laws
@given(files())
def test_changing_values_twice_is_changing_them_once(drawn):
    _, made, number, changes, form = drawn
    text = form(made[number].text)
    once = with_values(text, made[number].kind, 0, changes)
    other = with_values(once, made[number].kind, 0, dict.fromkeys(changes, "something else"))
    assert with_values(other, made[number].kind, 0, changes) == once
    assert with_values(once, made[number].kind, 0, changes) == once
