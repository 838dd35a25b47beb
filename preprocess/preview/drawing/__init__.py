"""Drawing tools: canvas, pictures, patterns, legend, backdrop."""
