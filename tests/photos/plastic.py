"""Plastic and marks on it: colours, print lines, speckle, and drawings of the product as masks."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import cv2
import numpy as np
import resvg_py
from PIL import Image

from tests.photos.light import LUMINANCE, decoded

PX = 20
"""Pixels per mm of pages and plates."""

GROUNDS = {
    "black": (0.035, 0.035, 0.037),
    "grey": (0.18, 0.18, 0.185),
    "moss": (0.10, 0.17, 0.06),
    "red": (0.42, 0.04, 0.03),
    "white": (0.78, 0.78, 0.76),
    "blue": (0.04, 0.09, 0.33),
}


def page_raster(svg, rng=None):
    """Reflectances of a printed page, from its SVG in mm; with `rng`, as a printer errs."""
    import io

    wide, high = (float(x) for x in re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups())
    size = f'width="{wide}" height="{high}"'
    plain = re.sub(r'width="[\d.]+mm" height="[\d.]+mm"', size, svg, count=1)
    png = bytes(resvg_py.svg_to_bytes(svg_string=plain, zoom=PX, background="white"))
    code = np.asarray(Image.open(io.BytesIO(png)).convert("L")).astype(np.float32) / 255
    ink = 0.04 if rng is None else rng.uniform(0.036, 0.044)
    light = ink + (0.85 - ink) * decoded(code)
    if rng is not None:  # each grey off by 4 %
        levels = np.linspace(0, 1, 18)
        errors = np.exp(0.04 * rng.standard_normal(len(levels)))
        errors[-1] = 1.0
        light = light * np.interp(code, levels, errors)
    return np.repeat(light[..., None], 3, 2).astype(np.float32)


def polygons(svg):
    """Polylines of each path by id, closed or not, from an SVG in mm with absolute commands.

    Images are their outlines.
    """
    found = {}
    for element in ET.fromstring(svg).iter():
        name = element.get("id") or ""
        if element.tag.endswith("path") and name:
            rings = re.findall(r"M([^MZ]*)(Z?)", element.get("d"))
            found[name] = [
                (
                    np.array([float(x) for x in re.findall(r"-?\d+\.?\d*", r)]).reshape(-1, 2),
                    bool(z),
                )
                for r, z in rings
            ]
        elif element.tag.endswith("image") and name:
            x, y, wide, high = (float(element.get(key)) for key in ("x", "y", "width", "height"))
            corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
            found[name] = [(np.array(corners), True)]
    return found


def area_mask(rings, size, px=PX):
    """Coverage (0 to 1) of areas, all rings of one path by the even-odd rule."""
    mask = _blank(size, px)
    cv2.fillPoly(mask, [_fine(ring, px) for ring, _ in rings], 255, cv2.LINE_8, 4)
    return _coarse(mask)


def line_mask(rings, size, width=0.12, px=PX):
    """Coverage of scored lines of a width in mm."""
    mask = _blank(size, px)
    for ring, closed in rings:
        cv2.polylines(mask, [_fine(ring, px)], closed, 255, round(width * px * 4), cv2.LINE_8, 4)
    return _coarse(mask)


def _blank(size, px):
    return np.zeros((round(size[1] * px) * 4, round(size[0] * px) * 4), np.uint8)


def _fine(ring, px):
    """Drawn four times as fine: the soft edges of OpenCV lie half a pixel off."""
    return np.floor((ring * px * 4 - 0.5) * 16 + 0.4).astype(np.int32)


def _coarse(mask):
    h, w = mask.shape
    return cv2.resize(mask, (w // 4, h // 4), interpolation=cv2.INTER_AREA).astype(np.float32) / 255


def colours(rng, name, *, lighter):
    """Reflectances of the bare plastic and of its full mark, lighter or darker."""
    ground = np.array(GROUNDS[name])
    if lighter:
        return ground, ground + (np.array([0.62, 0.60, 0.56]) - ground) * rng.uniform(0.35, 0.9)
    return ground, ground * rng.uniform(0.12, 0.45) + 0.006


def can_be_lighter(rng, name):
    y = float(np.dot(GROUNDS[name], LUMINANCE))
    return y < 0.2 if not 0.08 < y < 0.3 else bool(rng.random() < 0.5)


def texture(shape, rng, line=0.4, speckle=0.02):
    """Print lines and speckle as a factor."""
    h, w = shape
    y, x = np.mgrid[:h, :w].astype(np.float32) / PX
    along = {0: x, 1: y, 2: (x + y) * 0.7071}[int(rng.integers(3))]
    strong = rng.uniform(0.01, 0.04)
    number = np.floor(along / line).astype(int)
    each = rng.normal(0, 0.5 * strong, number.max() - number.min() + 1)[number - number.min()]
    grain = cv2.GaussianBlur(
        rng.standard_normal((h // 2 + 1, w // 2 + 1)).astype(np.float32), (0, 0), 1
    )
    grain = cv2.resize(grain / grain.std(), (w, h))
    return (1 + strong * np.sin(2 * np.pi * along / line) + each + speckle * grain).astype(
        np.float32
    )


def plate(tone, ground, mark, rng):
    """Reflectances of a plate whose tone is 0 where bare and 1 where fully marked."""
    tone = cv2.GaussianBlur(tone.astype(np.float32), (0, 0), 0.04 * PX)
    grain = cv2.GaussianBlur(
        rng.standard_normal((tone.shape[0] // 2, tone.shape[1] // 2)).astype(np.float32), (0, 0), 2
    )
    grain = cv2.resize(grain / grain.std(), tone.shape[::-1])
    tone = np.clip(tone * (1 + 0.05 * grain), 0, 1.1)[..., None]
    lit = ground + (mark - ground) * tone
    return (lit * texture(tone.shape[:2], rng)[..., None]).astype(np.float32)
