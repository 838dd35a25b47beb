"""Marks of our own in the output: guides and anchors, added after all passes."""
