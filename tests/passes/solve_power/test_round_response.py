"""Response of rounds: what it says of other powers is what a simulation at those powers says.

But for some row ends, where another visit of the beam becomes the hottest.
"""

from __future__ import annotations

import numpy as np
import pytest

from preprocess.marking.evenness.cells import marked_cells
from preprocess.marking.evenness.objective import evenness_of_cells
from preprocess.marking.heat.index import heat_index
from preprocess.model.artwork.output import output_layers
from preprocess.passes.interleave.interleave import Form
from preprocess.passes.solve_power.round_response import round_responses
from preprocess.passes.solve_power.solver import own_powers, with_powers
from tests.passes.benches import leaf, shape
from tests.passes.solving import UNKNOWN, interleaved

TENDRIL = shape("tendril", leaf(20, 20, 12, 1.6, turn=0.7))
LIGHT = np.array([1.09, 1.0, 0.97, 0.93])


def foretold_and_simulated(made):
    """The response of the first layer, and the marked cells as simulated with LIGHT."""
    outputs = output_layers(made)
    own = own_powers(made, outputs)

    def heat_with(light):
        powers = {name: power * light.get(name, 1.0) for name, power in own.items()}
        return heat_index(with_powers(made, outputs, powers), UNKNOWN)

    (found,) = round_responses(outputs, heat_with({}), heat_with)
    names = [output.id for output in outputs]
    return found, marked_cells(heat_with(dict(zip(names, LIGHT, strict=True))).images)


@pytest.mark.parametrize("form", Form)
def test_the_index_at_other_powers_is_foretold(form):
    found, simulated = foretold_and_simulated(interleaved(TENDRIL, UNKNOWN, form=form))
    off = np.abs(found.index(LIGHT) / simulated.index - 1)
    assert np.quantile(off, 0.95) < 2e-3
    assert off.mean() < 2e-3
    assert found.cells.index == pytest.approx(found.sums[0].sum(axis=0))


def test_worst_places_of_fine_rows_are_foretold():
    """Rows 0.05 mm apart: two visits are equally hot at equal powers, and others choose."""
    made = interleaved(TENDRIL, UNKNOWN, form=Form.OWN_ROWS, colours=4, pitch=0.05)
    found, simulated = foretold_and_simulated(made)
    for told, right in zip(
        found.figures(LIGHT), evenness_of_cells(simulated, simulated.index, None), strict=True
    ):
        assert told.hot == pytest.approx(right.hot, abs=0.004)
        assert told.cold == pytest.approx(right.cold, abs=0.004)
