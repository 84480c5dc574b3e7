"""docs/glossary.md: sorted, each word once, and the words the code uses are there."""

from __future__ import annotations

import re
from typing import get_args

from docs_pages import read, sections

from bedplan.edging.model import Joint
from bedplan.layout_file.schema import LayoutFile

ENTRY = re.compile(r"^\*\*(.+?)\*\* – ", re.MULTILINE)


def words() -> list[str]:
    return ENTRY.findall(sections(read("glossary.md"))["Glossary"])


def test_words_are_sorted_and_each_stands_once():
    assert words() == sorted(set(words()), key=str.lower)


def test_every_paragraph_is_an_entry():
    paragraphs = sections(read("glossary.md"))["Glossary"].strip().split("\n\n")
    assert [each for each in paragraphs if not ENTRY.match(each)] == paragraphs[:1]


def test_words_of_the_layout_file_and_of_ends_are_explained():
    goods = {"material"}  # plain English
    tables = {
        name
        for name, field in LayoutFile.model_fields.items()
        if name not in ("title", "unit", "show", "include")
    } - goods
    assert {*get_args(Joint), *tables} <= set(words())
