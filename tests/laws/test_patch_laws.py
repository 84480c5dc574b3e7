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
class Gone:
    """What is left where a key was: the lines before it, and the comment it had."""

    text: str


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

    def changed(self, changes):
        """Return the pair with its new value, or what a pair that is taken out leaves."""
        if self.key not in changes:
            return self
        if changes[self.key] is not None:
            return replace(self, value=quoted(changes[self.key]))
        lines, comment = self.before.rpartition("\n"), self.after.lstrip()
        indent = lines[2][: len(lines[2]) - len(lines[2].lstrip())]
        return Gone(f"{lines[0]}{lines[1]}" + (f"{indent}{comment}\n" if comment else ""))


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

    def loses_last_line(self, changes):
        """Tell whether the last line of the table is a pair that is taken out."""
        if self.inner or not self.pairs:
            return False
        last = self.pairs[-1]
        return changes.get(last.key, "") is None and not last.after.strip()

    def changed(self, changes):
        """Return the table as it should be: values in place, new keys below the first kept."""
        there = {pair.key for pair in self.pairs}
        pairs = [pair.changed(changes) for pair in self.pairs]
        first = next((i for i, pair in enumerate(pairs) if isinstance(pair, Pair)), -1)
        new = [
            Pair(key, f"{key} = ", quoted(value), "")
            for key, value in changes.items()
            if key not in there and value is not None
        ]
        return replace(self, pairs=(*pairs[: first + 1], *new, *pairs[first + 1 :]))


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
    new = st.one_of(words, st.integers(-360, 360), st.floats(-360, 360), st.none())
    changes = draw(st.dictionaries(st.sampled_from((*KEYS, *NEW)), new, max_size=4))
    end, mark = draw(st.sampled_from(["\n", "\n", "\r\n"])), draw(st.sampled_from(["", "\ufeff"]))
    ended = draw(st.booleans())

    def form(text, *, whole=False):
        kept = text if ended or whole else text.removesuffix("\n")
        return (mark + kept.replace("\n", end)).encode()

    return top, made, number, changes, form


@laws
@given(files())
def test_the_changed_file_is_the_old_one_but_for_the_values(drawn):
    top, made, number, changes, form = drawn
    kind = made[number].kind
    row = [piece.kind for piece in made[:number]].count(kind)
    text = form(top + "".join(piece.text for piece in made))
    after = [*made[:number], made[number].changed(changes), *made[number + 1 :]]
    # where the last line goes, the end of the line above it stays
    wanted = form(
        top + "".join(piece.text for piece in after),
        whole=number == len(made) - 1 and made[number].loses_last_line(changes),
    )

    meant = tomllib.loads(text.decode("utf-8-sig"))
    meant[kind][row] |= changes
    meant[kind][row] = {key: val for key, val in meant[kind][row].items() if val is not None}
    assert tomllib.loads(wanted.decode("utf-8-sig")) == meant  # the law itself is sound
    assert with_values(text, kind, row, changes) == wanted


@laws
@given(files())
def test_changing_values_twice_is_changing_them_once(drawn):
    _, made, number, changes, form = drawn
    changes = {key: value for key, value in changes.items() if value is not None}
    text = form(made[number].text)
    once = with_values(text, made[number].kind, 0, changes)
    other = with_values(once, made[number].kind, 0, dict.fromkeys(changes, "something else"))
    assert with_values(other, made[number].kind, 0, changes) == once
    assert with_values(once, made[number].kind, 0, changes) == once
