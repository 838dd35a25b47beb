"""Where the texts of a picture stand, to tell whether one meets another or is cut off."""

from __future__ import annotations

from lxml import etree
from PIL import ImageFont
from shapely import box

SVG = "{http://www.w3.org/2000/svg}"


def text_boxes(data):
    """Boxes of all texts in mm, measured with a font that the layout does not know."""
    font = ImageFont.load_default(100)
    for node in etree.fromstring(data).iter(f"{SVG}text"):
        size, x, y = (float(node.get(key)) for key in ("font-size", "x", "y"))
        width = font.getlength(node.text) / 100 * size
        left = x - width if node.get("text-anchor") == "end" else x
        yield node.text, box(left, y - 0.72 * size, left + width, y + 0.2 * size)
