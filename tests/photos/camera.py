"""A phone above a page: pinhole, one radial term, and a page that lies at height 0."""

from __future__ import annotations

import math

import cv2
import numpy as np


class Camera:
    """Looks down on a page of some size from where all of it is in the picture.

    `sight` is the focal length over the longer side of the picture: 0.75 is a usual phone.
    """

    def __init__(self, rng, page, *, wide, tilt=20.0, lens=0.03, sight=None, roll=None):
        self.w, self.h = (wide, round(wide * 0.75))
        self.f = (rng.uniform(0.72, 1.6) if sight is None else sight) * wide
        self.k = rng.uniform(-lens, lens)
        self.tilt = rng.uniform(0, tilt)
        self.c = np.array([self.w / 2, self.h / 2]) * rng.uniform(0.99, 1.01, 2)
        toward = rng.uniform(0, 2 * math.pi)
        axis = np.array([math.cos(toward), math.sin(toward), 0]) * math.radians(self.tilt)
        turn = rng.uniform(-0.15, 0.15) if roll is None else roll
        self.r = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(np.array([0, 0, turn]))[0]
        self.middle = np.array([page[0] / 2, page[1] / 2, 0.0])
        corners = np.array([(x, y, 0.0) for x in (0, page[0]) for y in (0, page[1])])
        near, far = 10.0, 5000.0
        for _ in range(40):  # the nearest place from which all of it is seen
            self.z = (near * far) ** 0.5
            seen = self.project(corners)
            rim = 0.02 * self.w
            fits = (seen > rim).all() and (seen < [self.w - rim, self.h - rim]).all()
            near, far = (near, self.z) if fits and self._in_front(corners) else (self.z, far)
        self.z = far

    @property
    def px_per_mm(self):
        around = self.middle + np.array([(0, 0, 0), (1, 0, 0), (0, 1, 0)])
        a, b, c = self.project(around)
        return abs(np.linalg.det([b - a, c - a])) ** 0.5

    def _rays(self, points):
        return (np.asarray(points, float) - self.middle) @ self.r.T + [0, 0, self.z]

    def _in_front(self, points):
        return (self._rays(points)[:, 2] > 0.2 * self.z).all()

    def project(self, points):
        """Pixels of places x, y, height (mm); pixel centres lie at whole numbers."""
        points = np.asarray(points, float)
        rays = self._rays(points * [1, 1, -1])
        flat = rays[:, :2] / rays[:, 2:] * self.f
        r2 = (flat**2).sum(1, keepdims=True) / (self.w / 2) ** 2
        return flat * (1 + self.k * r2) + self.c

    def places(self, height):
        """For each pixel the place x, y (mm) where it meets the plane of a height."""
        u, v = np.meshgrid(np.arange(self.w, dtype=np.float32), np.arange(self.h, dtype=np.float32))
        bent = np.stack([u - self.c[0], v - self.c[1]], -1)
        flat = bent.copy()
        for _ in range(6):
            flat = bent / (1 + self.k * (flat**2).sum(-1, keepdims=True) / (self.w / 2) ** 2)
        ray = np.concatenate([flat / self.f, np.ones_like(flat[..., :1])], -1) @ self.r
        eye = -self.r.T @ np.array([0, 0, self.z])
        far = (-height - eye[2]) / ray[..., 2]
        x, y = eye[0] + far * ray[..., 0], eye[1] + far * ray[..., 1]
        return (x + self.middle[0]).astype(np.float32), (y + self.middle[1]).astype(np.float32)
