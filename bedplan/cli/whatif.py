"""The command whatif: variants of a layout side by side (layer: cli)."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, Seconds, ShowIn
from bedplan.cli.work import (
    clear_line,
    counted,
    print_json,
    print_tables,
    progress_line,
    read_layout,
)
from bedplan.errors import LayoutError, OutputError

if TYPE_CHECKING:
    from bedplan.layout_file.settings import Setting
    from bedplan.model.layout import Layout
    from bedplan.plan.whatif import Comparison, Trial, Way

PATIENCE_S = 1.0
"""How long nothing is said of the progress [s]."""


def whatif(  # noqa: PLR0913 - one parameter an option
    layout: LayoutFile,
    settings: Annotated[
        list[str],
        typer.Argument(
            metavar="SETTING...",
            help='What to vary: "bed.herb bed.mulch.depth = 2 in .. 4 in by 1/2 in", or '
            '"path.walk.pavers = slab, brick".',
        ),
    ],
    *,
    every: Annotated[
        bool,
        typer.Option(
            "--all", help="Combine every value of each setting with every value of the others."
        ),
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="Draw a .pdf, .svg or .png chart."),
    ] = None,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Vary settings of a layout and put quantities and cost side by side.

    One row a variant, the file as it is first; figures that stay alike are named below. Several
    settings vary one after another, each against the file as it is, unless --all combines them; at
    most 100 variants. A variant that does not work is told by its first fault. The layout file is
    never changed. Ctrl-C prints the variants done so far, and draws no chart.
    """
    _check_drawable(out)
    read = read_layout(layout, show)
    text = layout.read_bytes()
    asked = _settings(layout, text, settings)
    made = _compared(layout, read, text, asked, every=every, seconds=seconds)
    if json:
        from bedplan.outputs.tables_whatif import whatif_record

        print_json(whatif_record(made))
    else:
        from bedplan.outputs.tables_whatif import whatif_table

        typer.echo(made.title + "\n")
        print_tables([whatif_table(made)])
    if not made.complete:
        raise typer.Exit(130)
    if out is not None:
        _draw(made, out)


def _check_drawable(out: Path | None) -> None:
    """Refuse a chart of an unknown kind before anything is worked out."""
    if out is not None and out.suffix.lower() not in (".png", ".svg", ".pdf"):
        message = f"{out.suffix or str(out)!r} is no drawing format; take png, svg or pdf"
        raise OutputError(message)


def _settings(file: Path, text: bytes, wanted: list[str]) -> list[Setting]:
    """Return the settings asked for; one with a key no layout has is refused."""
    from bedplan.layout_file import parse_layout
    from bedplan.layout_file.settings import read_setting, variant
    from bedplan.layout_file.source import parse_source

    data = parse_source(text, str(file)).data
    found = [read_setting(words, data) for words in wanted]
    paths = [setting.path for setting in found]
    for number, setting in enumerate(found):
        if setting.path in paths[:number]:
            got = f"{setting.varied.key}: asked for twice"
            raise LayoutError.of((), got, "each setting once", "join the two lists")
        if not setting.there:
            try:
                changed = variant(text, [(setting, 0)]).decode("utf-8-sig")
                parse_layout(changed, str(file), file.parent)
            except LayoutError as error:
                unknown = [
                    fault
                    for fault in error.faults
                    if fault.path == setting.path and fault.got.startswith("unknown key")
                ]
                if unknown:
                    raise LayoutError([unknown[0].at("", 0)]) from None
    return found


def _compared(
    file: Path,
    read: Layout,
    text: bytes,
    asked: list[Setting],
    *,
    every: bool,
    seconds: float,
) -> Comparison:
    """Return the variants worked out, those done so far if a person stops it."""
    from bedplan.plan.whatif import Comparison, unlike_file, ways

    varied = tuple(setting.varied for setting in asked)
    wanted = unlike_file(ways([len(setting.values) for setting in asked], combined=every), varied)
    _check_number(len(wanted) - 1)
    trials = _trials(file, read, text, asked, wanted, seconds)
    return Comparison(
        read.title, read.show, varied, tuple(trials), len(wanted) - 1, every and len(asked) > 1
    )


def _check_number(count: int) -> None:
    from bedplan.plan.whatif import MOST

    if count > MOST:
        raise LayoutError.of(
            (), f"{count} variants", f"at most {MOST}", "take larger steps, or leave --all out"
        )


def _trials(
    file: Path,
    read: Layout,
    text: bytes,
    asked: list[Setting],
    wanted: list[Way],
    seconds: float,
) -> list[Trial]:
    from bedplan.plan import FreeSearch
    from bedplan.plan.whatif import tried

    search = FreeSearch(seconds)
    tell = _patient(progress_line("working out", lambda count: counted(count, "variant")))
    done: list[Trial] = []
    with _stoppable() as stopped:
        for way in wanted:
            try:
                trial = tried(way, lambda way=way: _layout(file, read, text, asked, way), search)  # type: ignore[misc]
            except KeyboardInterrupt:
                break
            done.append(trial)
            tell(len(done) / len(wanted), len(done))
            if stopped:
                break
    clear_line()
    if not done:
        raise KeyboardInterrupt
    return done


def _layout(file: Path, read: Layout, text: bytes, asked: list[Setting], way: Way) -> Layout:
    """Return the layout of one variant."""
    from dataclasses import replace

    from bedplan.layout_file import parse_layout
    from bedplan.layout_file.settings import variant

    changes = [
        (setting, number) for setting, number in zip(asked, way, strict=True) if number is not None
    ]
    if not changes:
        return read
    changed = variant(text, changes).decode("utf-8-sig")
    return replace(parse_layout(changed, str(file), file.parent), show=read.show)


def _patient(tell: Callable[[float, int], None]) -> Callable[[float, int], None]:
    """Return a teller of progress that keeps still at first."""
    start = time.monotonic()

    def later(share: float, count: int) -> None:
        if time.monotonic() - start > PATIENCE_S:
            tell(share, count)

    return later


@contextmanager
def _stoppable() -> Iterator[list[bool]]:
    """Note a Ctrl-C: searches that keep their best when it comes would go on to the next variant.

    Yields
    ------
    stopped
        Empty until it comes.
    """
    stopped: list[bool] = []

    def note(*_: object) -> None:
        stopped.append(True)
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield stopped
    finally:
        signal.signal(signal.SIGINT, before)


def _draw(made: Comparison, out: Path) -> None:
    from bedplan.outputs.draw_mpl import render_pages
    from bedplan.outputs.whatif_chart import whatif_charts

    drawn = render_pages(whatif_charts(made), out)
    typer.echo(f"Drew {', '.join(map(str, drawn))}.", err=True)
