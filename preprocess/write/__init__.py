"""Writing: SVG, report, and files that appear whole or not at all."""
