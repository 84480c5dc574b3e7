"""Layout files: reading them, and telling what is wrong with them (layer: layout_file)."""

from __future__ import annotations

from bedplan.layout_file.read import load_layout, parse_layout, place_faults
from bedplan.layout_file.starter import starter

__all__ = ["load_layout", "parse_layout", "place_faults", "starter"]
