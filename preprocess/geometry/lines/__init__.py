"""Lines: strokes, dashes, simplification, duplicates, isolines and closing of gaps."""
