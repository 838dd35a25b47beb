"""Heat of graded cells and patches, computed once before the fit."""
