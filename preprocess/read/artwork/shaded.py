"""Keep-off areas of models with the shade that raised places throw under a leaning beam."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.rounding import snap_to_grid
from preprocess.geometry.overlay.affine_image import apply_affine
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.machine.relief_marks import optical_axis, shade_on_part
from preprocess.model.bench.bench import keeps_off

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.options.reading import ReadingOptions

_DECIMALS = 6


def with_shade(artwork: Artwork, options: ReadingOptions) -> Artwork:
    """The artwork whose keep-off areas of models hold their shade, where the lens is known."""
    machine = options.machine
    if machine is None or machine.focal_length is None or not any(options.reliefs):
        return artwork
    axis = optical_axis(artwork, machine)
    keep_off, number = list(artwork.keep_off), 0
    for part, relief, pose in zip(options.parts, options.reliefs, artwork.poses, strict=True):
        if relief is None or pose is None or not keeps_off(part, relief):
            continue
        if relief.raised.area > 0:
            shade = apply_affine(shade_on_part(relief, pose, axis, machine.focal_length), pose)
            keep_off[number] = snap_to_grid(union([keep_off[number], shade]), _DECIMALS)
        number += 1
    return replace(artwork, keep_off=tuple(keep_off))
