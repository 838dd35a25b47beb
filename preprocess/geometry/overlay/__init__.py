"""Overlay: fill rules, Boolean operations, arrangements, shared edges and overlaps."""
