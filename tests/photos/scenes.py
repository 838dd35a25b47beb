"""Scenes of the nursery: a coupon with random tones in its frame, under a phone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.photos.light import LUMINANCE, lightness
from tests.photos.plastic import (
    GROUNDS,
    PX,
    area_mask,
    can_be_lighter,
    colours,
    line_mask,
    page_raster,
    plate,
    polygons,
)
from tests.photos.shot import Shot, place_of, take

PLATE = (60.0, 40.0)


@dataclass(frozen=True)
class Page:
    """A printed frame: reflectances, its corner on the sheet and its size (mm)."""

    raster: np.ndarray
    corner: tuple[float, float]
    size: tuple[float, float]


@dataclass(frozen=True)
class Scene:
    """A photo and the truth: share of mark by cell, or along a blade, and colours."""

    shot: Shot
    tone: dict
    ground: np.ndarray
    mark: np.ndarray
    name: str
    thickness: float

    def truth(self, share):
        """ΔL* of a share of mark."""
        mixed = self.ground + (self.mark - self.ground) * share
        return float(lightness(mixed @ LUMINANCE) - lightness(self.ground @ LUMINANCE))


def frame_page(svg, corner, size, rng=None):
    """A printed page from the product's own SVG, which the resvg library draws."""
    return Page(page_raster(svg, rng), corner, size)


class Coupons:
    """Drawings of a coupon as masks, read from its SVG; they are kept between photos."""

    def __init__(self, svg, size=PLATE):
        self.size = size
        drawn = polygons(svg)
        self.cells = {k: area_mask(r, size) for k, r in drawn.items() if k.startswith("cell-")}
        lines = [r for k, r in drawn.items() if k.startswith(("label-", "cross-"))]
        self.lines = np.max([line_mask(r, size) for r in lines], axis=0)
        self.boxes = {k: np.concatenate([p for p, _ in drawn[k]]) for k in self.cells}

    def random_tones(self, rng):
        """A share of mark for each cell, as of three powers and some spans."""
        return {
            k: float(
                np.clip(
                    rng.choice([0.45, 0.62, 0.8]) * np.exp(0.12 * rng.standard_normal()), 0.15, 0.97
                )
            )
            for k in self.cells
        }

    def blade_tones(self, rng):
        """For each blade a function of mm from its wide end: heat piles up where it narrows."""
        gain, reach = rng.uniform(0.2, 0.9), rng.uniform(1.0, 4.0)
        base = rng.uniform(0.75, 1.05)

        def along(power):
            def share(at, wide=16.0, tip=1.0, length=36.0):
                span = wide + (tip - wide) * np.asarray(at) / length
                heat = power * base * (1 + gain * np.exp(-span / reach))
                cool = 1 - 0.6 * np.exp(-np.asarray(at) / 0.4)
                return 1 - np.exp(-((heat * cool / 1.1) ** 2.2))

            return share

        return {k: along(p) for k, p in zip(sorted(self.cells), (0.8, 1.0, 1.25), strict=True)}

    def raster(self, tones, lines=0.4):
        total = lines * self.lines
        for k, mask in self.cells.items():
            share = tones[k]
            if callable(share):
                top = self.boxes[k][:, 1].min()
                at = (np.arange(mask.shape[0]) + 0.5) / PX - top
                share = np.clip(share(np.clip(at, 0, 36)), 0, 1)[:, None]
            total = np.maximum(total, mask * share)
        return total


def coupon_scene(rng, page, coupon, tones, *, wide=None, conditions=None, turn=None, **camera):
    """Take a photo of a coupon of some colour in a frame."""
    name = list(GROUNDS)[int(rng.integers(len(GROUNDS)))]
    ground, mark = colours(rng, name, lighter=can_be_lighter(rng, name))
    raster = plate(coupon.raster(tones), ground, mark, rng)
    thickness = rng.uniform(1.5, 5.0)
    middle = np.array(page.corner) + np.array(page.size) / 2
    shot = take(
        rng,
        page.raster,
        raster,
        place=place_of(rng, coupon.size, middle, turn=turn),
        height=thickness,
        wide=wide or int(rng.uniform(1200, 2000)),
        frame_box=(*page.corner, *page.size),
        conditions=conditions,
        **camera,
    )
    return Scene(shot, tones, ground, mark, name, thickness)
