"""Pages of what was measured: the photo with the drawing over it, tables and maps."""
