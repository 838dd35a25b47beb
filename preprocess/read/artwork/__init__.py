"""From painted outlines to artwork: geometry in mm, shades, covers, page, parts and layers."""
