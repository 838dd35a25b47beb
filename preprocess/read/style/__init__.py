"""Styling: the cascade, properties, colours."""
