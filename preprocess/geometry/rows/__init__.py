"""Rows: hatching, bars beside rows, and the order in which places are visited."""
