"""XML: document, names, lengths, transforms, viewports, memory limits."""
