"""hatch: own rows instead of areas."""

from preprocess.passes.hatch.pass_ import Hatch

__all__ = ["Hatch"]
