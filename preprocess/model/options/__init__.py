"""What is asked of the reader: fonts, lettering, limits, gradients."""
