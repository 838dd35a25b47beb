"""Loading: YAML with places, and values checked against their declaration."""
