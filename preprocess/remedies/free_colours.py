"""Colours that are left for the rounds of engraved layers, beside all else that is marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from preprocess.model.artwork.settings import Operation
from preprocess.write.svg.layer_colours import COLOURS
from preprocess.write.svg.palette import palette_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from preprocess.model.artwork.output import OutputLayer
    from preprocess.model.bench.machine import Machine


def free_colours(
    outputs: Sequence[OutputLayer],
    areas: Collection[str],
    machine: Machine,
    most: int | None,
    *,
    one_layer: bool = False,
) -> int:
    """Most colours that the rounds of one layer may have.

    Args:
        outputs: all that is marked.
        areas: names of the layers with engraved areas.
        machine: for its palette.
        most: layers that may be set up in all; None where nothing limits them.
        one_layer: the areas are to become one layer.
    """
    others = {o.id for o in outputs if o.layer not in areas or _is_line(o)}
    palette = palette_of(machine) or COLOURS
    free = min(len(palette), most or len(palette)) - len(others)
    return free // (1 if one_layer else max(1, len(areas)))


def _is_line(output: OutputLayer) -> bool:
    """True for what is scored or cut and no row of an area."""
    return output.operation is not Operation.ENGRAVE and not output.in_rounds
