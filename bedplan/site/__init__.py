"""From what a layout says to shapes on the ground (layer: engines)."""

from bedplan.site.resolve import find_faults, resolve

__all__ = ["find_faults", "resolve"]
