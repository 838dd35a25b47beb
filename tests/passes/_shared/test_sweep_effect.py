from __future__ import annotations

import pytest

from preprocess.model.bench.bench import Bench
from preprocess.model.bench.machine import Machine, RasterGroups
from preprocess.passes._shared.sweep_effect import sweep_note


@pytest.mark.parametrize(
    ("machine", "told"),
    [
        (None, False),
        (Machine(), False),
        (Machine(raster_groups=RasterGroups.EACH_COLOUR), True),
    ],
)
def test_paths_matter_unless_each_colour_is_swept_as_a_whole(machine, told):
    assert bool(sweep_note("merge", Bench(machine=machine))) is told
