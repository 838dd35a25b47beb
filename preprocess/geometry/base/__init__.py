"""Basics: normal form, maps, row frame, flattening, rounding, and the sweep line."""
