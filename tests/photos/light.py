"""Light, lens and sensor: from reflectances to a picture as a phone writes it."""

from __future__ import annotations

import io
import math

import cv2
import numpy as np
from PIL import Image

LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
FOCAL_IN_35 = 0xA405


def lightness(y):
    """CIE L* of a luminance from 0 to 1."""
    y = np.asarray(y, float)
    return np.where(y > (6 / 29) ** 3, 116 * np.cbrt(np.maximum(y, 1e-9)) - 16, y * (29 / 3) ** 3)


def decoded(code):
    code = np.asarray(code, float)
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def encoded(light):
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def usual(rng):
    """What the light, the lens and the phone do in one photo; glare in a quarter of them."""
    return {
        "slope": rng.uniform(0, 0.3),
        "toward": rng.uniform(0, 2 * math.pi),
        "vignette": rng.uniform(0, 0.25),
        "spot": (rng.uniform(-0.1, 0.1), *rng.uniform(-0.5, 0.5, 2), rng.uniform(0.2, 0.4)),
        "glare": (rng.random() < 0.25) * rng.uniform(0.02, 0.25),
        "lamp": (*rng.uniform(-0.45, 0.45, 2), *rng.uniform(0.04, 0.15, 2)),
        "cast": rng.uniform(-0.15, 0.15, 3),
        "exposure": rng.uniform(0.65, 0.95),
        "blur": rng.uniform(0.5, 2.0),
        "noise": 1.0,
        "curve": rng.uniform(0, 0.6),
        "quality": 80,
    }


def developed(scene, conditions, rng):
    """The picture (uint8 RGB) of a scene in reflectances: light, glare, blur, noise, curve."""
    say = conditions
    h, w = scene.shape[:2]
    v, u = np.mgrid[:h, :w].astype(np.float32)
    u, v = u / w - 0.5, v / h - 0.5
    slope = say["slope"] * 1.4 * (u * math.cos(say["toward"]) + v * math.sin(say["toward"]))
    strong, x, y, size = say["spot"]
    spot = strong * np.exp(-((u - x) ** 2 + (v - y) ** 2) / (2 * size**2))
    light = 1 + slope - 2 * say["vignette"] * (u * u + v * v) + spot
    image = scene * light[..., None]
    if say["glare"]:
        x, y, a, b = say["lamp"]
        lamp = np.exp(-((u - x) ** 2 / a**2 + (v - y) ** 2 / b**2) / 2)
        image = image + (say["glare"] * lamp[..., None]).astype(np.float32)
    white = np.percentile(image[::7, ::7, 1], 99)
    gain = np.exp(say["cast"] - say["cast"][1]) * say["exposure"] / max(white, 0.12)
    image = image * gain.astype(np.float32)
    if say["blur"]:
        image = cv2.GaussianBlur(image, (0, 0), say["blur"])
    shot = np.sqrt(np.maximum(image, 0) * 2e-4 + 2e-6) * say["noise"]
    image = image + rng.standard_normal(image.shape, dtype=np.float32) * shot.astype(np.float32)
    code = encoded(image)
    code = (1 - say["curve"]) * code + say["curve"] * (3 * code**2 - 2 * code**3)
    return np.clip(code * 255 + 0.5, 0, 255).astype(np.uint8)


def jpeg(picture, quality=80, focal_in_35=None):
    """The file of a picture; the focal length as phones note it."""
    exif = Image.Exif()
    if focal_in_35 is not None:
        exif.get_ifd(0x8769)[FOCAL_IN_35] = round(focal_in_35)
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "JPEG", quality=quality, exif=exif)
    return out.getvalue()
