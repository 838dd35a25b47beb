"""The next recipe is the same, with powers written out and the solver taken out."""

import pytest
import yaml

from preprocess.correction.next_recipe import next_recipe
from preprocess.errors import UserError

RECIPE = {
    "recipe": 1,
    "design": "fern.svg",
    "filament": "moss.yaml",
    "passes": ["merge", {"tag-power": {"by": "heat", "levels": 2}}, "solve-power"],
}


def test_powers_are_written_and_no_longer_solved():
    made = next_recipe(RECIPE, (1.0, 0.62351), "Corrected.\nFirst on scrap.").decode()
    assert made.startswith("# Corrected.\n# First on scrap.\n")
    held = yaml.safe_load(made)
    assert held["passes"] == [
        "merge",
        {"tag-power": {"by": "heat", "levels": 2, "powers": ["100 %", "62.35 %"]}},
    ]
    assert held["corrections"] == 1
    assert held["filament"] == "moss.yaml"


def test_a_second_correction_is_counted():
    held = yaml.safe_load(next_recipe({**RECIPE, "corrections": 1}, (1.0, 0.6), ""))
    assert held["corrections"] == 2


def test_rounds_of_interleave_get_theirs():
    recipe = {**RECIPE, "passes": [{"interleave": {"colours": 2}}, {"solve-power": {}}]}
    held = yaml.safe_load(next_recipe(recipe, (1.0, 0.9), ""))
    assert held["passes"] == [{"interleave": {"colours": 2, "powers": ["100 %", "90 %"]}}]


@pytest.mark.parametrize(
    ("passes", "found"),
    [
        (["merge"], "no step sets powers"),
        ([{"tag-power": {}}, "interleave"], "2 steps set powers"),
    ],
)
def test_whose_powers_they_are_must_be_clear(passes, found):
    with pytest.raises(UserError, match=found):
        next_recipe({**RECIPE, "passes": passes}, (1.0,), "")
