"""Reading: SVG to artwork, along the chapters of the standard."""
