"""docs/how-it-works.md: rules, severities and tolerances are those of the code."""

from __future__ import annotations

import ast

from docs_pages import ROOT, read, sections, table_rows

from bedplan.geometry import tolerance

PAGE = "how-it-works.md"


def rules_of_the_code() -> dict[str, set[str]]:
    """Return the severities each rule is given wherever a `Finding` is made."""
    found: dict[str, set[str]] = {}
    for file in (ROOT / "bedplan").rglob("*.py"):
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Finding":
                rule, severity = call.args[:2]
                words = {
                    node.value
                    for node in ast.walk(severity)
                    if isinstance(node, ast.Constant) and isinstance(node.value, str)
                }
                found.setdefault(rule.value, set()).update(words)
    return found


def test_rules_of_practice_are_those_of_the_code():
    rows = table_rows(sections(read(PAGE))["Rules of practice"])
    said = {
        row[0].strip("`"): {word for word in ("error", "warning", "note") if word in row[1]}
        for row in rows
    }
    assert said == rules_of_the_code()
    assert len(said) >= 15


def test_tolerances_are_those_of_the_code():
    rows = table_rows(sections(read(PAGE))["Tolerances"])
    said = {row[0].strip("`"): float(row[1].split(" ")[0].rstrip("°")) for row in rows}
    assert said == {
        name: value
        for name, value in vars(tolerance).items()
        if name.isupper() and isinstance(value, float)
    }


def test_every_engine_states_its_limits():
    text = read(PAGE)
    for heading in (
        "Enclosure and tied points",
        "Edging",
        "Stock",
        "Best shift",
        "Weed barrier",
        "Fill",
        "Loose material",
    ):
        assert f"# {heading}" in text
    assert text.count("\n*Limits.* ") >= 7
