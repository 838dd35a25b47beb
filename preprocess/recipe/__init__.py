"""The recipe: its schema, and the plan that it makes."""
