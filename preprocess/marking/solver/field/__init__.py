"""The temperature field of one body: the peak of every lit point, from all its exposures."""
