"""Previews: pictures and pages for a person, each on the same drawing tools."""
