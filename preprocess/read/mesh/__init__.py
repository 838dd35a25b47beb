"""Meshes: STL and 3MF files as triangles in millimetres."""
