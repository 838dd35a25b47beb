"""Parts that several passes share; none is itself a pass."""
