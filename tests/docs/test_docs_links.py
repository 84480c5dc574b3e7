"""Every relative link of a page leads to a file, and to a heading where it names one."""

from __future__ import annotations

import re

import pytest
from docs_pages import DOCS, ROOT, prose

PAGES = sorted([*DOCS.rglob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"])
LINK = re.compile(r"\]\(([^)\s]+)\)")


def anchors(page: str) -> set[str]:
    heads = [line.lstrip("#").strip() for line in prose(page).splitlines() if line.startswith("#")]
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_leads_somewhere(page):
    broken = []
    for link in LINK.findall(prose(page.read_text(encoding="utf-8"))):
        if link.startswith(("http://", "https://", "mailto:")):
            continue
        name, _, anchor = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        if not target.exists() or (
            anchor and anchor not in anchors(target.read_text(encoding="utf-8"))
        ):
            broken.append(link)
    assert not broken


def test_every_page_is_reached_from_the_readme():
    seen, waiting = set(), [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        seen.add(page)
        links = LINK.findall(prose(page.read_text(encoding="utf-8")))
        near = [
            (page.parent / link.partition("#")[0]).resolve()
            for link in links
            if not link.startswith("http")
        ]
        waiting += [
            target
            for target in near
            if target.suffix == ".md" and target not in seen and target.exists()
        ]
    assert set(DOCS.rglob("*.md")) <= seen
