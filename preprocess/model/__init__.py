"""Frozen values that travel between reading and writing: what the drawing says, in millimetres."""
