"""Text: from characters to outlines."""
