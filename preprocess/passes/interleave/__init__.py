"""interleave: rows marked in rounds, every k-th row in each."""

from preprocess.passes.interleave.interleave import Interleave

__all__ = ["Interleave"]
