"""Pictures of what was done."""
