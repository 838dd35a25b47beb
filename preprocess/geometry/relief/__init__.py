"""Reliefs: what a mesh covers seen from above, at which heights, and how it lies on a drawing."""
