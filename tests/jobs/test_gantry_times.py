"""Run-up and time of a gantry's job, computed from the written SVG by code of its own."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from preprocess.pipeline import convert, make_report
from preprocess.recipe.load import recipe_from_mapping
from tests import written_svg as written

ACCELERATION, FLY_BACK, PITCH = 1500.0, 180.0, 0.1

TOUCHED = 1e-3
"""mm; a row that only touches the round top of the leaf marks nothing there."""

LEAF = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path id="leaf" d="M12 20 Q24 8 40 14 Q30 30 12 20 Z"/></svg>"""


def run(speed, overscan=None, direction="one-way", field=("160 mm", "90 mm")):
    machine = {
        "name": "bed",
        "mover": "gantry",
        "acceleration": f"{ACCELERATION} mm/s2",
        "fly_back": f"{FLY_BACK} mm/s",
        "field": list(field),
        "raster_groups": "each-colour",
        **({} if overscan is None else {"overscan": f"{overscan} mm"}),
    }
    even = {"power": "40 %", "speed": f"{speed} mm/s", "pitch": f"{PITCH} mm", "angle": "0 deg"}
    loaded = recipe_from_mapping(
        {
            "recipe": 1,
            "machine": machine,
            "part": {"outline": ["50 mm", "30 mm"]},
            "settings": {"engrave": {**even, "direction": direction}},
            "passes": ["merge"],
        }
    )
    return convert(loaded, LEAF, "leaf.svg"), loaded


def rest_to_rest(way: float) -> float:
    """Seconds over a way at most at the fly-back speed, up and down at the acceleration."""
    steps = np.linspace(0.0, way, 200_001)[1:-1]
    speeds = np.minimum(np.sqrt(2 * ACCELERATION * np.minimum(steps, way - steps)), FLY_BACK)
    middle = float(np.sum(np.diff(steps) * (1 / speeds[1:] + 1 / speeds[:-1]) / 2))
    ends = 2 * math.sqrt(2 * steps[0] / ACCELERATION)
    return middle + ends


def time_of(data: bytes, speed: float, overscan: float, *, one_way: bool) -> float:
    """Row by row from the rings in the file: lit way, run-on, brake, back, speed up, run-on."""
    (layer,) = written.read(data)[1]
    ends = written.spans([p for path in layer.paths for p in path], PITCH)
    spans = ends[:, 1] - ends[:, 0]
    spans = spans[spans > TOUCHED]
    brake = speed / ACCELERATION
    on = overscan - speed**2 / (2 * ACCELERATION)
    total = float(spans.sum()) / speed
    for span in spans[:-1]:
        total += 2 * brake + 2 * on / speed
        total += rest_to_rest(span + 2 * overscan) if one_way else 0.0
    return total


@pytest.mark.parametrize("direction", ["one-way", "two-way"])
@pytest.mark.parametrize(("speed", "overscan"), [(100.0, None), (100.0, 8.0), (150.0, 20.0)])
def test_the_time_is_that_of_the_rows_in_the_file(speed, overscan, direction) -> None:
    result, loaded = run(speed, overscan, direction)
    told = json.loads(make_report(result, loaded, "leaf"))["time_s"]["after"]
    own = overscan or speed**2 / (2 * ACCELERATION)
    wanted = time_of(result.data, speed, own, one_way=direction == "one-way")
    assert told == pytest.approx(wanted, rel=2e-4)


def test_the_speed_that_fits_is_that_of_the_room_in_the_file() -> None:
    result, _ = run(300.0, field=("56 mm", "40 mm"))
    (told,) = (f for f in result.findings if f.code == "run-up-beyond-field")
    good, _ = run(100.0, field=("56 mm", "40 mm"))
    size, (layer,) = written.read(good.data)
    # the field is centred on the part, which is centred on the page
    left = layer.points[:, 0].min() - (size[0] / 2 - 28)
    right = (size[0] / 2 + 28) - layer.points[:, 0].max()
    fits = math.floor(math.sqrt(2 * ACCELERATION * min(left, right)))
    assert f"mark it at {fits} mm/s at most" in told.remedy
    assert run(float(fits), field=("56 mm", "40 mm"))[0].data is not None
    assert run(float(fits + 1), field=("56 mm", "40 mm"))[0].data is None
