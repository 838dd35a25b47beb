"""SVG out: the laser-ready file, deterministic to the byte."""
