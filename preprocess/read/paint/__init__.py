"""Painting: fills, strokes, gradients, patterns, markers, images."""
