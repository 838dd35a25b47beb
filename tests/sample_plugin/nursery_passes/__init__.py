"""Passes for the labels of a nursery."""
