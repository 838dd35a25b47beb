"""Response of rounds: how the index of every marked cell follows the power of each colour.

Neither times nor places depend on power, so that the heat of each visit of the beam is a sum over
the colours, each in proportion to its light. The index is that of the hottest visit. One
simulation for each colour gives its shares, and any powers can then be judged without another. On
fine rows two visits may be equally hot, and other powers choose the other. Then shares are taken
a second time, at powers that fall from round to round, and the larger of both sums counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.evenness.objective import evenness_of_cells

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from preprocess.arrays import Floats
    from preprocess.marking.evenness.cells import MarkedCells
    from preprocess.marking.evenness.objective import EvennessFigures
    from preprocess.marking.heat.index import HeatIndex
    from preprocess.model.artwork.output import OutputLayer

START = (1.05, 1.01, 0.98, 0.96)
"""Light of four rounds to begin with, as shares; those of other numbers lie between them."""

_MORE = 0.002
"""Light that is added to one colour to see what follows it, as a share. So little that the same
visit stays the hottest, and well above rounding."""

_TRUE = 0.005, 0.05
"""Shares hold where they miss a simulation by no more than this on all but so much of the cells."""


@dataclass(frozen=True, slots=True, eq=False)
class RoundResponse:
    """Cells of one layer, and what each colour adds to them: colours × spreads × cells.

    There are one or several such sums; the largest counts.
    """

    outputs: tuple[OutputLayer, ...]
    cells: MarkedCells
    sums: tuple[Floats, ...]

    def index(self, light: Floats) -> Floats:
        """Index with so many times the light of each colour: spreads × cells."""
        return np.maximum.reduce([np.tensordot(light, parts, axes=1) for parts in self.sums])

    def figures(self, light: Floats) -> tuple[EvennessFigures, EvennessFigures]:
        """Evenness, likely and at worst, with so many times the light of each colour."""
        return evenness_of_cells(self.cells, self.index(light), None)


def start_factors(count: int) -> tuple[float, ...]:
    """Factors of the powers of so many output layers that hold rounds, in marking order."""
    if count == 1:
        return (1.0,)
    places = np.linspace(0, len(START) - 1, count)
    return tuple(np.interp(places, range(len(START)), START).tolist())


def round_responses(
    outputs: Sequence[OutputLayer],
    equal: HeatIndex,
    heat_with: Callable[[dict[str, float]], HeatIndex],
) -> list[RoundResponse]:
    """Find how each layer responds that has several colours of rounds.

    Layers are taken to leave one another alone, so that one simulation serves all their first
    colours, another all their second, and so on.

    Args:
        outputs: output layers with rounds, those of a layer side by side.
        equal: heat at one power for all colours of a layer.
        heat_with: the heat with so many times the light of some output layers, by id.
    """
    layers = [tuple(same) for _, same in groupby(outputs, key=lambda output: output.layer)]
    layers = [same for same in layers if len(same) > 1]
    if not layers:
        return []
    found = _responses(layers, equal, {}, heat_with)
    usual = {
        output.id: by
        for same in layers
        for output, by in zip(same, start_factors(len(same)), strict=True)
    }
    falling = heat_with(usual)
    if all(_holds(one, falling) for one in found):
        return found
    more = _responses(layers, falling, usual, heat_with)
    return [
        RoundResponse(one.outputs, one.cells, one.sums + other.sums)
        for one, other in zip(found, more, strict=True)
    ]


def _responses(
    layers: Sequence[tuple[OutputLayer, ...]],
    base: HeatIndex,
    light: dict[str, float],
    heat_with: Callable[[dict[str, float]], HeatIndex],
) -> list[RoundResponse]:
    """How layers respond near so much light, at which their heat is `base`."""
    raised = [
        heat_with(light | {x.id: (1 + _MORE) * light.get(x.id, 1.0) for x in some})
        for number in range(max(len(same) for same in layers) - 1)
        for some in [[same[number] for same in layers if number < len(same)]]
    ]
    found = [_response(same, base, light, raised) for same in layers]
    return [one for one in found if one is not None]


def _response(
    outputs: tuple[OutputLayer, ...],
    base: HeatIndex,
    light: dict[str, float],
    raised: Sequence[HeatIndex],
) -> RoundResponse | None:
    names = {output.id for output in outputs}
    cells = _cells(base, names)
    if cells is None:
        return None
    others = (_cells(heat, names) for heat in raised[: len(outputs) - 1])
    adds = [(other.index - cells.index) / _MORE for other in others if other is not None]
    each = [light.get(output.id, 1.0) for output in outputs]
    parts = np.stack([*adds, cells.index - sum(adds)]) / np.reshape(each, (-1, 1, 1))
    return RoundResponse(outputs, cells, (parts,))


def _holds(response: RoundResponse, falling: HeatIndex) -> bool:
    """Whether the shares foretell the index at the usual powers."""
    cells = _cells(falling, {output.id for output in response.outputs})
    if cells is None:
        return True
    light = np.array(start_factors(len(response.outputs)))
    off = np.abs(response.index(light) / cells.index - 1)
    return bool((off > _TRUE[0]).mean(axis=1).max() < _TRUE[1])


def _cells(heat: HeatIndex, names: set[str]) -> MarkedCells | None:
    return marked_cells([image for image in heat.images if image.output in names])
