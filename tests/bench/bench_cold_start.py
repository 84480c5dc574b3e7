"""Cold start: `bedplan --help` against an empty typer program, and what a takeoff adds.

Run: .venv/bin/python tests/bench/bench_cold_start.py
Every figure is CPU time (user + system) of a whole process, median of ROUNDS, the commands run in
turn so that a drifting machine drifts for all of them alike.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROUNDS = 11
EMPTY = """
import typer
app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
@app.command()
def one() -> None: "Do nothing."
@app.command()
def two() -> None: "Do nothing."
app()
"""


# an installed program starts from compiled modules, so the measured one may keep them too
ENVIRONMENT = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def cpu_s(command: list[str]) -> float:
    before = os.times()
    subprocess.run(command, check=True, capture_output=True, env=ENVIRONMENT)
    after = os.times()
    return (
        after.children_user - before.children_user + after.children_system - before.children_system
    )


def main() -> None:
    layouts = sorted(Path(__file__).parents[2].glob("layouts/*.toml"))
    with tempfile.TemporaryDirectory() as folder:
        empty = Path(folder) / "empty.py"
        empty.write_text(EMPTY)
        commands = {
            "empty typer program --help": [sys.executable, str(empty), "--help"],
            "bedplan --help": [sys.executable, "-m", "bedplan", "--help"],
        } | {
            f"bedplan takeoff {path.stem}": [sys.executable, "-m", "bedplan", "takeoff", str(path)]
            for path in layouts
            if not path.stem.startswith("prices")
        }
        times: dict[str, list[float]] = {name: [] for name in commands}
        for command in commands.values():
            cpu_s(command)  # a first run, not counted, compiles what is not compiled yet
        for _ in range(ROUNDS):
            for name, command in commands.items():
                times[name].append(cpu_s(command))
    middle = {name: statistics.median(values) for name, values in times.items()}
    base, start = middle["empty typer program --help"], middle["bedplan --help"]
    print(f"{'command':38s} {'CPU s':>7s}")
    for name, seconds in middle.items():
        print(f"{name:38s} {seconds:7.3f}")
    print(f"cold start: {start / base:.2f} × an empty typer program (promise: at most 1.5)")
    for name, seconds in middle.items():
        if "takeoff" in name:
            print(f"{name}: {seconds - start:.2f} s of CPU beyond --help (promise: under 0.5)")


if __name__ == "__main__":
    main()
