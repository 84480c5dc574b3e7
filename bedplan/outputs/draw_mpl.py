"""Scenes to PNG, SVG and PDF files; the only module that imports the drawing library.

The axes fill the whole figure and run in millimetres of the sheet, so no aspect setting and no
cropping can change the scale: 25.4 units are one inch in every format. The same scene gives
the same bytes: no date is written and SVG names are salted with a fixed word. The bytes can
differ between versions of the library.

Layer: outputs. Public entry points: `render` and `render_pages` for files, `render_bytes` for a
server.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Sequence
from itertools import count
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np
import shapely
from matplotlib import rc_context
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import EllipseCollection, LineCollection, PathCollection
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.path import Path as Outline
from shapely.geometry import Polygon

from bedplan.errors import OutputError
from bedplan.outputs.files import replace_file
from bedplan.outputs.scene import POINT_MM, Dots, Mark, Pen, Scene, Shapes, Strokes, Text

Format = Literal["png", "svg", "pdf"]

PNG_DPI: Final = 200
"""Dots to the inch of a PNG: 0.127 mm, finer than the thinnest line that tells anything."""

FACE: Final = "DejaVu Sans"

_SETTINGS: Final[Any] = {
    "svg.hashsalt": "bedplan",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "path.simplify": False,
    "font.family": ["sans-serif"],
    "font.sans-serif": [FACE, "Verdana"],
    "pdf.compression": 6,
}
_METADATA: Final[dict[Format, dict[str, str | None]]] = {
    "png": {"Software": "bedplan"},
    "svg": {"Date": None, "Creator": "bedplan"},
    "pdf": {"CreationDate": None, "Creator": "bedplan"},
}


def render(scene: Scene, path: Path | str, fmt: Format | None = None) -> Path:
    """Draw a scene into a file; the file appears whole or not at all.

    Parameters
    ----------
    path
        Where to. An older file there is replaced.
    fmt
        ``png``, ``svg`` or ``pdf``; by default what the file's name ends in.

    Returns
    -------
    path
        The file written.

    Raises
    ------
    OutputError
        If the format is not one of the three or the file cannot be written.
    """
    target = Path(path)
    content = render_bytes(scene, _format(fmt or target.suffix.removeprefix(".").lower()))
    replace_file(target, content)
    return target


def render_pages(scenes: Sequence[Scene], path: Path | str) -> tuple[Path, ...]:
    """Draw the pages of one drawing: into one PDF, or each into an SVG or PNG of its own.

    Of several SVG or PNG files each has the number of its page before the ending, ``cuts-2.png``.
    All pages are drawn before the first file is written.

    Returns
    -------
    paths
        The files written.

    Raises
    ------
    OutputError
        If the format is not one of the three or a file cannot be written.
    """
    target = Path(path)
    fmt = _format(target.suffix.removeprefix(".").lower())
    if fmt == "pdf":
        replace_file(target, _pdf_bytes(scenes))
        return (target,)
    names = [target.with_stem(f"{target.stem}-{number}") for number in range(1, len(scenes) + 1)]
    files = names if len(scenes) > 1 else [target]
    contents = [render_bytes(scene, fmt) for scene in scenes]
    for file, content in zip(files, contents, strict=True):
        replace_file(file, content)
    return tuple(files)


def _pdf_bytes(scenes: Sequence[Scene]) -> bytes:
    from matplotlib.backends.backend_pdf import PdfPages  # noqa: PLC0415 - 70 ms only PDFs need

    buffer = io.BytesIO()
    with rc_context(_SETTINGS), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        metadata = _METADATA["pdf"] | {"Title": scenes[0].title}
        with PdfPages(buffer, metadata=metadata) as pages:
            for scene in scenes:
                pages.savefig(_figure(scene))
    return buffer.getvalue()


def _format(word: str) -> Format:
    for known in _METADATA:
        if word == known:
            return known
    message = f"{word!r} is no drawing format; take png, svg or pdf"
    raise OutputError(message)


def render_bytes(scene: Scene, fmt: Format) -> bytes:
    """Return a scene as the bytes of a file.

    Notes
    -----
    Settings are changed for the time of the call, and they are shared by the whole process:
    two threads must not render at once.
    """
    buffer = io.BytesIO()
    with rc_context(_SETTINGS), warnings.catch_warnings():
        # a name in a script the face lacks is drawn as boxes, which is all a drawing can do
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        figure = _figure(scene)
        metadata = _METADATA[fmt] | ({} if fmt == "png" else {"Title": scene.title})
        figure.savefig(buffer, format=fmt, dpi=PNG_DPI, metadata=metadata)
    return buffer.getvalue()


def _figure(scene: Scene) -> Figure:
    figure = Figure(figsize=(scene.width_mm / 25.4, scene.height_mm / 25.4), facecolor="white")
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, scene.width_mm)
    axes.set_ylim(0.0, scene.height_mm)
    numbers = count(1)
    for order, mark in enumerate(scene.painted()):
        artist = _ARTISTS[type(mark)](axes, mark)
        artist.set_zorder(order)
        artist.set_gid(f"{mark.layer.replace(' ', '-')}-{next(numbers)}")
    return figure


def _outline(polygon: Polygon) -> Outline:
    """Return a polygon as one path; its rings turn opposite ways so that holes stay open."""
    turned = shapely.orient_polygons(polygon)
    rings = [turned.exterior, *turned.interiors]
    return Outline.make_compound_path(
        *(Outline(np.asarray(ring.coords), closed=True) for ring in rings)
    )


def _line(pen: Pen | None) -> dict[str, Any]:
    if pen is None:
        return {"linewidths": 0.0, "edgecolors": "none"}
    width = pen.width_mm / POINT_MM
    # the library counts dashes in line widths, a pen counts them in millimetres
    dash = (0.0, tuple(mm / pen.width_mm for mm in pen.dash_mm)) if pen.dash_mm else "solid"
    return {"linewidths": width, "edgecolors": pen.colour, "linestyles": [dash]}


def _shapes(axes: Axes, mark: Shapes) -> Artist:
    fill = "none" if mark.fill is None else to_rgba(mark.fill, mark.opacity)
    collection = PathCollection(
        [_outline(polygon) for polygon in mark.polygons],
        facecolors=[fill],
        joinstyle="miter",
        **_line(mark.pen),
    )
    return axes.add_collection(collection, autolim=False)


def _strokes(axes: Axes, mark: Strokes) -> Artist:
    line = _line(mark.pen)
    collection = LineCollection(
        [np.asarray(points) for points in mark.lines],
        linewidths=line["linewidths"],
        colors=line["edgecolors"],
        linestyles=line["linestyles"],
        capstyle="butt",
    )
    return axes.add_collection(collection, autolim=False)


def _dots(axes: Axes, mark: Dots) -> Artist:
    size = [2 * mark.radius_mm]
    collection = EllipseCollection(
        size,
        size,
        [0.0],
        units="xy",
        facecolors=mark.colour,
        linewidths=0.0,
        offsets=np.asarray(mark.points).reshape(-1, 2),
        offset_transform=axes.transData,
    )
    return axes.add_collection(collection, autolim=False)


def _text(axes: Axes, mark: Text) -> Artist:
    across = {"left": "left", "middle": "center", "right": "right"}[mark.anchor]
    return axes.text(
        *mark.at,
        mark.text,
        fontsize=mark.size_pt,
        color=mark.colour,
        weight="bold" if mark.bold else "normal",
        rotation=mark.angle_deg,
        rotation_mode="anchor",
        ha=across,
        va="baseline",
        parse_math=False,
        clip_on=False,
    )


_ARTISTS: Final[dict[type[Mark], Callable[[Axes, Any], Artist]]] = {
    Shapes: _shapes,
    Strokes: _strokes,
    Dots: _dots,
    Text: _text,
}
