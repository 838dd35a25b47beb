"""Options of the reader: fonts, lettering, limits, gradients."""
