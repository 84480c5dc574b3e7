"""docs/tutorial.md: the layout is quoted whole, every command runs, every output is as quoted."""

from __future__ import annotations

import re
import shutil

import pytest
from docs_console import commands, mismatch, requoted, run, written
from docs_pages import DOCS, HOW, ROOT, UPDATE, Block, blocks, prose, read, replaced

PAGE = "tutorial.md"
LAYOUT = ROOT / "layouts" / "tutorial.toml"
EDIT = "edit"


def quoted_tables(page: str) -> list[Block]:
    return [block for block in blocks(page) if block.kind == "toml" and block.mark != EDIT]


def tables_of(text: str) -> list[str]:
    """Return the parts of a layout between empty lines, the opening comment left out."""
    parts = text.strip().split("\n\n")
    return [part for part in parts if not all(line.startswith("#") for line in part.splitlines())]


def test_the_layout_is_quoted_whole_and_in_order():
    page, tables = read(PAGE), tables_of(LAYOUT.read_text(encoding="utf-8"))
    if UPDATE:
        left, changes = iter(tables), []
        for block in quoted_tables(page):
            heads = len(
                [line for line in block.text.splitlines() if line.startswith(("[", "title"))]
            )
            text = "\n\n".join(next(left) for _ in range(heads))
            changes.append((block, text + "\n"))
        assert not list(left), "the layout has more tables than the page; write the new ones in"
        (DOCS / PAGE).write_text(replaced(page, changes), encoding="utf-8")
        return
    quoted = "\n\n".join(block.text.strip() for block in quoted_tables(page))
    assert quoted == "\n\n".join(tables), f"layouts/tutorial.toml has changed; {HOW}"


@pytest.fixture
def folder(tmp_path):
    for file in LAYOUT.parent.glob("*.toml"):
        shutil.copy(file, tmp_path)
    return tmp_path


def edit(file, text: str) -> None:
    """Put lines of the page in the place of those with the same keys; one of them is new."""
    new, old = text.splitlines(), file.read_text(encoding="utf-8").splitlines()
    keys = [line.partition("=")[0] for line in new]
    at = [
        i
        for i in range(len(old) - len(new) + 1)
        if [line.partition("=")[0] for line in old[i : i + len(new)]] == keys
        and sum(a != b for a, b in zip(old[i : i + len(new)], new, strict=True)) == 1
    ]
    assert len(at) == 1, f"one place for this change: {text}"
    old[at[0] : at[0] + len(new)] = new
    file.write_text("\n".join(old) + "\n", encoding="utf-8")


def test_every_command_prints_what_the_page_quotes(folder, monkeypatch, capsys):
    page, changes = read(PAGE), []
    for block in blocks(page):
        if block.kind == "toml" and block.mark == EDIT:
            edit(folder / LAYOUT.name, block.text)
        if block.kind != "console":
            continue
        made = commands(block.text)
        assert made, "a console block holds a line that begins with $"
        for number, each in enumerate(made):
            output = run(each.line, folder, monkeypatch, capsys)
            if UPDATE:
                made[number] = type(each)(each.line, requoted(each.quoted, output))
                continue
            wrong = mismatch(each.quoted, output)
            assert not wrong, (
                f"docs/{PAGE} quotes {each.line!r} wrongly; {HOW}\n"
                f"quoted: {wrong}\n\nprinted:\n{output}"
            )
        changes.append((block, written(made).rstrip("\n") + "\n"))
    assert len(changes) >= 6
    if UPDATE:
        (DOCS / PAGE).write_text(replaced(page, changes), encoding="utf-8")
    assert (folder / "tutorial.pdf").read_bytes().startswith(b"%PDF-")


def test_every_figure_told_in_words_stands_in_a_block():
    # figures in `…` are taken from outputs; when those change, the sentence must be written anew
    page = read(PAGE)
    shown = "\n".join(block.text for block in blocks(page))
    lines = [line for line in prose(page).splitlines() if not line.startswith("A length is")]
    told = [
        word for word in re.findall(r"`([^`]+)`", "\n".join(lines)) if re.match(r"[\d\"]", word)
    ]
    assert len(told) >= 5
    missing = [
        word for word in told if not re.search(rf"(?<![\d.]){re.escape(word)}(?![\d.])", shown)
    ]
    assert not missing, "the outputs no longer show these: write the sentences anew"


def test_pages_with_console_blocks_are_run():
    # the pages whose blocks some test runs
    run_pages = {PAGE, "layout-file.md"}
    with_console = {
        file.name
        for file in DOCS.glob("*.md")
        if any(block.kind == "console" for block in blocks(read(file.name)))
    }
    assert with_console == run_pages
