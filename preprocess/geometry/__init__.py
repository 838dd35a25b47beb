"""Geometry: pure functions on shapely values, in families that build on one another."""
