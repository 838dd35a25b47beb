"""Tones: the camera's curve from the greys, and lightness against the bare plastic."""
