"""The fit: a Bayesian ordinal regression of grades on heat, its diagnostics and its refusals."""
