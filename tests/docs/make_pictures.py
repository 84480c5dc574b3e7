"""Draws the pictures of the pages: ``.venv/bin/python tests/docs/make_pictures.py``.

Each is what ``bedplan draw layouts/NAME.toml -o NAME.png`` makes, made smaller for a page. A note
inside the file tells which layout it was drawn from, so that a test can say when it is old.
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
NAMES = ("tutorial", "five-sided-yard", "corner-plot")
WIDTH = 1650
COLOURS = 64


def mark_of(name: str) -> str:
    """Return what changes when a layout, or the price list it includes, does."""
    layout = ROOT / "layouts" / f"{name}.toml"
    included = tomllib.loads(layout.read_text(encoding="utf-8")).get("include")
    files = [layout, *([layout.with_name(included)] if included else [])]
    return hashlib.sha256(b"".join(file.read_bytes() for file in files)).hexdigest()[:16]


def make(name: str) -> None:
    """Draw one layout and put it into docs/pictures."""
    from PIL import Image, PngImagePlugin

    with tempfile.TemporaryDirectory() as folder:
        drawn = Path(folder) / f"{name}.png"
        layout = ROOT / "layouts" / f"{name}.toml"
        subprocess.run(
            [sys.executable, "-m", "bedplan", "draw", str(layout), "-o", str(drawn)],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        with Image.open(drawn) as opened:
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
