"""XML: document, names, lengths, transforms, viewports."""
