"""YAML documents whose keys know their line and column."""
