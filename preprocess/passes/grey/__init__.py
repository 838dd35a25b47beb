"""grey: areas as images whose greys set the power of each cell."""

from preprocess.passes.grey.grey import GreyImages

__all__ = ["GreyImages"]
