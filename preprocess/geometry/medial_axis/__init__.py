"""Medial axis: centre lines of thin areas, from Voronoi diagrams."""
