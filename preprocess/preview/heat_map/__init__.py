"""The heat map."""
