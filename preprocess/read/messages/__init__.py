"""Findings of the reader."""
