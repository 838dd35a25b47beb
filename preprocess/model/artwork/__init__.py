"""What is drawn: artwork, shapes, layers, pictures."""
