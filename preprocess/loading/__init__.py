"""YAML with line numbers, and errors that name the place."""
