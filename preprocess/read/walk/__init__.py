"""The walk through the document, in painter's order."""
