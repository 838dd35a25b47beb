"""Fonts: found, matched, loaded."""
