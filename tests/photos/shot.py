"""A photo of a plate in its frame, and the truth about it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from tests.photos.camera import Camera
from tests.photos.light import developed, jpeg, usual
from tests.photos.plastic import PX


@dataclass(frozen=True)
class Shot:
    """The file of a photo, with its camera, conditions, and where the plate lies on the page."""

    data: bytes
    camera: Camera
    conditions: dict
    place: np.ndarray
    height: float
    picture: np.ndarray

    def pixels(self, points):
        """True pixels of places on the plate (mm)."""
        at = np.column_stack([points, np.ones(len(points))]) @ self.place.T
        return self.camera.project(np.column_stack([at, np.full(len(at), self.height)]))


def place_of(rng, size, page_middle, *, turn=None, shift=4.0):
    """2 × 3 map from a plate of a size (mm) to the page, turned a little about its middle."""
    angle = math.radians(rng.uniform(-6, 6) if turn is None else turn)
    c, s = math.cos(angle), math.sin(angle)
    matrix = np.array([[c, -s], [s, c]])
    middle = np.asarray(page_middle) + rng.uniform(-shift, shift, 2)
    return np.column_stack([matrix, middle - matrix @ (np.asarray(size) / 2)])


def take(rng, page, plate, *, place, height, wide, frame_box, conditions=None, **camera):
    """Take a photo.

    `page` and `plate` are rasters of reflectances; `frame_box` is the part of the page (left, top,
    width, height in mm) that is to fill the picture.
    """
    x0, y0, w, h = frame_box
    camera = Camera(rng, (w, h), wide=wide, **camera)
    camera.middle += np.array([x0, y0, 0.0])
    say = {**usual(rng), **(conditions or {})}
    x, y = camera.places(0.0)
    scene = cv2.remap(
        page,
        x * PX - 0.5,
        y * PX - 0.5,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=(0.3, 0.25, 0.2),
    )
    if plate is not None:
        x, y = camera.places(height)
        back = cv2.invertAffineTransform(place)
        u = (back[0, 0] * x + back[0, 1] * y + back[0, 2]).astype(np.float32)
        v = (back[1, 0] * x + back[1, 1] * y + back[1, 2]).astype(np.float32)
        inside = (u > 0) & (v > 0) & (u < plate.shape[1] / PX) & (v < plate.shape[0] / PX)
        inside = inside.astype(np.float32)
        shade = cv2.GaussianBlur(inside, (0, 0), 1.2 * camera.px_per_mm)
        top = cv2.remap(
            plate, u * PX - 0.5, v * PX - 0.5, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        scene = scene * (1 - 0.35 * shade[..., None])
        scene = scene * (1 - inside[..., None]) + top * inside[..., None]
    picture = developed(scene, say, rng)
    focal = camera.f / camera.w * 36 * rng.uniform(0.92, 1.08)
    return Shot(jpeg(picture, say["quality"], focal), camera, say, place, height, picture)
