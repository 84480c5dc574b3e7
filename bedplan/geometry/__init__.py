"""Plane geometry on shapely shapes, in metres (layer 1: knows nothing of gardens)."""
