"""The report of a fit: words, plot, outliers."""
