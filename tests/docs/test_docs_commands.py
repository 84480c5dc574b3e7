"""docs/commands.md: every command and option of the program, and every key of its JSON."""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest
import typer
from docs_pages import ROOT, hold_part, part, read, sections, table_rows

from bedplan.cli import app, main
from bedplan.layout_file import load_layout
from bedplan.outputs.record import record
from bedplan.plan import make_plan

PAGE = "commands.md"


@dataclass(frozen=True)
class Taken:
    """An argument or option of a command, as its signature declares it."""

    names: tuple[str, ...]
    is_option: bool
    takes: str
    said: str

    @property
    def row(self) -> str:
        names = ", ".join(f"`{name}`" for name in self.names)
        return f"| {names} | {self.takes} | {self.said} |"


def commands() -> dict[str, Callable[..., Any]]:
    return {info.name or info.callback.__name__: info.callback for info in app.registered_commands}


def taken(command: Callable[..., Any]) -> list[Taken]:
    hints = get_type_hints(command, include_extras=True)
    return [
        _taken(name, *get_args(hints[name])[:2], parameter.default)
        for name, parameter in inspect.signature(command).parameters.items()
    ]


def _taken(name: str, kind: Any, info: Any, default: Any) -> Taken:
    is_option = isinstance(info, typer.models.OptionInfo)
    # inside Annotated the first name stands where a default would
    declared = tuple(
        each
        for each in (info.default, *(info.param_decls or ()))
        if isinstance(each, str) and each.startswith("-")
    )
    names = declared or (f"--{name.replace('_', '-')}",)
    said = info.help or ""
    if is_option and isinstance(default, str | float) and default not in ("", False):
        said += f" Default: `{default}`."
    return Taken(names if is_option else (info.metavar,), is_option, _takes(kind), said)


def _takes(kind: Any) -> str:
    kinds = [each for each in (get_args(kind) or (kind,)) if each is not type(None)]
    if issubclass(kinds[0], Enum):
        return ", ".join(f"`{each.value}`" for each in kinds[0])
    return {bool: "", Path: "a file", str: "a text", float: "seconds"}[kinds[0]]


def paragraphs(text: str) -> str:
    return "\n\n".join(" ".join(each.split()) for each in text.strip().split("\n\n"))


def page_of_commands() -> str:
    made = []
    for name, command in commands().items():
        all_taken = taken(command)
        words = [each.names[0] for each in all_taken if not each.is_option]
        words += ["[options]"] if any(each.is_option for each in all_taken) else []
        made.append(
            f"## bedplan {name}\n\n{paragraphs(command.__doc__ or '')}\n\n"
            f"    {' '.join(['bedplan', name, *words])}"
        )
        if all_taken:
            made.append(
                "| argument or option | takes | what it does |\n|---|---|---|\n"
                + "\n".join(each.row for each in all_taken)
            )
    own = "\n".join(each.row for each in taken(app.registered_callback.callback))
    made.append(
        f"## bedplan alone\n\n| option | takes | what it does |\n|---|---|---|\n{own}\n\n"
        "`--help` or `-h` explains any command; `--install-completion` and "
        "`--show-completion` make the shell complete commands and options."
    )
    return "\n\n".join(made)


def test_commands_page_is_what_the_program_says():
    hold_part(PAGE, "commands", page_of_commands())


@pytest.mark.parametrize("name", [None, *commands()])
def test_every_option_that_help_shows_is_on_the_page(name, monkeypatch, capsys):
    # the program's own help is searched, not the signatures the page is made from
    monkeypatch.setattr(sys, "argv", ["bedplan", *([name] if name else []), "--help"])
    with pytest.raises(SystemExit):
        main()
    shown = capsys.readouterr().out
    options = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", shown))
    assert "--help" in options
    made = part(read(PAGE), "commands")
    section = made.split(f"## bedplan {name or 'alone'}\n")[1].split("\n## ")[0]
    assert options - set(re.findall(r"--[a-z-]+", section)) <= {"--help"}
    if name is None:
        assert all(f"\n  {command} " in shown for command in commands())


@pytest.fixture(scope="module")
def made():
    return record(make_plan(load_layout(ROOT / "layouts" / "five-sided-yard.toml")))


def keys_in(value: Any) -> set[str]:
    """Return every key inside a value of the record; names of corners and units are no keys."""
    named = ("corners", "units_by_paver")
    if isinstance(value, dict):
        inner = (keys_in(each) for key, each in value.items() if key not in named)
        return set(value).union(*inner)
    return set().union(*map(keys_in, value)) if isinstance(value, list) else set()


def test_every_key_of_the_json_is_on_the_page(made):
    said = {row[0].strip("`"): row[1] for row in table_rows(sections(read(PAGE))["JSON"])}
    assert set(said) == set(made)
    in_cuts = {"stock_m", "count", "on_hand", "pieces_m", "offcut_m"}
    for key, words in said.items():
        told = set(re.findall(r"`(\w+)`", words))
        inner = keys_in(made[key]) - {"stock_m", "on_hand", "pieces_m", "offcut_m"}
        inner -= in_cuts if key in ("edging", "barrier") else set()
        assert not (inner - told), key
        if made[key] and key != "plants":
            assert not (told - inner), key
