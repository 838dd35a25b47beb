"""Many designs through one recipe."""
