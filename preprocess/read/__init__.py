"""SVG in: from the file to artwork in millimetres."""
