"""Declared values: checked, explained, and described as JSON Schema."""
