"""Causes: which part of a job's unevenness follows the drawing, the bed, the print or the lens."""
