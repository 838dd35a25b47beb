"""PNG: the greys of a picture, for the reader and for the read-back."""
