"""Parts, keep-off areas and poses that go with a drawing: drawn ones move, others stay."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from preprocess.geometry.base.affine import compose
from preprocess.geometry.overlay.affine_image import apply_affine

if TYPE_CHECKING:
    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Matrix
    from preprocess.model.bench.bench import Bench


def moved_silhouettes(artwork: Artwork, bench: Bench, matrix: Matrix) -> Artwork:
    """The artwork with its drawn parts moved; those given by numbers stay, on every seat."""
    goes = drawn_parts(artwork, bench)
    return replace(
        artwork,
        parts=tuple(
            apply_affine(part, matrix) if moves else part
            for part, moves in zip(artwork.parts, goes, strict=True)
        ),
        poses=tuple(
            compose(matrix, pose) if moves and pose is not None else pose
            for pose, moves in zip(artwork.poses, goes, strict=False)
        ),
        keep_off=tuple(
            area if stays else apply_affine(area, matrix)
            for area, stays in zip(artwork.keep_off, _stays(artwork, bench), strict=True)
        ),
    )


def drawn_parts(artwork: Artwork, bench: Bench) -> list[bool]:
    """Whether each part is drawn; copies on a tray are as their originals."""
    drawn = [part.drawn is not None for part in bench.parts] or [True]
    return [drawn[number % len(drawn)] for number in range(len(artwork.parts))]


def _stays(artwork: Artwork, bench: Bench) -> list[bool]:
    """Whether each keep-off area stays: those of models of undrawn parts do, on every seat."""
    seats = max(1, len(artwork.parts) // max(1, len(bench.parts)))
    of_models = [bench.parts[number].drawn is None for number in bench.kept_off_by_models]
    others = len(artwork.keep_off) // seats - len(of_models)
    return [*of_models, *[False] * others] * seats
