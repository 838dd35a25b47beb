"""Finding the drawing on the part: roughly by its edges, then point by point of its outlines."""
