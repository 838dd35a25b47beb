"""Findings about areas that became images of greys."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from preprocess.findings import Finding, counted, note, warn
from preprocess.geometry.offset.opening import opening_residue
from preprocess.geometry.overlay.booleans import union
from preprocess.marking.evenness.sentence import objective_sentence
from preprocess.marking.machine.grey_curve import grey_powers
from preprocess.model.artwork.grey import WHITE
from preprocess.units import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from preprocess.model.artwork.shape import Shape
    from preprocess.model.bench.machine import Grey
    from preprocess.passes.grey.layer_cells import LayerCells
    from preprocess.passes.grey.solve import Trial

_TOLD = 0.005
"""Share of the cells, or area in mm², below which nothing is said."""


def image_findings(
    layers: Sequence[LayerCells], new: Sequence[Sequence[Shape]], curve: Grey
) -> Iterator[Finding]:
    """What became of the areas of each layer: cells, images, powers, and what is too thin."""
    powers = grey_powers(curve)
    for layer, shapes in zip(layers, new, strict=True):
        drawn = sum(shape.geometry.area for shape in layer.old)
        cells = sum(shape.geometry.area for shape in shapes)
        greys = np.frombuffer(b"".join(s.grey.greys for s in shapes if s.grey), np.uint8)
        some = greys[greys != WHITE]
        message = (
            f"{drawn:.2f} mm² of {layer.name} will be marked as {cells:.2f} mm² of cells in "
            f"{counted(len(shapes), 'image')} of greys, at {_percent(powers[some.max()])} to "
            f"{_percent(powers[some.min()])} %"
        )
        yield note("areas-as-greys", message, layer=layer.name)
        yield from _thin(layer)


def _thin(layer: LayerCells) -> Iterator[Finding]:
    """What is thinner than a cell: ragged, or not marked at all."""
    width = max(layer.grid.pitch, layer.grid.cell)
    area = union([shape.geometry for shape in layer.old])
    thin = opening_residue(area, width).pieces
    total = max(float(shapely.area(thin).sum()), layer.lost)
    if total < _TOLD * max(1.0, area.area):
        return
    owners = np.array([shape.geometry for shape in layer.old], dtype=object)
    hits = shapely.STRtree(owners).query(thin, predicate="intersects")[1] if len(thin) else []
    ids = [layer.old[n].id for n in dict.fromkeys(sorted(int(hit) for hit in hits))]
    message = (
        f"{total:.2f} mm² of {layer.name} are thinner than a cell, {digits(width)} mm: "
        f"{layer.lost:.2f} mm² of them are not marked, the rest is ragged"
    )
    remedy = "put score-hairlines before grey, or thicken them in the drawing"
    yield warn("thinner-than-a-cell", message, remedy, elements=ids, layer=layer.name)


def solution_findings(layers: Sequence[LayerCells], best: Trial, equal: Trial) -> Iterator[Finding]:
    """How even it became, and cells whose wanted power greys cannot give."""
    for layer, clipped in zip(layers, best.clipped, strict=True):
        if clipped > _TOLD:
            message = (
                f"{digits(100 * clipped, 2)} % of the cells of {layer.name} want a power beyond "
                "what greys give, and get that of the end"
            )
            remedy = "choose another power for the layer, or a wider range in the software"
            yield warn("beyond-the-greys", message, remedy, layer=layer.name)
    if best.objective is None or equal.objective is None:
        return
    if best is equal:
        message = "solved greys are no more even than even ones, so all cells of a layer are alike"
        yield note("greys-kept-even", message)
    else:
        yield note("evenness", objective_sentence(best.objective, before=equal.objective))


def _percent(power: float) -> str:
    return digits(100 * power, 3)
