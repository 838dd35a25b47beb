"""Offsets: growing, shrinking, opening, tips and local width."""
