"""bedplan: edged beds, paved walks and their materials inside a fence as it was really built."""

from __future__ import annotations

from bedplan._version import __version__

__all__ = ["__version__"]
