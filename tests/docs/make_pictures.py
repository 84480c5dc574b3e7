"""Draws the pictures of the pages: ``.venv/bin/python tests/docs/make_pictures.py``.

Each is what ``bedplan draw layouts/NAME.toml -o NAME.png`` makes, made smaller for a page; a
``NAME-cuts`` is the third page that ``bedplan cuts`` draws. A note inside the file tells which
layout it was drawn from, so that a test can say when it is old.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "docs" / "pictures"
CUTS = "-cuts"
NAMES = ("tutorial", "five-sided-yard", "corner-plot", f"five-sided-yard{CUTS}")
WIDTH = 1650
COLOURS = 64


def layout_of(name: str) -> Path:
    """Return the layout a picture is drawn from."""
    return ROOT / "layouts" / f"{name.removesuffix(CUTS)}.toml"


def mark_of(name: str) -> str:
    """Return what changes when a layout, or the price list it includes, does."""
    layout = layout_of(name)
    included = tomllib.loads(layout.read_text(encoding="utf-8")).get("include")
    files = [layout, *([layout.with_name(included)] if included else [])]
    return hashlib.sha256(b"".join(file.read_bytes() for file in files)).hexdigest()[:16]


def make(name: str) -> None:
    """Draw one layout and put it into docs/pictures."""
    from PIL import Image, PngImagePlugin

    with tempfile.TemporaryDirectory() as folder:
        drawn = Path(folder) / "drawn.png"
        command = "cuts" if name.endswith(CUTS) else "draw"
        subprocess.run(
            [sys.executable, "-m", "bedplan", command, str(layout_of(name)), "-o", str(drawn)],
            check=True,
            capture_output=True,
        )
        # the edging plan comes first, then the boards: slanted ends are on the third page
        page = drawn if drawn.exists() else drawn.with_stem("drawn-3")
        with Image.open(page) as opened:
            picture = opened.convert("RGB")
    height = round(picture.height * WIDTH / picture.width)
    small = picture.resize((WIDTH, height), Image.Resampling.LANCZOS).quantize(
        COLOURS, dither=Image.Dither.NONE
    )
    note = PngImagePlugin.PngInfo()
    note.add_text("layout", mark_of(name))
    PICTURES.mkdir(exist_ok=True)
    small.save(PICTURES / f"{name}.png", optimize=True, pnginfo=note)


if __name__ == "__main__":
    for each in NAMES:
        make(each)
