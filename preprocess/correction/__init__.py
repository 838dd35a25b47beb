"""Correction: the next recipe, with powers moved by what was measured on the last part."""
