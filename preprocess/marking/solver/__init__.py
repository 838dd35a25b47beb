"""The heat solver: exposures, kernels, and the march through them."""
