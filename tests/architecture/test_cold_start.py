"""What a fresh interpreter loads: help loads next to nothing, a takeoff no drawing library."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

LAYOUTS = Path(__file__).parents[2] / "layouts"

# scipy is not among them: pint loads it where it is installed, and bedplan itself never does
DRAWING = {"matplotlib", "geopandas", "pandas", "pyogrio", "pyproj", "openpyxl"}
SOLVING = {"highspy", "ortools"}
READING = {"pint", "pydantic", "tree_sitter", "tomllib"}
GEOMETRY = {"shapely", "numpy"}

RUN = """
import json, sys
from io import StringIO
sys.argv = ["bedplan", *{args!r}]
real, sys.stdout = sys.stdout, StringIO()
try:
    {start}
except SystemExit as ended:
    assert not ended.code, ended.code
sys.stdout = real
print(json.dumps(sorted({{name.split(".")[0] for name in sys.modules}})))
"""


def loaded(start, *args):
    """Return the top-level modules a fresh interpreter holds after a statement."""
    done = subprocess.run(
        [sys.executable, "-c", RUN.format(start=start, args=list(args))],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return set(json.loads(done.stdout))


def command(*args):
    return loaded("from bedplan.cli import main; main()", *map(str, args))


def test_importing_bedplan_loads_nothing_large():
    assert not loaded("import bedplan") & (DRAWING | SOLVING | READING | GEOMETRY | {"typer"})


@pytest.mark.parametrize("args", [["--help"], ["takeoff", "--help"], ["--version"]])
def test_help_loads_nothing_large(args):
    assert not command(*args) & (DRAWING | SOLVING | GEOMETRY | {"pint", "tree_sitter", "rich"})


def test_the_first_help_does_without_pydantic():
    # typer itself loads it where a command runs or tells its own help
    assert "pydantic" not in command("--help")


def test_entry_points_are_loaded_when_asked_for():
    assert "shapely" in loaded("import bedplan; bedplan.make_plan")
    assert not loaded("import bedplan; bedplan.make_plan") & (DRAWING | SOLVING | {"pint"})
    assert "pydantic" in loaded("import bedplan; bedplan.load_layout")


@pytest.mark.parametrize("name", ["check", "takeoff"])
def test_figures_load_no_drawing_library(name):
    modules = command(name, LAYOUTS / "tutorial.toml")
    assert not modules & (DRAWING | {"ortools"})
    assert {"shapely", "pydantic"} <= modules


def test_json_needs_no_table_library():
    assert not command("takeoff", "--json", LAYOUTS / "tutorial.toml") & (DRAWING | {"rich"})


def test_a_drawing_loads_its_library(tmp_path):
    # the lists above are no good if nothing ever loaded what they name
    modules = command("draw", LAYOUTS / "tutorial.toml", "-o", tmp_path / "plan.svg")
    assert "matplotlib" in modules
    assert not modules & {"pandas", "geopandas"}
