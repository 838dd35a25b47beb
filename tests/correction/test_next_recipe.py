"""The next recipe is the same, with powers written out and the solver taken out."""

import pytest
import yaml

from preprocess.correction.next_recipe import next_recipe, next_solved
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


MOSS = {
    "filament": 1,
    "name": "moss-green PLA",
    "spread": "0.3 mm",
    "intervals": {"spread": ["0.2 mm", "0.4 mm"], "heavy": [1.1, 1.3]},
}


def test_a_solved_recipe_gets_a_filament_with_another_spread():
    recipe, filament = next_solved(
        RECIPE, MOSS, (0.52, (0.43, 0.63)), ("fern-next.filament.yaml", "First on scrap.")
    )
    held = yaml.safe_load(recipe)
    assert held["passes"] == RECIPE["passes"]
    assert held["filament"] == "fern-next.filament.yaml"
    assert held["corrections"] == 1
    assert filament.startswith(b"# First on scrap.\n")
    sure = {"spread": ["0.43 mm", "0.63 mm"], "heavy": [1.1, 1.3]}
    wanted = {**MOSS, "spread": "0.52 mm", "intervals": sure}
    assert yaml.safe_load(filament) == wanted


def test_a_filament_that_stands_in_the_recipe_is_changed_there():
    recipe, filament = next_solved({**RECIPE, "filament": MOSS}, MOSS, (0.4, (0.3, 0.5)), ("", ""))
    assert filament is None
    assert yaml.safe_load(recipe)["filament"]["spread"] == "0.4 mm"
