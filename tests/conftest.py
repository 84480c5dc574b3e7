"""Puts this folder on the path, so that every test builds its gardens with `gardens`."""
