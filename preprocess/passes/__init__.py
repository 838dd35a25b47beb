"""Passes: a file to each, or a folder with all that serves only it. None imports another."""
