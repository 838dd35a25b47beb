"""Response of rounds: what it says of other powers is what a simulation at those powers says.

But for some row ends, where another visit of the beam becomes the hottest.
"""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.heat.index import heat_index
from preprocess.model.artwork.output import output_layers
from preprocess.passes.interleave.interleave import Form
from preprocess.passes.solve_power.round_response import round_responses
from preprocess.passes.solve_power.solver import own_powers, with_powers
from tests.passes.benches import leaf, shape
from tests.passes.solving import UNKNOWN, interleaved

TENDRIL = shape("tendril", leaf(20, 20, 12, 1.6, turn=0.7))
LIGHT = np.array([1.09, 1.0, 0.97, 0.93])


@pytest.mark.parametrize("form", Form)
def test_the_index_at_other_powers_is_foretold(form):
    made = interleaved(TENDRIL, UNKNOWN, form=form)
    outputs = output_layers(made)
    own = own_powers(made, outputs)

    def heat_with(light):
        powers = {name: power * light.get(name, 1.0) for name, power in own.items()}
        return heat_index(with_powers(made, outputs, powers), UNKNOWN)

    (found,) = round_responses(outputs, heat_with({}), heat_with)
    names = [output.id for output in outputs]
    simulated = marked_cells(heat_with(dict(zip(names, LIGHT, strict=True))).images)
    foretold = np.tensordot(LIGHT, found.parts, axes=1)
    off = np.abs(foretold / simulated.index - 1)
    assert np.quantile(off, 0.95) < 2e-3
    assert off.mean() < 2e-3
    assert found.cells.index == pytest.approx(found.parts.sum(axis=0))
