"""What stays the same while a drawing is walked, what elements hand down, what they paint."""
