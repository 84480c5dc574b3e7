"""Arguments and options that commands share (layer: cli)."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Show(StrEnum):
    """The system results read in."""

    imperial = "imperial"
    metric = "metric"


class SheetName(StrEnum):
    """Sheets a drawing is made to scale on."""

    letter = "letter"
    tabloid = "tabloid"
    a4 = "a4"
    a3 = "a3"


LayoutFile = Annotated[Path, typer.Argument(metavar="LAYOUT", help="A layout file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print figures in SI units as JSON.")]
ShowIn = Annotated[
    Show | None,
    typer.Option("--show", help="Read results in this system, whatever the file says."),
]
Seconds = Annotated[
    float,
    typer.Option(
        "--seconds", min=0.1, help='How long each walk with the bond "free" may be searched.'
    ),
]
PathName = Annotated[str, typer.Argument(metavar="PATH", help="The name of a path in the file.")]
OnSheet = Annotated[
    SheetName | None,
    typer.Option("--sheet", help="Sheet; letter for imperial layouts, a4 for metric ones."),
]


def paper(sheet: SheetName | None, show: str) -> str:
    """Return the sheet asked for, or the usual one of a system."""
    return sheet.value if sheet else ("a4" if show == "metric" else "letter")
