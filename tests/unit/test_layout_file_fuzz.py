"""Damage a sound layout at random: it loads, or a LayoutError says what is wrong. Nothing else."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from bedplan.errors import LayoutError
from bedplan.layout_file import parse_layout, starter

LINES = starter("Yard").splitlines()
RAW = re.compile(r"Input should|Field required|Extra input|should be a valid|validation error")
VALUES = [
    "-1",
    "0",
    "nan",
    "inf",
    "-inf",
    "1e308",
    "1e-308",
    '""',
    '"x"',
    '"1 m"',
    '"5 lb"',
    "[]",
    "{}",
    "[[]]",
    "[{}]",
    "true",
    "1979-05-27",
    "[1, 2]",
    "[1, 2, 3]",
    '["AB"]',
    '"none"',
    '{ side = "AB", along = 1 }',
    '"1e99 in"',
    '"1e9999 in"',
    '"9^9^9 m"',
    '"3 m^3"',
    "9" * 30,
    '"AB"',
    '"9 m/0"',
    '"12\' 6\\""',
    "'\"'",
    '"½ in"',
    '"٣ m"',
    '"\\u0000"',
    '"1/0 in"',
]
KEYS = sorted({match[1] for line in LINES for match in re.finditer(r"([a-z_A-D]+) =", line)})

edits = st.one_of(
    st.tuples(st.just("cut"), st.integers(0, len(LINES) - 1)),
    st.tuples(st.just("twice"), st.integers(0, len(LINES) - 1)),
    st.tuples(
        st.just("sign"),
        st.integers(0, len(LINES) - 1),
        st.integers(0, 60),
        st.characters(codec="utf-8"),
    ),
    st.tuples(st.just("value"), st.integers(0, len(LINES) - 1), st.sampled_from(VALUES)),
    st.tuples(st.just("inner"), st.integers(0, len(LINES) - 1), st.sampled_from(VALUES)),
    st.tuples(st.just("key"), st.integers(0, len(LINES) - 1), st.sampled_from(KEYS)),
)


def damaged(line, edit):
    match edit:
        case ("cut", _):
            return ""
        case ("twice", _):
            return f"{line}\n{line}"
        case ("sign", _, column, sign):
            return line[:column] + sign + line[column + 1 :]
        case ("value", _, value):
            return re.sub(r"= .*", lambda _: f"= {value}", line, count=1)
        case ("inner", _, value):
            return re.sub(r"= ([^={]+?)( [,}#])", lambda m: f"= {value}{m[2]}", line, count=1)
        case ("key", _, key):
            return re.sub(r"[a-z_A-D]+ =", f"{key} =", line, count=1)
    raise AssertionError(edit)


def check(text):
    faults = faults_of(text)
    assert faults is None or len(faults) > 0
    lines = text.count("\n") + 1
    for fault in faults or ():
        assert not RAW.search(str(fault))
        assert fault.got
        assert fault.wanted
        assert fault.remedy
        assert 1 <= fault.line <= lines


def faults_of(text):
    """Return the faults of a text, or None for a sound layout."""
    try:
        parse_layout(text)
    except LayoutError as error:
        return error.faults
    return None


@settings(max_examples=400, deadline=None)
@given(st.lists(edits, min_size=1, max_size=4))
def test_damaged_layouts_only_ever_raise_layout_errors(changes):
    lines = list(LINES)
    for change in changes:
        lines[change[1]] = damaged(lines[change[1]], change)
    check("\n".join(lines))


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_a_layout_or_a_layout_error(text):
    check(text)
