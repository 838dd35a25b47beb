"""hatch: own rows instead of areas."""

from preprocess.passes.hatch.hatch import Hatch

__all__ = ["Hatch"]
