"""Refusals that several passes share: a missing pitch or spot, and bars beside a shape."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.errors import Refusal
from preprocess.marking.job.plan import USUAL_SETTINGS
from preprocess.model.artwork.settings import Operation

if TYPE_CHECKING:
    from collections.abc import Iterable

    from preprocess.model.artwork.artwork import Artwork
    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.bench import Bench

_ADD_PITCH = "add settings: {engrave: {pitch: 0.1 mm}} to the recipe"


def expect_pitch(artwork: Artwork, shapes: Iterable[Shape]) -> None:
    """Refuse areas of a layer whose pitch is missing."""
    for shape in shapes:
        if artwork.layer(shape.layer).of(shape.operation).pitch is None:
            raise Refusal(
                f"layer {shape.layer!r} has no pitch, so its rows are unknown", _ADD_PITCH
            )


def engraving_pitch(artwork: Artwork, layer: str, instead: str) -> float:
    """The distance between the rows of a layer, mm.

    Raises:
        Refusal: it is missing; `instead` says what the pass can be given in its place.
    """
    pitch = artwork.layer(layer).of(Operation.ENGRAVE).over(USUAL_SETTINGS).pitch
    if pitch is None:
        raise Refusal(f"layer {layer!r} has no pitch", f"{instead}, or {_ADD_PITCH}")
    return pitch


def half_spot(bench: Bench, instead: str) -> float:
    """Half the width of the beam, mm.

    Raises:
        Refusal: the machine's spot is missing; `instead` says what the pass can be given.
    """
    spot = bench.machine_or_default.spot
    if spot is None:
        raise Refusal("the machine's spot size is missing", f"{instead}, or the machine its spot")
    return spot / 2


def expect_no_bars(shape: Shape, remedy: str) -> None:
    """Refuse to change an area whose bars were made for its rows."""
    if shape.bars is not None:
        raise Refusal(f"bars beside {shape.id!r} fit its present rows only", remedy)
