"""Clipping and masking."""
