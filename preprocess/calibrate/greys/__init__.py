"""Greys: which power a grey gets, from pairs of squares that look equal, into the machine file."""
