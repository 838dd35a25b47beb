"""The recipe: keys, loading, and rules that hold across keys."""
