"""Grade tables: read, checked, and turned into trials of known settings."""
