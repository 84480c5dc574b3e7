"""The pictures of the pages are small, and were drawn from the layouts as they stand."""

from __future__ import annotations

import pytest
from docs_pages import DOCS
from make_pictures import NAMES, mark_of
from PIL import Image

HOW = "draw them anew: .venv/bin/python tests/docs/make_pictures.py"


@pytest.mark.parametrize("name", NAMES)
def test_picture_is_small_and_of_this_layout(name):
    file = DOCS / "pictures" / f"{name}.png"
    assert file.stat().st_size < 300_000
    with Image.open(file) as picture:
        assert picture.text.get("layout") == mark_of(name), f"{file.name} is old; {HOW}"
        picture.load()
        assert len(picture.getcolors()) > 5  # a blank sheet has one
