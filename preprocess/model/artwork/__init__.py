"""The drawing in the model: artwork, shapes, layers, pictures."""
