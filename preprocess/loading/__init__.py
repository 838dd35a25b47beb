"""Loading: YAML with places, values checked against their declaration, and greys of a PNG."""
