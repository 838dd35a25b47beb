"""tag-power: zones of an area, each on a layer with a power of its own."""

from preprocess.passes.tag_power.pass_ import TagPower

__all__ = ["TagPower"]
