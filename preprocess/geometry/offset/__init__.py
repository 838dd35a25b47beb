"""Offsets: growing, shrinking, opening and local width."""
