"""Response of rounds: how the index of every marked cell follows the power of each colour.

Neither times nor places depend on power, so that the index is a sum over the colours, each in
proportion to its light. One simulation for each colour gives all shares, and any powers can then
be judged without another.
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

_MORE = 0.03
"""Light that is added to one colour to see what follows it, as a share."""


@dataclass(frozen=True, slots=True, eq=False)
class RoundResponse:
    """Cells of one layer, and what each colour adds to them: colours × spreads × cells."""

    outputs: tuple[OutputLayer, ...]
    cells: MarkedCells
    parts: Floats

    def figures(self, light: Floats) -> tuple[EvennessFigures, EvennessFigures]:
        """Evenness, likely and at worst, with so many times the light of each colour."""
        return evenness_of_cells(self.cells, np.tensordot(light, self.parts, axes=1), None)


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
    most = max((len(same) for same in layers), default=1)
    raised = [
        heat_with({same[number].id: 1 + _MORE for same in layers if number < len(same)})
        for number in range(most - 1)
    ]
    found = [_response(same, equal, raised) for same in layers]
    return [one for one in found if one is not None]


def _response(
    outputs: tuple[OutputLayer, ...], equal: HeatIndex, raised: Sequence[HeatIndex]
) -> RoundResponse | None:
    names = {output.id for output in outputs}
    cells = _cells(equal, names)
    if cells is None:
        return None
    others = (_cells(heat, names) for heat in raised[: len(outputs) - 1])
    parts = [(other.index - cells.index) / _MORE for other in others if other is not None]
    return RoundResponse(outputs, cells, np.stack([*parts, cells.index - sum(parts)]))


def _cells(heat: HeatIndex, names: set[str]) -> MarkedCells | None:
    return marked_cells([image for image in heat.images if image.output in names])
