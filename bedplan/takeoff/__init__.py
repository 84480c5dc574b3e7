"""Quantities of a plan: weed barrier, fills, orders (layer: engines)."""
