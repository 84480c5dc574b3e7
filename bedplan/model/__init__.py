"""What a layout says and what a site is, as frozen values in SI units (layer 2)."""
