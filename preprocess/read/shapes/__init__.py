"""Shapes: path data, basic shapes, flattening, fill and stroke."""
