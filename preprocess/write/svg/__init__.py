"""The SVG writer."""
