"""equalize-width: bars beside the part, with their room, clearance and search."""

from preprocess.passes.equalize_width.equalize_width import EqualizeWidth

__all__ = ["EqualizeWidth"]
