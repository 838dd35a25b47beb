"""Evenness: one objective for every command, from the worst places of the heat index."""
