"""Reliefs in pictures: height bands, and drawings to draw on."""
