"""The palette of a machine's software: which colours it knows, and in which order it marks them."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from preprocess.findings import listed, stop, warn
from preprocess.model.bench.machine import PaletteOrder

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from preprocess.findings import Finding
    from preprocess.model.bench.machine import Machine


def palette_of(machine: Machine | None) -> tuple[str, ...]:
    """The colours that the software knows as #rrggbb in small letters; none where it takes any."""
    return () if machine is None else tuple(colour.lower() for colour in machine.palette or ())


def slot_of(colour: str, machine: Machine | None) -> int | None:
    """Number of a colour in the palette, from 1; None without one."""
    palette = palette_of(machine)
    return palette.index(colour) + 1 if colour in palette else None


def palette_findings(
    overrides: Mapping[str, str], colours: Sequence[tuple[str, str]], machine: Machine | None
) -> Iterator[Finding]:
    """Findings on colours that the software would not know, or mark in another order than the file.

    Args:
        overrides: colours that the recipe gives, by output id.
        colours: each layer that is marked with its colour, in the order of the file.
        machine: for its palette.
    """
    palette = palette_of(machine)
    if machine is None or not palette:
        return
    for name, colour in overrides.items():
        if colour not in palette:
            message = f"colours: {name}: {colour} is not in the palette of {machine.name}"
            remedy = f"choose one of its {len(palette)} colours, or add this one to its palette:"
            yield stop("colour-not-in-palette", message, remedy)
    slots = [(name, palette.index(colour)) for name, colour in colours if colour in palette]
    turned = [one for one, other in pairwise(slots) if one[1] > other[1]]
    if machine.palette_order is PaletteOrder.AS_LISTED and turned:
        names = [name for name, _ in sorted(slots, key=lambda pair: pair[1])]
        message = (
            f"the software of {machine.name} marks by slots: {listed(names)}; heat and cautions "
            "are those of the order in the file"
        )
        remedy = "leave colours: out, so that slots follow the layers, or order the layers so"
        yield warn("marked-in-another-order", message, remedy)
