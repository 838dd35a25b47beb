"""tag-power: zones of an area, each on a layer with a power of its own."""

from preprocess.passes.tag_power.tag_power import TagPower

__all__ = ["TagPower"]
