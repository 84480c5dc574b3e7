"""Who may import whom: one way, layer by layer, read from the source."""

from __future__ import annotations

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "bedplan"
MODULES = sorted(PACKAGE.rglob("*.py"))

LAYERS = [
    {"errors", "_version"},
    {"units"},
    {"geometry"},
    {"model", "solver"},
    {"site", "edging", "stock", "paving", "survey", "ground", "takeoff"},
    {"practice"},
    {"plan"},
    {"layout_file", "outputs"},
    {"cli", "__init__"},
    {"__main__"},
]
"""From the ground up; a part may import what stands below it."""

BESIDE = {("takeoff", "stock")}
"""Parts of one layer that may be imported by another of it: the order reads cut plans."""

ENGINES = LAYERS[4]
HEAVY = {
    "matplotlib",
    "pandas",
    "geopandas",
    "pyogrio",
    "pint",
    "pydantic",
    "typer",
    "rich",
    "scipy",
    "highspy",
    "tree_sitter",
    "tree_sitter_toml",
    "ortools",
    "openpyxl",
}
ALLOWED = {
    "units": {"pint"},
    "solver": {"highspy"},
    "stock": {"highspy"},
    "paving": {"highspy"},
    "layout_file": {"pydantic", "pydantic_core", "tree_sitter", "tree_sitter_toml"},
    "outputs": {"matplotlib", "geopandas", "pandas", "pyogrio", "rich", "openpyxl"},
    "cli": {"typer"},
}
"""The one part that may use each large library; all others keep to numpy and shapely."""


def part_of(path):
    inside = path.relative_to(PACKAGE)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def imports(tree, *, checked_types=False):
    """Yield every module a source imports, those only for type checking left out."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            if checked_types:
                yield from imports(ast.Module(node.body, []))
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are written in full"
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        else:
            yield from imports(node, checked_types=checked_types)


def parts_imported(path, **more):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = [name.split(".") for name in imports(tree, **more) if name.startswith("bedplan")]
    known = {part_of(module) for module in MODULES}
    return {name[1] for name in names if len(name) > 1 and name[1] in known} - {part_of(path)}


def rank(part):
    return next(number for number, layer in enumerate(LAYERS) if part in layer)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_part_imports_only_what_stands_below_it(path):
    part = part_of(path)
    above = {
        other
        for other in parts_imported(path, checked_types=part != "__init__")
        if rank(other) >= rank(part) and (part, other) not in BESIDE
    }
    assert not above, f"{part} imports {above}"


def test_every_part_stands_in_one_layer():
    parts = {part_of(path) for path in MODULES}
    placed = [part for layer in LAYERS for part in layer]
    assert parts == set(placed)
    assert len(placed) == len(set(placed))


def test_no_two_parts_import_each_other():
    graph = {}
    for path in MODULES:
        graph.setdefault(part_of(path), set()).update(parts_imported(path))
    order = list(TopologicalSorter(graph).static_order())
    assert order.index("errors") < order.index("geometry") < order.index("plan")


def test_no_module_imports_itself_in_a_circle():
    known = {
        ".".join(("bedplan", *path.relative_to(PACKAGE).with_suffix("").parts)): path
        for path in MODULES
        if path.stem != "__init__"
    }
    graph = {
        name: {
            other
            for other in imports(ast.parse(path.read_text(encoding="utf-8")))
            if other in known and other != name
        }
        for name, path in known.items()
    }
    assert len(list(TopologicalSorter(graph).static_order())) == len(known)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_large_libraries_stay_in_their_part(path):
    used = {name.split(".")[0] for name in imports(ast.parse(path.read_text(encoding="utf-8")))}
    strangers = (used & HEAVY) - ALLOWED.get(part_of(path), set())
    assert not strangers


def test_the_test_sees_an_import_that_goes_up(tmp_path):
    source = "from bedplan.plan import make_plan\nimport bedplan.outputs.text\nimport pint\n"
    found = set(imports(ast.parse(source)))
    assert {"bedplan.plan", "bedplan.outputs.text", "pint"} <= found
    inner = "def f():\n    if True:\n        import matplotlib.pyplot\n"
    assert "matplotlib.pyplot" in set(imports(ast.parse(inner)))


def test_engines_neither_print_nor_read_files():
    for path in MODULES:
        if part_of(path) not in ENGINES | {"geometry", "model", "practice", "plan", "units"}:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        calls = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
        assert not calls & {"print", "open", "input", "Path"}, path
